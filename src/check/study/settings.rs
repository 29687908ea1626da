//! What the user may set of that which several checks share.

/// Settings of a study, the same for every check that reads from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Largest lag looked for, either way, in seconds.
    pub lag_search_s: f64,
}
