//! `judge`: hold measurements files against limits again.

use crate::app;
use crate::cli::args::JudgeArgs;
use crate::cli::error::CliError;
use crate::cli::output::{Gate, width};
use crate::cli::progress::Bar;
use crate::cli::show::show;
use crate::cli::{pasted, settings};

/// Runs the command.
pub fn run(args: &JudgeArgs) -> Result<Gate, CliError> {
    let request = settings::judge(args)?;
    let bar = Bar::new(args.run.quiet);
    let result = app::judge(&request, &mut |progress| bar.show(progress));
    bar.clear();
    let judged = result?;
    let command = pasted::judge(args);
    show(&args.run, &judged.view(&command, width()), None)?;
    let gate = Gate::of(&judged.outcome, args.run.fail_on);
    // The process ends here: taking a million cards apart first would only cost time.
    std::mem::forget(judged);
    Ok(gate)
}
