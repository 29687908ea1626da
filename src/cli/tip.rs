//! The tip below a wrong option or command: the right one, instead of how to pass the wrong one on.

use std::ffi::OsString;
use std::path::Path;

use clap::builder::StyledStr;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Command, CommandFactory as _, Error};

use super::args::Args;
use super::tips::{COMMANDS, HABITS, Habit};
use crate::report::quote;

/// The same error, with the tip that leads somewhere.
pub fn on(error: Error) -> Error {
    with_tip(error, std::env::args_os().skip(1))
}

fn with_tip(mut error: Error, typed: impl Iterator<Item = OsString>) -> Error {
    let wrong = |kind: ContextKind| match error.get(kind) {
        Some(ContextValue::String(text)) => Some(text.clone()),
        _ => None,
    };
    let mut root = Args::command();
    root.build();
    match error.kind() {
        ErrorKind::UnknownArgument => {
            let Some(text) = wrong(ContextKind::InvalidArg) else { return error };
            let command = command(&root, typed);
            let tip = of_option(&text, command, &root);
            // What clap proposes is a way to pass the slip on as a value.
            error.remove(ContextKind::Suggested);
            if let Some(tip) = tip {
                error.remove(ContextKind::SuggestedArg);
                say(&mut error, tip);
            }
        }
        ErrorKind::InvalidSubcommand => {
            let Some(text) = wrong(ContextKind::InvalidSubcommand) else { return error };
            if let Some(tip) = of_command(&text) {
                error.remove(ContextKind::SuggestedSubcommand);
                error.remove(ContextKind::Suggested);
                say(&mut error, tip);
            }
        }
        _ => {}
    }
    error
}

fn say(error: &mut Error, tip: String) {
    error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![StyledStr::from(tip)]));
}

/// The command that was typed.
fn command(root: &Command, typed: impl Iterator<Item = OsString>) -> Option<&Command> {
    let mut words = typed.filter_map(|word| word.into_string().ok());
    words.find_map(|word| root.find_subcommand(&word))
}

fn has(command: &Command, option: &str) -> bool {
    let long = option.strip_prefix("--");
    command.get_arguments().any(|arg| arg.get_long().is_some() && arg.get_long() == long)
}

/// What to write instead of an option.
fn of_option(typed: &str, command: Option<&Command>, root: &Command) -> Option<String> {
    let typed = typed.split('=').next().unwrap_or(typed);
    let lower = typed.to_lowercase().replace('_', "-");
    // What another command has, spelled right.
    if command.is_some_and(|command| has(command, &lower)) {
        return Some(format!("write {lower}"));
    }
    let by_name = |habit: &&Habit| {
        // -V is the version and -v is none.
        habit
            .typed
            .iter()
            .any(|known| *known == typed || (*known == lower && typed.starts_with("--")))
    };
    let habit = HABITS.iter().find(by_name);
    if let (Some(habit), Some(command)) = (habit, command) {
        let own = habit.options.iter().filter(|(option, _)| has(command, option));
        let own: Vec<&str> = own.map(|(_, text)| *text).collect();
        if !own.is_empty() {
            return Some(format!("write {}", own.join(", or ")));
        }
    }
    if let Some(habit) = habit.filter(|habit| !habit.else_do.is_empty()) {
        return Some(habit.else_do.to_owned());
    }
    let meant = habit.and_then(|habit| habit.options.first()).map_or(lower.as_str(), |(o, _)| *o);
    let others = root.get_subcommands().filter(|other| has(other, meant));
    let others: Vec<&str> = others.map(Command::get_name).collect();
    (!others.is_empty()).then(|| format!("{meant} is an option of {}", others.join(", ")))
}

