//! `compare`: two recording sessions, aspect by aspect.

use std::io::{self, Write};

use crate::app;
use crate::cli::args::{CompareArgs, CompareFormat};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_file, to_stdout, width};
use crate::cli::progress::Bar;
use crate::cli::{pasted, settings, warn};
use crate::report::{self, Compared};

/// Runs the command.
pub fn run(args: &CompareArgs) -> Result<Gate, CliError> {
    let profile_b = args.profile_b.as_deref().or(args.profile.as_deref());
    let of_a = (args.profile.as_deref(), Some(args.a.as_path()));
    warn::of_profiles(args.quiet, &[of_a, (profile_b, Some(args.b.as_path()))]);
    let bar = Bar::new(args.quiet || args.no_progress);
    let result = app::compare(&settings::compare(args), &mut |progress| bar.show(progress));
    bar.clear();
    let sessions = result?;
    let command = pasted::compare(args);
    let view = sessions.view(&command, width());
    if let Some(path) = &args.out_json {
        to_file(path, |out| report::comparison_json(&view, out))?;
    }
    if let Some(path) = &args.out_html {
        to_file(path, |out| report::comparison_html(&view, out))?;
    }
    if !(args.quiet && args.format == CompareFormat::Table) {
        to_stdout(|out| Ok(print(args.format, &view, out)?))?;
    }
    let read = sessions.a.unread.is_empty() && sessions.b.unread.is_empty();
    Ok(Gate::of_comparison(sessions.comparison.worst(), args.fail_on, read))
}

fn print(format: CompareFormat, view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    match format {
        CompareFormat::Table => report::comparison(view, out),
        CompareFormat::Json => report::comparison_json(view, out),
        CompareFormat::Markdown => report::comparison_markdown(view, out),
    }
}
