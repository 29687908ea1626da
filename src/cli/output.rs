//! Where output goes: standard output, and the exit code.

use std::io::{self, BufWriter, Write};
use std::path::Path;

use clap::ValueEnum;
use teleassay::model::{Outcome, Severity, Verdict};

use super::args::FailOn;
use super::error::CliError;

pub use super::file::to_file;

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal that can, unless the environment says otherwise
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// Sets the choice for both streams; `auto` leaves the environment its say.
pub fn set_color(color: Color) {
    match color {
        Color::Auto => anstream::ColorChoice::Auto,
        Color::Always => anstream::ColorChoice::Always,
        Color::Never => anstream::ColorChoice::Never,
    }
    .write_global();
}

/// Runs with standard output buffered, colours stripped where they are not wanted.
pub fn to_stdout<T>(
    write: impl FnOnce(&mut dyn Write) -> Result<T, CliError>,
) -> Result<T, CliError> {
    let choice = anstream::AutoStream::choice(&io::stdout());
    let stripped = anstream::AutoStream::new(io::stdout().lock(), choice);
    let mut out = BufWriter::with_capacity(1 << 16, stripped);
    let value = write(&mut out)?;
    out.flush()?;
    Ok(value)
}

/// Width of standard output: the terminal's if it is wider than 80 columns, else 80.
pub fn width() -> usize {
    // A pipe or a file keeps the width that never changes.
    if !io::IsTerminal::is_terminal(&io::stdout()) {
        return 80;
    }
    terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0).clamp(80, 120))
}

/// Whether standard output may have nothing but ASCII: by the locale's character set, and for
/// terminals that lack the signs.
pub fn ascii() -> bool {
    let said = |name: &&str| std::env::var(name).ok().filter(|value| !value.is_empty());
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(said).unwrap_or_default();
    let locale = locale.to_uppercase();
    let has_more = locale.contains("UTF-8") || locale.contains("UTF8");
    let poor = said(&"TERM").is_some_and(|term| term == "dumb" || term == "linux");
    !has_more || poor
}

/// A recording or scorecard is never written over, whatever name was typed.
pub fn spare_inputs<'a>(
    path: &Path,
    mut inputs: impl Iterator<Item = &'a Path>,
) -> Result<(), CliError> {
    let Ok(out) = path.canonicalize() else { return Ok(()) };
    if !inputs.any(|input| input.canonicalize().is_ok_and(|input| input == out)) {
        return Ok(());
    }
    Err(CliError::input(format!("{} is one of the recordings or scorecards", path.display()))
        .with_hint("write to another file: what is read is never written over"))
}

/// Whether a run stays within the limits that the person set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gate {
    /// Within limits.
    Open,
    /// Beyond limits, or files were not read.
    Closed,
}

impl Gate {
    /// Judges an outcome.
    pub fn of(outcome: &Outcome, fail_on: FailOn) -> Self {
        // With a baseline only what is new counts.
        let verdict = outcome.known.as_ref().map_or(outcome.session.verdict, |k| k.verdict);
        let beyond = match fail_on {
            FailOn::Fail => verdict == Verdict::Fail,
            FailOn::Warn => verdict >= Verdict::Warn,
            FailOn::Never => false,
        };
        // What was not read was not checked, and that is never a pass.
        if beyond || !outcome.unread.is_empty() { Self::Closed } else { Self::Open }
    }

    /// Judges a comparison by the worst difference of all.
    pub fn of_comparison(worst: Option<Severity>, fail_on: FailOn, read: bool) -> Self {
        let beyond = match fail_on {
            FailOn::Fail => worst == Some(Severity::Fail),
            FailOn::Warn => worst.is_some(),
            FailOn::Never => false,
        };
        if beyond || !read { Self::Closed } else { Self::Open }
    }

    /// The exit code.
    pub fn code(self) -> u8 {
        match self {
            Self::Open => 0,
            Self::Closed => 1,
        }
    }
}
