//! A column that plays no role, why, and what a person would write to use it.

/// A column that plays no role.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnusedColumn {
    /// Its name: nested names joined by dots.
    pub name: String,
    /// The shape or type, in plain words.
    pub shape: String,
    /// Why it is not used.
    pub why: String,
    /// How a profile uses it; none where no role can.
    pub line: Option<ProfileLine>,
}

/// A line of a profile that gives columns a role.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ProfileLine {
    /// Under `[columns]`, one column: `task = "…"`.
    One(&'static str, String),
    /// Under `[columns]`, a list: `action = ["…"]`.
    List(&'static str, Vec<String>),
    /// A camera, by the column with the number of the image, or that with its stamp.
    Camera {
        /// The camera's name.
        name: String,
        /// `index` or `stamp`.
        key: &'static str,
        /// The column.
        column: String,
    },
}
