//! `explain`: the manual of the checks.

use crate::app;
use crate::cli::args::{ExplainArgs, SchemaOf};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_stdout};
use crate::judge::Limits;
use crate::report;

/// Runs the command.
pub fn run(args: &ExplainArgs) -> Result<Gate, CliError> {
    let all = app::all();
    let named = if args.check.is_empty() { Vec::new() } else { app::named_by_words(&args.check)? };
    let limits = Limits::default();
    to_stdout(|out| {
        match named.as_slice() {
            _ if args.json_schema.is_some() => {
                out.write_all(schema(args.json_schema).as_bytes())?;
            }
            _ if args.all => report::manual(&all, &limits, out)?,
            [] => report::list(&all, out)?,
            [check] => report::explain(check, &limits, out)?,
            // Checks that were each named are wanted in full, those of a family as a list.
            several if several.len() == args.check.len() => {
                for (at, check) in several.iter().enumerate() {
                    out.write_all(if at == 0 { b"" } else { b"\n\n" })?;
                    report::explain(check, &limits, out)?;
                }
            }
            several => report::list(several, out)?,
        }
        Ok(())
    })?;
    Ok(Gate::Open)
}

fn schema(of: Option<SchemaOf>) -> String {
    match of {
        Some(SchemaOf::Comparison) => report::comparison_schema(),
        _ => report::schema(),
    }
}
