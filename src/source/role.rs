//! The roles of columns, and why a column was chosen.

use crate::model::Extra;

/// What a column is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// The id of the episode.
    Episode,
    /// The time of the row.
    Time,
    /// The follower's measured positions.
    State,
    /// The leader's commands.
    Action,
    /// The task.
    Task,
    /// Who recorded an episode, where, with what: for grouping alone.
    Label,
    /// A frame counter: shown, never read.
    Frame,
    /// An optional column.
    Extra(Extra),
}

impl Role {
    /// Every role, in the order in which they are shown.
    pub const ALL: [Self; 13] = [
        Self::Episode,
        Self::Time,
        Self::State,
        Self::Action,
        Self::Task,
        Self::Label,
        Self::Frame,
        Self::Extra(Extra::Velocity),
        Self::Extra(Extra::Effort),
        Self::Extra(Extra::Voltage),
        Self::Extra(Extra::Temperature),
        Self::Extra(Extra::Cameras),
        Self::Extra(Extra::Base),
    ];

    /// The role in one word, as reports and profiles write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Episode => "episode",
            Self::Time => "time",
            Self::State => "state",
            Self::Action => "action",
            Self::Task => "task",
            Self::Label => "label",
            Self::Frame => "frame",
            Self::Extra(kind) => kind.word(),
        }
    }

    /// The role of this word.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

impl std::fmt::Display for Role {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// Which column plays a role, and how that was decided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoleChoice {
    /// The role.
    pub role: Role,
    /// The column (or scalar columns in joint order) that plays it; empty if none does.
    pub columns: Vec<String>,
    /// The shape or type, in plain words: `list of 6 x float32`.
    pub shape: String,
    /// Why: `declared in the profile`, `the name says "leader"`, `one file is one episode`.
    pub why: String,
}

impl RoleChoice {
    /// A role that no column plays.
    pub(in crate::source) fn none(role: Role, why: impl Into<String>) -> Self {
        Self { role, columns: Vec::new(), shape: "none".to_owned(), why: why.into() }
    }
}

#[cfg(test)]
mod tests {
    use super::Role;

    #[test]
    fn every_word_names_its_role() {
        for role in Role::ALL {
            assert_eq!(Role::named(role.word()), Some(role));
        }
        assert_eq!(Role::named("nobody"), None);
    }
}
