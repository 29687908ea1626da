//! `completions`: what a shell needs to complete commands and options.

use clap::CommandFactory as _;

use crate::cli::args::{Args, CompletionsArgs};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_stdout};

/// Runs the command.
pub fn run(args: &CompletionsArgs) -> Result<Gate, CliError> {
    // The generator panics where it cannot write; memory takes everything.
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Args::command(), "teleassay", &mut script);
    to_stdout(|out| Ok(out.write_all(&script)?))?;
    Ok(Gate::Open)
}
