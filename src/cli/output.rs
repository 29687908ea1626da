//! Where output goes: standard output, files, and the exit code.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

use clap::ValueEnum;
use teleassay::model::{Outcome, Verdict};

use super::args::FailOn;
use super::error::CliError;

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

/// Writes a file whole, or says which could not be written.
pub fn to_file(
    path: &Path,
    write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>,
) -> Result<(), CliError> {
    let written = File::create(path).and_then(|file| {
        let mut out = BufWriter::with_capacity(1 << 16, file);
        write(&mut out)?;
        out.flush()
    });
    written.map_err(|error| CliError::write(path, &error))
}

/// Width of standard output: the terminal's if it is wider than 80 columns, else 80.
pub fn width() -> usize {
    // A pipe or a file keeps the width that never changes.
    if !io::IsTerminal::is_terminal(&io::stdout()) {
        return 80;
    }
    terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0).clamp(80, 120))
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
        let verdict = outcome.session.verdict;
        let beyond = match fail_on {
            FailOn::Fail => verdict == Verdict::Fail,
            FailOn::Warn => verdict >= Verdict::Warn,
            FailOn::Never => false,
        };
        // What was not read was not checked, and that is never a pass.
        if beyond || !outcome.unread.is_empty() { Self::Closed } else { Self::Open }
    }

    /// The exit code.
    pub fn code(self) -> u8 {
        match self {
            Self::Open => 0,
            Self::Closed => 1,
        }
    }
}
