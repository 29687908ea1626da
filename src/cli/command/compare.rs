//! `compare`: recording sessions with the first of them, aspect by aspect.

use std::io::{self, Write};

use crate::app;
use crate::cli::args::{CompareArgs, CompareFormat};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_file, to_stdout, width};
use crate::cli::progress::Bar;
use crate::cli::{pasted, settings, warn};
use crate::report::{self, Compared, Courses};

/// Runs the command.
pub fn run(args: &CompareArgs) -> Result<Gate, CliError> {
    let profile_b = args.profile_b.as_deref().or(args.profile.as_deref());
    let of_a = (args.profile.as_deref(), Some(args.a.as_path()));
    let others = std::iter::once(&args.b).chain(&args.more);
    let of_others = others.map(|path| (profile_b, Some(path.as_path())));
    warn::of_profiles(args.quiet, &std::iter::once(of_a).chain(of_others).collect::<Vec<_>>());
    let bar = Bar::new(args.quiet || args.no_progress);
    let result = app::compare(&settings::compare(args), &mut |progress| bar.show(progress));
    bar.clear();
    let sessions = result?;
    let commands = pasted::compare(args);
    let view = sessions.view(&commands, width());
    if let Some(path) = &args.out_json {
        to_file(path, |out| json(&view, out))?;
    }
    if let Some(path) = &args.out_html {
        to_file(path, |out| html(&view, out))?;
    }
    if !(args.quiet && args.format == CompareFormat::Table) {
        to_stdout(|out| Ok(print(args.format, &view, out)?))?;
    }
    Ok(Gate::of_comparison(sessions.worst(), args.fail_on, sessions.all_read()))
}

/// Of two sessions one comparison is all there is.
fn alone<'a, 'b>(view: &'b Courses<'a>) -> Option<&'b Compared<'a>> {
    match view.pairs.as_slice() {
        [pair] => Some(pair),
        _ => None,
    }
}

fn json(view: &Courses<'_>, out: &mut dyn Write) -> io::Result<()> {
    match alone(view) {
        Some(pair) => report::comparison_json(pair, out),
        None => report::course_json(view, out),
    }
}

fn html(view: &Courses<'_>, out: &mut dyn Write) -> io::Result<()> {
    match alone(view) {
        Some(pair) => report::comparison_html(pair, out),
        None => report::course_html(view, out),
    }
}

fn print(format: CompareFormat, view: &Courses<'_>, out: &mut dyn Write) -> io::Result<()> {
    match (format, alone(view)) {
        (CompareFormat::Table, Some(pair)) => report::comparison(pair, out),
        (CompareFormat::Table, None) => report::course(view, out),
        (CompareFormat::Json, _) => json(view, out),
        (CompareFormat::Markdown, Some(pair)) => report::comparison_markdown(pair, out),
        (CompareFormat::Markdown, None) => report::course_markdown(view, out),
    }
}
