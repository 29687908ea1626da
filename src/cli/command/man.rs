//! `man`: a manual page for each command.

use std::fmt::Write as _;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use clap::{Command, CommandFactory as _};
use clap_mangen::Man;

use crate::cli::args::{Args, EXIT_CODES, ManArgs};
use crate::cli::error::CliError;
use crate::cli::output::{Gate, to_file, to_stdout};

/// Date of the text, set with the version at each release: the same program writes the same pages.
const DATE: &str = "2026-11-25";

/// Title of the manual, on every page.
const MANUAL: &str = "teleassay manual";

/// Runs the command.
pub fn run(args: &ManArgs) -> Result<Gate, CliError> {
    let mut root = Args::command().disable_help_subcommand(true);
    root.build();
    let Some(dir) = &args.to else {
        let command = match &args.command {
            None => &root,
            Some(name) => find(&root, name)?,
        };
        let page = page(command)?;
        to_stdout(|out| Ok(out.write_all(&page)?))?;
        return Ok(Gate::Open);
    };
    std::fs::create_dir_all(dir).map_err(|error| CliError::write(dir, &error))?;
    let commands = std::iter::once(&root).chain(root.get_subcommands());
    let path = |command: &Command| dir.join(Man::new(command.clone()).get_filename());
    let pages: Vec<(PathBuf, &Command)> = commands.map(|c| (path(c), c)).collect();
    // All are looked at first: either every page is written or none.
    if let Some((path, _)) = pages.iter().find(|(path, _)| !args.force && is_foreign(path)) {
        let what = format!("{} is not a manual page of this tool", path.display());
        return Err(CliError::input(what).with_hint("name another folder, or add --force"));
    }
    for (path, command) in pages {
        let page = page(command)?;
        to_file(&path, |out| out.write_all(&page))?;
    }
    Ok(Gate::Open)
}

/// Whether there is a file, and it is not a page that this command wrote, of any version.
fn is_foreign(path: &Path) -> bool {
    // A link that leads nowhere is something that was made, too.
    let exists = path.symlink_metadata().is_ok();
    let heading = |text: String| text.lines().any(|l| l.starts_with(".TH ") && l.contains(MANUAL));
    exists && !std::fs::read_to_string(path).is_ok_and(heading)
}

fn find<'a>(root: &'a Command, name: &str) -> Result<&'a Command, CliError> {
    root.find_subcommand(name).ok_or_else(|| {
        let names = root.get_subcommands().map(Command::get_name);
        let hint = format!("one of: {}", names.collect::<Vec<_>>().join(", "));
        CliError::input(format!("there is no command \"{name}\"")).with_hint(hint)
    })
}

fn page(command: &Command) -> io::Result<Vec<u8>> {
    let named = command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned();
    let man = Man::new(command.clone())
        .title(named.to_uppercase())
        .date(DATE)
        .source(concat!("teleassay ", env!("CARGO_PKG_VERSION")))
        .manual(MANUAL);
    let mut out = Vec::new();
    man.render_title(&mut out)?;
    man.render_name_section(&mut out)?;
    man.render_synopsis_section(&mut out)?;
    man.render_description_section(&mut out)?;
    man.render_options_section(&mut out)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut out)?;
    }
    let examples = command.get_before_help().map(ToString::to_string).unwrap_or_default();
    let mut rest = section("EXAMPLES", examples.lines().skip(1));
    rest.push_str(&section("EXIT STATUS", codes().iter().map(String::as_str)));
    let text = String::from_utf8(out).map_err(io::Error::other)?;
    Ok((tidy(&text) + &rest).into_bytes())
}

/// The exit codes, one a line.
fn codes() -> Vec<String> {
    let codes = EXIT_CODES.split_once(": ").map_or(EXIT_CODES, |(_, codes)| codes);
    let codes = codes.replace('\n', " ");
    let mut lines: Vec<String> = Vec::new();
    for part in codes.trim_end_matches('.').split(", ") {
        match lines.last_mut() {
            Some(line) if !part.starts_with(|c: char| c.is_ascii_digit()) => {
                line.push_str(", ");
                line.push_str(part);
            }
            _ => lines.push(part.to_owned()),
        }
    }
    lines
}

/// What `mandoc -T lint` finds fault with in generated pages: lines that are empty or longer than
/// 80 bytes, and a break after a break.
fn tidy(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut last = "";
    for line in text.lines().map(str::trim_end).filter(|line| !line.is_empty()) {
        if line == ".br" && last == ".br" {
            continue;
        }
        last = line;
        let mut room = 80;
        // What follows a request on its line belongs to it.
        let words = if line.starts_with('.') { vec![line] } else { line.split(' ').collect() };
        for (at, word) in words.into_iter().enumerate() {
            let broken = at > 0 && word.len() + 1 > room;
            if broken {
                out.push_str(if word.starts_with(['.', '\'']) { "\n\\&" } else { "\n" });
                room = 80;
            } else if at > 0 {
                out.push(' ');
            }
            out.push_str(word);
            room = room.saturating_sub(word.len() + usize::from(at > 0 && !broken));
        }
        out.push('\n');
    }
    out
}

/// Lines as they stand.
fn section<'a>(title: &str, lines: impl Iterator<Item = &'a str>) -> String {
    let mut out = format!(".SH \"{title}\"\n.nf\n");
    for line in lines {
        let line = line.trim_start().replace('\\', "\\e").replace('-', "\\-");
        let guard = if line.starts_with(['.', '\'']) { "\\&" } else { "" };
        let _ = writeln!(out, "{guard}{line}");
    }
    out + ".fi\n"
}
