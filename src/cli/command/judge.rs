//! `judge`: hold stored scorecards against limits again.

use teleassay::judge::Digest;
use teleassay::report::View;

use crate::cli::args::JudgeArgs;
use crate::cli::audit::{rig_as_measured, run_judge};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, width};
use crate::cli::progress::Bar;
use crate::cli::settings::JudgeSettings;
use crate::cli::tell::tell;

/// Runs the command.
pub fn run(args: JudgeArgs) -> Result<Gate, CliError> {
    let settings = JudgeSettings::new(args)?;
    let bar = Bar::new(settings.run.quiet);
    let result = run_judge(&settings, &mut |progress| bar.show(progress));
    bar.clear();
    let (stored, outcome) = result?;
    if outcome.session.episodes == 0 {
        return Err(CliError::nothing("the scorecard holds no episode"));
    }
    let rig = rig_as_measured(&stored, &settings);
    let digest = Digest::of(&outcome, &settings.profile.limits, &settings.checks);
    let view = View {
        outcome: &outcome,
        digest: &digest,
        rig: &rig,
        roles: stored.roles(),
        inputs: stored.inputs(),
        limits: &settings.profile.limits,
        checks: &settings.checks,
        command: &settings.command,
        width: width(),
    };
    tell(&settings.run, &view, None)?;
    let gate = Gate::of(&outcome, settings.run.fail_on);
    // The process ends here: taking a million cards apart first would only cost time.
    std::mem::forget((stored, outcome));
    Ok(gate)
}
