//! The session on a terminal, in as many lines as a person asks for.

use std::io::{self, Write};

use super::full::full;
use super::short;
use super::view::View;

/// How much of a session is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Detail {
    /// Ten lines at most: the verdict, what to fix, what to leave out.
    Brief,
    /// Forty lines for a session of usual length: the same with reasons.
    #[default]
    Usual,
    /// Every row, every task, every gap with its reason.
    All,
}

/// Writes the session's view.
///
/// # Errors
/// If the output cannot be written.
pub fn session(view: &View<'_>, detail: Detail, out: &mut dyn Write) -> io::Result<()> {
    let view = &View { width: view.width.clamp(80, 160), ..*view };
    match detail {
        Detail::Brief => short::brief(view, out),
        Detail::Usual => short::usual(view, out),
        Detail::All => full(view, out),
    }
}
