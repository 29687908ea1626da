//! The families of checks: headings of lists and manuals.

/// What a check is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Frames, time stamps and rates.
    Timing,
    /// The values of one joint by themselves.
    Signal,
    /// Joint limits and speed limits.
    Limits,
    /// Which column, joint, sign and unit belongs to which.
    Mapping,
    /// How the follower copies the leader.
    Tracking,
    /// What the hand did.
    Motion,
    /// Image numbers and image stamps.
    Cameras,
    /// A mobile base.
    Base,
    /// Episodes compared with the others of their session.
    Session,
}

impl Family {
    /// The name in lists, manuals and folders.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Timing => "timing",
            Self::Signal => "signal",
            Self::Limits => "limits",
            Self::Mapping => "mapping",
            Self::Tracking => "tracking",
            Self::Motion => "motion",
            Self::Cameras => "cameras",
            Self::Base => "base",
            Self::Session => "session",
        }
    }
}

impl std::fmt::Display for Family {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}
