//! `compare`: two recording sessions, aspect by aspect.

use std::io::{self, Write};

use teleassay::compare::compare;
use teleassay::report::{self, Compared, ComparedSide};

use crate::cli::args::{CompareArgs, CompareFormat};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, spare, to_file, to_stdout, width};
use crate::cli::settings::CompareSettings;
use crate::cli::side::{Loaded, load};

/// Runs the command.
pub fn run(args: &CompareArgs) -> Result<Gate, CliError> {
    let settings = CompareSettings::new(args)?;
    let a = load(&settings.a, args.threads, args.quiet)?;
    let b = load(&settings.b, args.threads, args.quiet)?;
    let comparison = compare(&a.side, &b.side);
    let view = Compared {
        comparison: &comparison,
        a: told(&a),
        b: told(&b),
        command: &settings.command,
        width: width(),
    };
    let outs = || [&args.out_json, &args.out_html].into_iter().flatten();
    for (data, loaded) in [(&settings.a, &a), (&settings.b, &b)] {
        spare(outs(), &loaded.inputs, &[data.files(), data.paths.clone()].concat())?;
    }
    if let Some(path) = &args.out_json {
        to_file(path, |out| report::comparison_json(&view, out))?;
    }
    if let Some(path) = &args.out_html {
        to_file(path, |out| report::comparison_html(&view, out))?;
    }
    to_stdout(|out| Ok(print(args.format, &view, out)?))?;
    let read = a.unread.is_empty() && b.unread.is_empty();
    Ok(Gate::of_comparison(comparison.worst(), args.fail_on, read))
}

fn told(loaded: &Loaded) -> ComparedSide<'_> {
    ComparedSide {
        side: &loaded.side,
        inputs: &loaded.inputs,
        unread: &loaded.unread,
        roles: &loaded.roles,
        stored: loaded.stored,
    }
}

fn print(format: CompareFormat, view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    match format {
        CompareFormat::Table => report::comparison(view, out),
        CompareFormat::Json => report::comparison_json(view, out),
        CompareFormat::Markdown => report::comparison_markdown(view, out),
    }
}
