//! `trace`: one episode, leader and follower joint by joint, flagged spans marked.

use crate::app;
use crate::cli::args::TraceArgs;
use crate::cli::error::CliError;
use crate::cli::output::{Gate, ascii, to_file, to_stdout, width};
use crate::cli::{pasted, settings, warn};
use crate::report::{self, Traced};
use crate::source::Source as _;

/// Runs the command.
pub fn run(args: &TraceArgs) -> Result<Gate, CliError> {
    warn::of_data(false, &args.data);
    let found = app::trace(&settings::trace(args))?;
    let traced = Traced {
        joints: found.joints,
        episode: &found.episode,
        card: &found.card,
        inputs: found.source.inputs(),
        window_s: (args.from, args.to),
        width: width(),
        ascii: args.ascii || ascii(),
        command: &pasted::trace(args),
    };
    if traced.is_empty() {
        let what = format!("episode \"{}\" has no frame in that time", args.episode);
        let long = found.card.duration_s;
        let hint = format!("--from and --to are seconds from its start; {long:.2} s long");
        return Err(CliError::input(what).with_hint(hint));
    }
    if let Some(path) = &args.out_svg {
        to_file(path, |out| report::trace_svg(&traced, out))?;
    }
    if let Some(path) = &args.out_html {
        to_file(path, |out| report::html::trace_html(&traced, out))?;
    }
    to_stdout(|out| {
        Ok(if args.plain {
            report::trace_records(&traced, out)
        } else {
            report::trace(&traced, out)
        }?)
    })?;
    Ok(Gate::Open)
}
