//! `explain`: the manual of the checks.

use crate::app;
use crate::cli::args::{ExplainArgs, SchemaOf};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_stdout};
use crate::judge::Limits;
use crate::report::{self, JsonDetail};

/// Runs the command.
pub fn run(args: &ExplainArgs) -> Result<Gate, CliError> {
    let all = app::all();
    if let Some(of) = args.json_schema {
        let schema = schema(of, args.json_detail);
        to_stdout(|out| Ok(out.write_all(schema.as_bytes())?))?;
        return Ok(Gate::Open);
    }
    let named = if args.check.is_empty() { Vec::new() } else { app::named_by_words(&args.check)? };
    let limits = Limits::default();
    to_stdout(|out| {
        match named.as_slice() {
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

fn schema(of: SchemaOf, detail: JsonDetail) -> String {
    match of {
        SchemaOf::Report => report::schema(detail),
        SchemaOf::Lines => report::lines_schema(detail),
        SchemaOf::List => report::list_schema(),
        SchemaOf::Comparison => report::comparison_schema(),
        SchemaOf::Course => report::course_schema(),
        SchemaOf::Changes => report::keep::changes_schema(),
    }
}
