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
    let check = args.check.as_deref().map(app::find).transpose()?;
    if let Some(of) = args.json_schema {
        let schema = schema(of, args.json_detail);
        to_stdout(|out| Ok(out.write_all(schema.as_bytes())?))?;
        return Ok(Gate::Open);
    }
    to_stdout(|out| {
        match check {
            _ if args.all => report::manual(&all, &Limits::default(), out)?,
            Some(check) => report::explain(check, &Limits::default(), out)?,
            None => report::list(&all, out)?,
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
    }
}
