//! `columns`: which column plays which role, and why.

use std::io::Write as _;

use crate::app;
use crate::cli::args::ColumnsArgs;
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_file, to_stdout};
use crate::cli::{pasted, settings, stdin, warn};
use crate::profile::FILE_NAME;
use crate::report;
use crate::source::Source as _;

/// Runs the command.
pub fn run(typed: &ColumnsArgs) -> Result<Gate, CliError> {
    let piped = stdin::taken(&typed.data)?;
    let args = &ColumnsArgs { data: piped.data.clone(), ..typed.clone() };
    warn::of_data(false, &args.data);
    let columns = app::columns(&settings::data(&args.data), args.write.as_slice())?;
    if let Some(path) = &args.write {
        // A link that leads nowhere is something that was made, too.
        if !args.force && path.symlink_metadata().is_ok() {
            return Err(CliError::input(format!("{} is there already", path.display()))
                .with_hint("write to another file, or add --force"));
        }
        let text = columns.to_profile()?;
        to_file(path, |out| out.write_all(text.as_bytes()))?;
    }
    let next = pasted::write_profile(&typed.data, FILE_NAME);
    to_stdout(|out| Ok(report::columns(&columns.view(&next), out)?))?;
    Ok(if columns.source.unread().is_empty() { Gate::Open } else { Gate::Closed })
}