/// What to write instead of a command.
fn of_command(typed: &str) -> Option<String> {
    let lower = typed.to_lowercase();
    let known = COMMANDS.iter().find(|(words, _)| words.contains(&lower.as_str()));
    if let Some((_, command)) = known {
        return Some(format!("the command is `teleassay {command}`"));
    }
    let is_path = typed.contains(['/', '*', '.']) || Path::new(typed).exists();
    is_path.then(|| format!("to audit data, write `teleassay audit {}`", quote(typed)))
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;

    use super::*;

    fn said(line: &str) -> String {
        let words = shlex::split(line).unwrap_or_default();
        let Err(error) = Args::try_parse_from(&words) else { panic!("{line} is good") };
        let typed = words.into_iter().skip(1).map(OsString::from);
        with_tip(error, typed).to_string()
    }

    #[test]
    fn a_habitual_spelling_gets_the_right_option() {
        for (line, tip) in [
            ("teleassay audit a --json", "--format json (to standard output), or --out-json FILE"),
            ("teleassay audit a --json=x.json", "--out-json FILE"),
            ("teleassay audit a --html r.html", "write --out-html FILE"),
            ("teleassay audit a --fps 30", "write --rate HZ"),
            ("teleassay trace a --episode 3 --hz 30", "write --rate HZ"),
            ("teleassay audit a --hz=30", "write --rate HZ"),
            ("teleassay audit a -o x", "write --out-html FILE, or --out-json FILE"),
            ("teleassay columns a -o x", "write --write FILE"),
            ("teleassay audit a -v", "write --all (every row), or --plain (every record)"),
            ("teleassay audit a --verbose", "--episode ID"),
            ("teleassay audit a --config c.toml", "write --profile FILE"),
            ("teleassay audit a -c c.toml", "write --profile FILE"),
            ("teleassay audit a --Quiet", "write --quiet"),
            ("teleassay audit a --out_html x", "write --out-html"),
            ("teleassay audit a --jobs 4", "write --threads N"),
            ("teleassay audit a --strict", "write --fail-on warn"),
            ("teleassay audit a --threshold 3", "limits are set in a profile"),
            ("teleassay judge a.parquet --fps 30", "--rate is an option of audit,"),
            ("teleassay judge a.parquet --joint elbow", "--joint is an option of trace"),
            ("teleassay audit --input a", "paths are named without an option"),
            ("teleassay compare a b --html c", "write --out-html FILE"),
            ("teleassay validate a", "the command is `teleassay audit`"),
            ("teleassay diff a b", "the command is `teleassay compare`"),
            ("teleassay my_session/", "write `teleassay audit my_session/`"),
        ] {
            let said = said(line);
            let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(flat.contains("tip: ") && flat.contains(tip), "{line}\n{said}");
            assert!(!said.contains("as a value"), "{line}\n{said}");
            assert_eq!(said.matches("tip: ").count(), 1, "{line}\n{said}");
        }
    }

    #[test]
    fn an_option_that_nobody_knows_gets_no_empty_tip() {
        let said = said("teleassay audit a --flavour sweet");
        assert!(said.contains("unexpected argument '--flavour'"), "{said}");
        assert!(!said.contains("tip:") && said.contains("--help"), "{said}");
    }

    #[test]
    fn a_slip_of_the_finger_keeps_its_tip() {
        let said = said("teleassay audit a --out-htlm x");
        assert!(said.contains("'--out-html'"), "{said}");
    }

    #[test]
    fn every_option_that_a_tip_names_exists_and_no_habit_is_one() {
        let mut root = Args::command();
        root.build();
        for Habit { typed, options, else_do } in HABITS {
            assert!(options.is_empty() != else_do.is_empty(), "{typed:?}");
            for (option, text) in *options {
                assert!(root.get_subcommands().any(|command| has(command, option)), "{option}");
                assert!(text.starts_with(option), "{text}");
            }
        }
        for (words, command) in COMMANDS {
            assert!(root.find_subcommand(command).is_some(), "{command}");
            assert!(words.iter().all(|word| root.find_subcommand(word).is_none()), "{words:?}");
        }
    }
}
