//! `keep`: a clean copy of the episodes that may be trained on.

use crate::app::{self, KeepRequest, Kept};
use crate::cli::args::{KeepArgs, KeepFormat};
use crate::cli::error::CliError;
use crate::cli::interrupt::{self, Writing};
use crate::cli::output::{Gate, to_stdout, width};
use crate::cli::progress::Bar;
use crate::cli::{pasted, settings, warn};
use crate::report;

/// Runs the command.
pub fn run(args: &KeepArgs) -> Result<Gate, CliError> {
    let request = settings::keep(args);
    warn::of_data(args.quiet, &args.data);
    let bar = Bar::new(args.quiet || args.no_progress);
    let result = keep(&request, &bar);
    bar.clear();
    let kept = result?;
    print(args, &kept)?;
    // What was not read was not looked at, and is not in the copy.
    Ok(if kept.all_read { Gate::Open } else { Gate::Closed })
}

fn keep(request: &KeepRequest, bar: &Bar) -> Result<Kept, CliError> {
    let writing = Writing::begin();
    let kept = app::keep(request, &interrupt::came, &mut |progress| bar.show(progress));
    drop(writing);
    if interrupt::came() {
        return Err(CliError::interrupted());
    }
    Ok(kept?)
}

fn print(args: &KeepArgs, kept: &Kept) -> Result<(), CliError> {
    match args.format {
        KeepFormat::Json => {
            let text = kept.document.to_json();
            let text = text.map_err(|error| CliError::internal(error.to_string()))?;
            to_stdout(|out| Ok(out.write_all(text.as_bytes())?))
        }
        KeepFormat::Table if args.quiet => Ok(()),
        KeepFormat::Table => {
            let next = if args.dry_run {
                pasted::keep_now(args)
            } else {
                pasted::audit_of_copy(args, kept.profile.as_ref())
            };
            to_stdout(|out| Ok(report::keep::kept(&kept.document, &[next], width(), out)?))
        }
    }
}
