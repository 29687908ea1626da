//! `demo`: a simulated session with planted faults, and its answer key.

use crate::cli::args::{AuditArgs, DataArgs, DemoArgs, FailOn, Format, RunArgs};
use crate::cli::audit::write_demo;
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_stdout};
use crate::cli::settings::DemoSettings;

/// Runs the command.
pub fn run(args: DemoArgs) -> Result<Gate, CliError> {
    let told = write_demo(&DemoSettings::from(&args))?;
    to_stdout(|out| {
        for line in told {
            writeln!(out, "{line}")?;
        }
        Ok(())
    })?;
    if !args.audit {
        return Ok(Gate::Open);
    }
    // The faults are planted: finding them is success, so the gate stays open.
    super::audit::run(AuditArgs {
        data: DataArgs { paths: vec![args.dir], profile: None, rate: None, urdf: None },
        rig: None,
        run: RunArgs {
            baseline: Vec::new(),
            only: Vec::new(),
            skip: Vec::new(),
            format: Format::Table,
            plain: false,
            episode: None,
            out_html: None,
            out_json: None,
            out_junit: None,
            out_scorecard: None,
            out_keep_list: None,
            hash_inputs: false,
            show_profile: false,
            normalisation: false,
            fail_on: FailOn::Never,
            threads: None,
            quiet: false,
        },
    })
}
