//! Where output goes: standard output, its width, colours and characters.

use std::io::{self, BufWriter, Write};

use clap::ValueEnum;

use super::error::CliError;

pub use super::file::to_file;
pub use super::gate::Gate;

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

/// The same for what can hold no colour, such as JSON, where control signs are escaped: to look for them
/// would be to look at each byte.
pub fn to_stdout_as_is<T>(
    write: impl FnOnce(&mut dyn Write) -> Result<T, CliError>,
) -> Result<T, CliError> {
    let mut out = BufWriter::with_capacity(1 << 16, io::stdout().lock());
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
