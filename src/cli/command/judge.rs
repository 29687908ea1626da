//! `judge`: hold measurements files against limits again.

use std::path::PathBuf;

use crate::app;
use crate::cli::args::JudgeArgs;
use crate::cli::error::CliError;
use crate::cli::output::{Gate, width};
use crate::cli::progress::Bar;
use crate::cli::show::show;
use crate::cli::{pasted, settings, warn};

/// Runs the command.
pub fn run(args: &JudgeArgs) -> Result<Gate, CliError> {
    let request = settings::judge(args)?;
    let first = args.measurements.first().map(PathBuf::as_path);
    warn::of_profiles(args.run.quiet, &[(args.profile.as_deref(), first)]);
    let bar = Bar::new(args.run.quiet || args.run.no_progress);
    let result = app::judge(&request, &mut |progress| bar.show(progress));
    bar.clear();
    let judged = result?;
    let command = pasted::judge(args);
    let view = judged.view(&command, None, width());
    show(&args.run, &view, None)?;
    let gate = Gate::of(&view, &args.run);
    warn::of_gate(&args.run, &view);
    // The process ends here: taking a million cards apart first would only cost time.
    std::mem::forget(judged);
    Ok(gate)
}
