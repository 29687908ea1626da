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
    let check = args.check.as_deref().map(app::find).transpose()?;
    to_stdout(|out| {
        match check {
            _ if args.json_schema.is_some() => {
                out.write_all(schema(args.json_schema).as_bytes())?;
            }
            _ if args.all => report::manual(&all, &Limits::default(), out)?,
            Some(check) => report::explain(check, &Limits::default(), out)?,
            None => report::list(&all, out)?,
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
