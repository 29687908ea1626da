//! `demo`: a simulated session with planted faults, and its answer key.

use clap::Parser as _;

use crate::app;
use crate::cli::args::{Args, Command, DemoArgs, FailOn};
use crate::cli::error::CliError;
use crate::cli::interrupt::{self, Writing};
use crate::cli::output::{Gate, to_stdout};
use crate::cli::settings;
use crate::model::count;

/// Runs the command.
pub fn run(args: &DemoArgs) -> Result<Gate, CliError> {
    let writing = Writing::begin();
    let written = app::demo(&settings::demo(args));
    drop(writing);
    if interrupt::came() {
        return Err(CliError::interrupted());
    }
    let written = written?;
    let dir = args.dir.display();
    let (episodes, frames) = (count(written.episodes, "episode"), count(written.frames, "frame"));
    let tables = count(written.tables.len(), "table");
    to_stdout(|out| {
        writeln!(out, "wrote {episodes} ({frames}) to {tables} in {dir}")?;
        writeln!(
            out,
            "an arm moves seedling plugs from tray to pot; some episodes have a planted fault"
        )?;
        writeln!(out, "what was planted: {dir}/answers.json\n")?;
        Ok(())
    })?;
    if !args.audit {
        return Ok(Gate::Open);
    }
    let typed = ["teleassay", "audit", "--"].map(Into::into);
    let parsed = Args::try_parse_from(typed.into_iter().chain([args.dir.clone().into_os_string()]));
    let parsed = parsed.map_err(|error| CliError::internal(error.to_string()))?;
    let Command::Audit(mut audit) = parsed.command else { return Ok(Gate::Open) };
    // The faults are planted: finding them is success, so the gate stays open.
    audit.run.fail_on = FailOn::Never;
    super::audit::run(&audit)
}
