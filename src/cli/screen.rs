//! What is seen while a session is watched: a line for each thing that is new, and a running tally.

use std::io::{self, IsTerminal as _, Write};

use indicatif::{ProgressBar, ProgressDrawTarget};

use super::exec::Exec;
use super::output::width;
use crate::app::{News, Watch};
use crate::model::{Counts, Verdict};
use crate::report::{clean, cleared, landed, other_rig, rejudged, session_notice, stop, tally};

/// What does not fit a line goes on below the words of its begin.
const INDENT: &str = "                         ";
/// Without a terminal the tally is a line of its own after so many episodes.
const TALLY_EVERY: u64 = 10;

/// Where the lines go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lines {
    /// Nowhere.
    Nowhere,
    /// To standard output.
    Out,
    /// To standard error, where standard output is for a program.
    Err,
}

/// What is seen.
#[derive(Debug)]
pub struct Screen {
    lines: Lines,
    bell: bool,
    exec: Option<Exec>,
    bar: ProgressBar,
    /// Of files that were there before, what passed is not worth a line.
    catching_up: bool,
    since: u64,
    counts: Counts,
    warned: Vec<String>,
}

impl Screen {
    pub fn new(lines: Lines, bell: bool, exec: Option<Exec>, progress: bool) -> Self {
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let shown = progress && !dumb && lines != Lines::Nowhere;
        let target =
            if shown { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bar = ProgressBar::with_draw_target(None, target);
        if let Ok(style) = indicatif::ProgressStyle::with_template("  {msg}") {
            bar.set_style(style);
        }
        Self {
            lines,
            bell,
            exec,
            bar,
            catching_up: false,
            since: 0,
            counts: Counts::default(),
            warned: Vec::new(),
        }
    }

    /// From here on until [`Screen::caught_up`], episodes that pass have no line.
    pub fn catch_up(&mut self) {
        self.catching_up = true;
    }

    /// Says what was there before.
    pub fn caught_up(&mut self) -> io::Result<()> {
        if std::mem::take(&mut self.catching_up) {
            self.since = 0;
            self.line(&format!("there already: {}", tally(self.counts)))?;
        }
        Ok(())
    }

    /// Shows news.
    pub fn show(&mut self, watch: &Watch, news: &[News]) -> io::Result<()> {
        for one in news {
            if let Some(text) = self.text(watch, one) {
                self.line(&text)?;
            }
            self.act(watch, one)?;
        }
        self.bar.set_message(self.status(watch));
        self.bar.tick();
        let wrong = self.exec.as_mut().map(Exec::reap).unwrap_or_default();
        for text in &wrong {
            self.warn(text);
        }
        Ok(())
    }

    /// Takes the running tally away.
    pub fn clear(&self) {
        self.bar.finish_and_clear();
    }

    fn status(&self, watch: &Watch) -> String {
        let name =
            |path: &std::path::Path| clean(&path.file_name().unwrap_or_default().to_string_lossy());
        let waiting = watch.waiting().map(|path| format!("; waiting for {}", name(path)));
        format!("{}{}", tally(self.counts), waiting.unwrap_or_default())
    }

    fn text(&self, watch: &Watch, news: &News) -> Option<String> {
        let rig = watch.rig();
        let name = |path: &std::path::Path| {
            let below = path.strip_prefix(watch.folder()).unwrap_or(path);
            clean(&below.display().to_string())
        };
        Some(match news {
            News::Episode(one) => {
                let passed = one.card.verdict == Verdict::Pass && one.assessed;
                if passed && self.catching_up {
                    return None;
                }
                landed(&one.id, &one.card, rig?, one.again, one.assessed)
            }
            News::Stop(finding) => stop(finding, rig?),
            News::Notice(finding) => session_notice(finding, rig?),
            News::Cleared(check, joint) => cleared(check, *joint, rig?),
            News::Rig(how, episodes) => other_rig(how, *episodes),
            News::Rejudged(id, before, now) => rejudged(id, *before, *now),
            News::Unfinished(late) => format!(
                "not whole: {}: unchanged for {} s, not judged: {}  -> if its writer was stopped, \
                 record it again",
                name(&late.path),
                late.rest.as_secs(),
                late.why
            ),
            News::Interleaved(id, path) => format!(
                "{}: ep {} goes on after it was judged: all of the file is judged again when it \
                 has ended",
                name(path),
                clean(id)
            ),
            News::Vanished(path) => format!("gone before it was whole: {}", name(path)),
            News::Refused(path, what, hint) => {
                let hint = hint.as_ref().map_or(String::new(), |hint| format!("  -> {hint}"));
                format!("not judged: {}: {what}{hint}", name(path))
            }
        })
    }

    /// Bell, command, and the tally where there is no terminal.
    fn act(&mut self, watch: &Watch, news: &News) -> io::Result<()> {
        let (verdict, episode, path) = match news {
            News::Episode(one) => {
                self.counts.count(one.card.verdict);
                (one.card.verdict.word(), one.card.key.id.as_str(), one.path.as_path())
            }
            News::Stop(_) => ("stop", "", watch.folder()),
            _ => return Ok(()),
        };
        if self.bell && matches!(verdict, "fail" | "stop") && !self.catching_up {
            let _ = io::stderr().write_all(b"\x07");
        }
        let wrong = self.exec.as_mut().map(|exec| exec.run(verdict, episode, path));
        for text in wrong.iter().flatten() {
            self.warn(text);
        }
        self.since += u64::from(matches!(news, News::Episode(_)));
        let due = self.since >= TALLY_EVERY && self.bar.is_hidden() && !self.catching_up;
        if due {
            self.since = 0;
            self.line(&tally(self.counts))?;
        }
        Ok(())
    }

    /// Prints a line with the time of day.
    pub fn line(&self, text: &str) -> io::Result<()> {
        let time = chrono::Local::now().format("%H:%M:%S");
        let line = format!("{time}  {}", text.trim_end());
        // One line each where a program may read them; a person's are broken between words.
        let broken = textwrap::Options::new(width()).subsequent_indent(INDENT);
        let person = self.lines == Lines::Out && io::stdout().is_terminal();
        let line = if person { textwrap::fill(&line, broken) } else { line } + "\n";
        let write = |out: &mut dyn Write| out.write_all(line.as_bytes()).and_then(|()| out.flush());
        self.bar.suspend(|| match self.lines {
            Lines::Nowhere => Ok(()),
            Lines::Out => {
                let choice = anstream::AutoStream::choice(&io::stdout());
                write(&mut anstream::AutoStream::new(io::stdout().lock(), choice))
            }
            Lines::Err => write(&mut anstream::stderr()),
        })
    }

    /// A warning that would come again and again.
    pub fn warn_once(&mut self, text: &str) {
        if !self.warned.iter().any(|known| known == text) {
            self.warn(text);
            self.warned.push(text.to_owned());
        }
    }

    /// If standard error is closed, nobody is left to read this.
    fn warn(&self, text: &str) {
        let text = format!("warning: {text}\n");
        self.bar.suspend(|| {
            let _ = anstream::stderr().write_all(text.as_bytes());
        });
    }
}
