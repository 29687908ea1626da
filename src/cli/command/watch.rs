//! `watch`: audit each episode as its file lands; the first Ctrl-C ends it with the report.

use std::io::{self, Write as _};
use std::time::{Duration, Instant};

use crate::app::{News, Notices, Watch, WatchRequest};
use crate::cli::args::{AuditArgs, Format, WatchArgs};
use crate::cli::error::CliError;
use crate::cli::exec::Exec;
use crate::cli::interrupt::{self, Writing};
use crate::cli::live::{Live, measurements};
use crate::cli::output::{Gate, width};
use crate::cli::screen::{Lines, Screen};
use crate::cli::show::show;
use crate::cli::{pasted, settings, warn};
use crate::model::count;
use crate::report::CAUTION;

/// The folder is looked through so often, since notices can be lost.
const SCAN: Duration = Duration::from_secs(5);
/// Looking through it takes at most this part of the time.
const SHARE: u32 = 20;
/// Waits for notices are short, so that a signal is heard soon.
const WAIT: Duration = Duration::from_millis(100);
/// A file at rest for so long is taken for whole where nobody says that it was closed.
const REST: Duration = Duration::from_secs(1);
/// So many files that were there before are not worth a line each.
const FEW: usize = 10;

/// Runs the command.
pub fn run(args: &WatchArgs) -> Result<Gate, CliError> {
    suits(args)?;
    let audit = AuditArgs { data: args.data.clone(), rig: None, run: args.run.clone() };
    let poll = args.poll.map(Duration::from_secs_f64);
    let request = WatchRequest {
        audit: settings::audit(&audit)?,
        resume: args.resume.clone(),
        late: Duration::from_secs_f64(args.unfinished_after),
        rest: poll.map_or(REST, |every| 2 * every).max(REST),
    };
    let exec = args.exec.as_deref().map(Exec::new).transpose()?;
    warn::of_data(args.run.quiet, &args.data);
    // From here on a signal is only noted: the report is what it leaves.
    let _writing = Writing::begin();
    let mut watch = Watch::open(request)?;
    let mut session = Session {
        notices: if poll.is_some() { Notices::none() } else { Notices::of(watch.folder())? },
        every: poll.unwrap_or(SCAN),
        screen: Screen::new(lines(args), args.bell, exec, !args.run.no_progress),
        live: Live::new(&args.run),
        begun: Instant::now(),
    };
    greet(args, &watch);
    let commands = (pasted::audit(&audit), pasted::trace_of(&audit));
    let commands = (commands.0.as_str(), commands.1.as_str());
    session.follow(&mut watch, args, commands)?;
    session.screen.clear();
    if !args.run.quiet && watch.episodes() > 0 {
        let _ = writeln!(anstream::stderr(), "making the report on the rig of all episodes");
    }
    let last = watch.end()?;
    session.screen.show(&watch, &last).or_else(unless_closed)?;
    session.screen.clear();
    let watched = measurements(&mut watch, session.begun.elapsed(), &args.run)?;
    let view = watched.judged.view(commands.0, Some(commands.1), width());
    show(&args.run, &view, Some(&watched.source))?;
    let gate = Gate::of(&view, &args.run);
    warn::of_gate(&args.run, &view);
    Ok(gate)
}

/// Refuses what is of one episode, or of no session.
fn suits(args: &WatchArgs) -> Result<(), CliError> {
    let run = &args.run;
    let option = match (&run.episode, run.show_profile) {
        (Some(_), _) => "--episode",
        (None, true) => "--show-profile",
        (None, false) => return Ok(()),
    };
    Err(CliError::input(format!("{option} is not for watch, which reports a whole session"))
        .with_hint(format!(
            "leave it out; teleassay audit PATH {option} ... is for what is recorded"
        )))
}

/// Where the lines go: a program that reads standard output wants the report alone.
fn lines(args: &WatchArgs) -> Lines {
    match (args.run.quiet, args.run.format != Format::Table || args.run.plain) {
        (true, _) => Lines::Nowhere,
        (false, true) => Lines::Err,
        (false, false) => Lines::Out,
    }
}

fn greet(args: &WatchArgs, watch: &Watch) {
    if args.run.quiet {
        return;
    }
    let known = match watch.episodes() {
        0 => String::new(),
        known => format!("; {} known from before", count(known as u64, "episode")),
    };
    let folder = watch.folder().display();
    let text = format!("watching {folder}{known}; Ctrl-C ends it with the report\n{CAUTION}");
    // If standard error is closed, nobody is left to read this.
    let _ = writeln!(anstream::stderr(), "{text}");
}

/// A reader of the lines that is gone does not cost the report.
fn unless_closed(error: io::Error) -> Result<(), CliError> {
    if error.kind() == io::ErrorKind::BrokenPipe { Ok(()) } else { Err(error.into()) }
}

/// A session in progress.
struct Session {
    notices: Notices,
    every: Duration,
    screen: Screen,
    live: Live,
    begun: Instant,
}

impl Session {
    /// Follows the folder until the person asks for the end.
    fn follow(
        &mut self,
        watch: &mut Watch,
        args: &WatchArgs,
        commands: (&str, &str),
    ) -> Result<(), CliError> {
        let (mut next_scan, mut catch_up_until) = (Duration::ZERO, Duration::ZERO);
        while !interrupt::heard() {
            let now = self.begun.elapsed();
            let mut news = Vec::new();
            if now >= next_scan {
                let begun = Instant::now();
                match watch.scan(now) {
                    Ok(found) => news = found,
                    // It may come back, and what was judged is kept.
                    Err(error) => self.screen.warn_once(&error.to_string()),
                }
                next_scan = now + self.every.max(SHARE * begun.elapsed());
                if watch.episodes() == 0 && watch.waiting_files() > FEW {
                    self.screen.catch_up();
                    // What was written a moment ago lies there, too, once it has been at rest.
                    catch_up_until = now + REST + WAIT;
                }
            }
            let wait = if watch.busy(now) { Duration::ZERO } else { WAIT };
            for notice in self.notices.wait(wait) {
                let now = self.begun.elapsed();
                news.extend(watch.noticed(now, &notice.path, notice.closed));
            }
            let now = self.begun.elapsed();
            news.extend(watch.step(now)?);
            if news.iter().any(is_of_report) {
                self.live.touch();
            }
            let mut shown = self.screen.show(watch, &news);
            if now >= catch_up_until && !watch.busy(now) {
                shown = shown.and_then(|()| self.screen.caught_up());
            }
            if let Err(error) = shown {
                return unless_closed(error);
            }
            match self.live.refresh(watch, now, &args.run, commands) {
                // The signal is heard next.
                Err(error) if error.says_nothing() => {}
                // At the end it is an error; until then there is time to make room.
                Err(error) => self.screen.warn_once(&error.to_string()),
                Ok(()) => {}
            }
        }
        Ok(())
    }
}

/// Whether the report is another one with it.
fn is_of_report(news: &News) -> bool {
    !matches!(news, News::Vanished(_))
}
