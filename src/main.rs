//! The `teleassay` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    teleassay::run_command()
}
