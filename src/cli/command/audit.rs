//! `audit`: measure, judge, print, write.

use crate::app::{self, AuditRequest, Audited, OpenAudit};
use crate::cli::args::AuditArgs;
use crate::cli::error::CliError;
use crate::cli::file::Pending;
use crate::cli::interrupt;
use crate::cli::output::{Gate, to_stdout, width};
use crate::cli::progress::Bar;
use crate::cli::show::show;
use crate::cli::{pasted, settings, stdin, warn};

/// Runs the command.
pub fn run(typed: &AuditArgs) -> Result<Gate, CliError> {
    let piped = stdin::taken(&typed.data)?;
    let args = &AuditArgs { data: piped.data.clone(), ..typed.clone() };
    let request = settings::audit(args)?;
    warn::of_data(args.run.quiet, &args.data);
    if args.run.show_profile {
        let text = app::profile_in_force(&request.data, &request.checks)?;
        to_stdout(|out| Ok(out.write_all(text.as_bytes())?))?;
        return Ok(Gate::Open);
    }
    let bar = Bar::new(args.run.quiet || args.run.no_progress);
    let result = audit(args, &request, &bar);
    bar.clear();
    let audited = result?;
    let (command, trace) = (pasted::audit(typed), pasted::trace_of(typed));
    // What was piped in is gone: there is nothing to copy.
    let keep = (!piped.any()).then(|| pasted::keep_of(typed));
    let view = audited.view(&command, Some(&trace), keep.as_deref(), width());
    show(&args.run, &view, Some(&audited.source))?;
    let gate = Gate::of(&view, &args.run);
    warn::of_gate(&args.run, &view);
    // The process ends here: taking thousands of kept files apart first would only cost time.
    std::mem::forget(audited);
    Ok(gate)
}

/// Audits; a measurements file is written as it goes.
fn audit(args: &AuditArgs, request: &AuditRequest, bar: &Bar) -> Result<Audited, CliError> {
    let open = OpenAudit::new(request)?;
    let Some(path) = settings::stored(&args.run) else {
        return Ok(open.run(&mut |progress| bar.show(progress))?);
    };
    let (pending, out) = Pending::begin(path)?;
    let written =
        open.run_into(Box::new(out), &interrupt::came, &mut |progress| bar.show(progress));
    let audited = written.map_err(|error| pending.failed(CliError::of_file(path, error)))?;
    pending.keep()?;
    Ok(audited)
}
