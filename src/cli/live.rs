//! The files that are written while a session is watched: the page, and the measurements file, so
//! that a restart loses nothing.

use std::path::Path;
use std::time::{Duration, Instant};

use super::args::RunArgs;
use super::error::CliError;
use super::file::{Pending, to_file};
use super::output::width;
use super::settings::stored;
use crate::app::{self, Watch, Watched};
use crate::report::html;

/// Shortest time between two writings.
const PAGE: Duration = Duration::from_secs(2);
const MEASUREMENTS: Duration = Duration::from_secs(10);
/// Writing takes at most this part of the time.
const SHARE: u32 = 10;

/// When to write next.
#[derive(Debug)]
pub struct Live {
    every: Option<Duration>,
    next: Duration,
    dirty: bool,
}

impl Live {
    pub fn new(run: &RunArgs) -> Self {
        let every = match (&run.out_html, stored(run)) {
            (Some(_), _) => Some(PAGE),
            (None, Some(_)) => Some(MEASUREMENTS),
            (None, None) => None,
        };
        Self { every, next: Duration::ZERO, dirty: false }
    }

    /// Something is new.
    pub fn touch(&mut self) {
        self.dirty = true;
    }

    /// Writes if it is time to.
    pub fn refresh(
        &mut self,
        watch: &mut Watch,
        now: Duration,
        run: &RunArgs,
        commands: (&str, &str),
    ) -> Result<(), CliError> {
        let due = self.dirty && now >= self.next && watch.episodes() > 0;
        let Some(every) = self.every.filter(|_| due) else { return Ok(()) };
        self.next = now + every;
        let begun = Instant::now();
        let watched = measurements(watch, now, run)?;
        if let Some(path) = &run.out_html {
            let view = watched.judged.view(commands.0, Some(commands.1), width());
            let (traces, left_out) = app::traces(&view, Some(&watched.source), run.threads)?;
            to_file(path, |out| html::live(&view, &traces, left_out, PAGE, out))?;
        }
        self.dirty = false;
        self.next = now + every.max(SHARE * begun.elapsed());
        Ok(())
    }
}

/// Writes the measurements file, to a place of its own where nobody asked for it, and judges it.
pub fn measurements(watch: &mut Watch, now: Duration, run: &RunArgs) -> Result<Watched, CliError> {
    if let Some(path) = stored(run) {
        let (pending, out) = Pending::begin(path)?;
        let written = watch.write(now, Box::new(out));
        let source = written.map_err(|error| pending.failed(CliError::of_file(path, error)))?;
        pending.keep()?;
        return Ok(watch.judged(path, source)?);
    }
    let folder = Path::new("the folder of temporary files");
    let refused = |error: std::io::Error| CliError::write(folder, &error);
    let file = tempfile::Builder::new().prefix("teleassay-").suffix(".parquet").tempfile();
    let file = file.map_err(refused)?;
    let out = file.reopen().map_err(refused)?;
    let source = watch.write(now, Box::new(out)).map_err(|e| CliError::of_file(folder, e))?;
    Ok(watch.judged(file.path(), source)?)
}
