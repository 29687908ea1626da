//! `audit`: measure, judge, print, write.

use teleassay::judge::Digest;
use teleassay::model::{CheckSpec, Outcome};
use teleassay::report::View;

use crate::cli::args::AuditArgs;
use crate::cli::audit::{checks, open_source, run_audit};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_stdout, width};
use crate::cli::progress::Bar;
use crate::cli::settings::AuditSettings;
use crate::cli::tell::tell;

/// Runs the command.
pub fn run(args: AuditArgs) -> Result<Gate, CliError> {
    let settings = AuditSettings::new(args)?;
    if settings.run.show_profile {
        return show_profile(&settings);
    }
    let bar = Bar::new(settings.run.quiet);
    let result = run_audit(&settings, &mut |progress| bar.show(progress));
    bar.clear();
    let (source, outcome) = result?;
    if outcome.session.episodes == 0 {
        return Err(nothing(&outcome));
    }
    let digest = Digest::of(&outcome, &settings.data.profile.limits, &settings.checks);
    let view = View {
        outcome: &outcome,
        digest: &digest,
        rig: source.rig(),
        roles: source.roles(),
        inputs: source.inputs(),
        limits: &settings.data.profile.limits,
        checks: &settings.checks,
        command: &settings.command,
        width: width(),
    };
    tell(&settings.run, &view, Some(&*source))?;
    let gate = Gate::of(&outcome, settings.run.fail_on);
    // The process ends here: taking thousands of kept files apart first would only cost time.
    std::mem::forget((source, outcome));
    Ok(gate)
}

/// The profile in force, as it can be fed back in.
fn show_profile(settings: &AuditSettings) -> Result<Gate, CliError> {
    let source = open_source(&settings.data)?;
    let mut profile = settings.data.profile.over(source.rig(), source.roles());
    let runs = |spec: &CheckSpec| settings.checks.iter().any(|check| check.id == spec.id);
    profile.skip = checks().iter().filter(|spec| !runs(spec)).map(|spec| spec.id).collect();
    let text = profile.to_whole_toml(&checks());
    to_stdout(|out| Ok(out.write_all(text.as_bytes())?))?;
    Ok(Gate::Open)
}

/// Nothing was audited: either nothing was there, or nothing of it could be read.
pub fn nothing(outcome: &Outcome) -> CliError {
    match outcome.unread.as_slice() {
        [] => CliError::nothing("the dataset holds no episode").with_hint(
            "a table needs at least one row; `teleassay columns PATH` shows what is read",
        ),
        [file, rest @ ..] => {
            let more = match rest.len() {
                0 => String::new(),
                n => format!(" (and {n} more files)"),
            };
            let path = file.path.display();
            CliError::input(format!("nothing could be read: {path}: {}{more}", file.reason))
        }
    }
}
