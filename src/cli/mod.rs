//! The command line: parses what was typed, calls the application, prints, and gives the exit code.

mod args;
mod command;
mod elsewhere;
mod error;
mod examples;
mod exec;
mod fault;
mod file;
mod gate;
mod interrupt;
mod live;
mod memory;
mod output;
mod pasted;
mod progress;
mod screen;
mod settings;
mod show;
mod stdin;
mod tip;
mod tips;
mod warn;

use std::io::Write as _;
use std::process::ExitCode;

use clap::Parser as _;

use args::{Args, Command};
use error::CliError;
use output::Gate;

/// Parses, runs, and gives the exit code: 0 within limits or output closed early, 1 gate failed
/// or files unread, 2 usage, profile or input, 3 nothing there to check, 70 internal error, 130
/// interrupted (143 by SIGTERM).
pub fn main() -> ExitCode {
    if let Some(code) = elsewhere::serve() {
        return code;
    }
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            let error = tip::on(error);
            // Help and version are not errors: clap knows which stream and code they need.
            let printed = error.print();
            let code = if printed.is_ok() { error.exit_code() } else { 0 };
            return ExitCode::from(u8::try_from(code).unwrap_or(2));
        }
    };
    output::set_color(args.color);
    fault::keep_quiet();
    interrupt::listen();
    memory::set(args.max_memory);
    elsewhere::offer();
    let ran = std::panic::catch_unwind(|| run(args));
    let result = ran.unwrap_or_else(|_| Err(CliError::internal(fault::last())));
    match result {
        Ok(gate) => ExitCode::from(gate.code()),
        Err(error) if error.says_nothing() => ExitCode::from(error.code()),
        Err(error) => {
            let mut err = anstream::stderr();
            // If standard error is closed too, nobody is left to read this.
            let _ = writeln!(err, "error: {error}");
            if let Some(hint) = error.hint() {
                let _ = writeln!(err, "hint: {hint}");
            }
            ExitCode::from(error.code())
        }
    }
}

fn run(args: Args) -> Result<Gate, CliError> {
    match args.command {
        Command::Audit(args) => command::audit::run(&args),
        Command::Judge(args) => command::judge::run(&args),
        Command::Columns(args) => command::columns::run(&args),
        Command::Compare(args) => command::compare::run(&args),
        Command::Keep(args) => command::keep::run(&args),
        Command::Explain(args) => command::explain::run(&args),
        Command::Demo(args) => command::demo::run(&args),
        Command::Trace(args) => command::trace::run(&args),
        Command::Watch(args) => command::watch::run(&args),
        Command::Completions(args) => command::completions::run(&args),
        Command::Man(args) => command::man::run(&args),
    }
}
