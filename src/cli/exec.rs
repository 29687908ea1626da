//! A command of the person's own, run at each verdict: lights and sounds. No shell is involved.

use std::ffi::OsString;
use std::io;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use super::error::CliError;

/// Commands that run at the same time; while there are more, the next are left out.
const MOST: usize = 8;
/// What a command may be given.
const PLACES: [&str; 3] = ["{verdict}", "{episode}", "{path}"];

/// A command and what of it still runs.
#[derive(Debug)]
pub struct Exec {
    words: Vec<String>,
    running: Vec<Child>,
}

impl Exec {
    /// Takes a command line apart.
    pub fn new(line: &str) -> Result<Self, CliError> {
        let wrong = |what: String| {
            let hint = "for instance: --exec 'set-light {verdict} {episode} {path}'";
            CliError::input(format!("--exec: {what}")).with_hint(hint)
        };
        let words = shlex::split(line).ok_or_else(|| wrong("a quote is not closed".to_owned()))?;
        match words.first() {
            None => return Err(wrong("there is no command".to_owned())),
            Some(first) if first.contains('{') => {
                return Err(wrong(format!("{first} cannot be the command")));
            }
            Some(_) => {}
        }
        for word in &words {
            let mut rest = word.as_str();
            while let Some(at) = rest.find('{') {
                let Some(place) = PLACES.iter().find(|place| rest[at..].starts_with(**place))
                else {
                    let what = format!("{} is not known in {word}", &rest[at..]);
                    return Err(wrong(format!("{what}; it knows {}", PLACES.join(", "))));
                };
                rest = &rest[at + place.len()..];
            }
        }
        Ok(Self { words, running: Vec::new() })
    }

    /// Starts the command; gives what went wrong with it, or with an earlier one.
    pub fn run(&mut self, verdict: &str, episode: &str, path: &Path) -> Vec<String> {
        let mut wrong = self.reap();
        if self.running.len() >= MOST {
            wrong.push(format!("--exec: {MOST} commands still run: left out at episode {episode}"));
            return wrong;
        }
        let mut words = self.words.iter().map(|word| filled(word, verdict, episode, path));
        let mut command = Command::new(words.next().unwrap_or_default());
        // What it prints is no part of what is printed here.
        let quiet = || Stdio::from(io::stderr());
        command.args(words).stdin(Stdio::null()).stdout(quiet()).stderr(quiet());
        match command.spawn() {
            Ok(child) => self.running.push(child),
            Err(error) => wrong.push(format!("--exec: {} cannot be run: {error}", self.words[0])),
        }
        wrong
    }

    /// Looks after commands that have ended; gives those that failed.
    pub fn reap(&mut self) -> Vec<String> {
        let mut wrong = Vec::new();
        let name = &self.words[0];
        self.running.retain_mut(|child| match child.try_wait() {
            Ok(None) => true,
            Ok(Some(status)) if status.success() => false,
            Ok(Some(status)) => {
                wrong.push(format!("--exec: {name} failed: {status}"));
                false
            }
            Err(error) => {
                wrong.push(format!("--exec: {name}: {error}"));
                false
            }
        });
        wrong
    }
}

/// A word with its places filled: each stays one argument, whatever is in it.
fn filled(word: &str, verdict: &str, episode: &str, path: &Path) -> OsString {
    let mut out = OsString::new();
    let mut rest = word;
    while let Some(at) = rest.find('{') {
        out.push(&rest[..at]);
        let place = PLACES.iter().find(|place| rest[at..].starts_with(**place));
        match place.copied() {
            Some("{verdict}") => out.push(verdict),
            Some("{episode}") => out.push(episode),
            _ => out.push(path),
        }
        rest = &rest[at + place.map_or(1, |place| place.len())..];
    }
    out.push(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_place_is_one_argument_whatever_is_in_it() -> Result<(), CliError> {
        let exec = Exec::new("say 'ep {episode}: {verdict}' --file={path}")?;
        let fill = |word: &String| filled(word, "fail", "a; rm -r $HOME \"", Path::new("b c"));
        let words: Vec<OsString> = exec.words.iter().map(fill).collect();
        assert_eq!(words, ["say", "ep a; rm -r $HOME \": fail", "--file=b c"]);
        Ok(())
    }

    #[test]
    fn what_is_not_known_is_refused_before_anything_is_watched() {
        for (line, what) in [
            ("", "there is no command"),
            ("light '{verdict}", "a quote is not closed"),
            ("light {colour}", "{colour} is not known"),
            ("{path} on", "cannot be the command"),
        ] {
            let error = Exec::new(line).err().map(|error| error.to_string()).unwrap_or_default();
            assert!(error.contains(what), "{line}: {error}");
        }
    }

    #[test]
    fn a_command_that_fails_is_a_warning() -> Result<(), CliError> {
        let mut exec = Exec::new("no-such-command-here {verdict}")?;
        let wrong = exec.run("pass", "1", Path::new("a"));
        assert!(wrong.iter().any(|text| text.contains("cannot be run")), "{wrong:?}");
        let mut exec = Exec::new("sh -c 'exit 3'")?;
        let mut wrong = exec.run("pass", "1", Path::new("a"));
        for _ in 0..100 {
            std::thread::sleep(std::time::Duration::from_millis(10));
            wrong.extend(exec.reap());
        }
        assert_eq!(wrong.len(), 1);
        assert!(wrong[0].contains("sh failed") && wrong[0].contains('3'), "{wrong:?}");
        Ok(())
    }
}
