//! A session that is watched: files in, news out.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use super::files::{Due, Files, Rest};
use super::kept::{Around, Kept};
use super::learning::Learning;
use super::news::News;
use super::recent::Last;
use super::take::{Grown, take};
use crate::app::data::Data;
use crate::app::spare::spare;
use crate::app::{AppError, AuditRequest, checks};
use crate::engine::{Plan, Workers};
use crate::judge::Requirement;
use crate::model::{CheckSpec, Rig, Unread};
use crate::source::{Declared, Look, Mark, Seen, Texts, is_recording, look, scan};
use crate::store;

/// Files that are looked at before what came of them is handed out.
const TOGETHER: usize = 16;

/// What to watch, and how.
#[derive(Debug, Clone)]
pub struct WatchRequest {
    /// What to audit: its one path is the folder.
    pub audit: AuditRequest,
    /// A measurements file of the same folder to go on with.
    pub resume: Option<PathBuf>,
    /// How long a file that is not whole may be at rest before it is reported.
    pub late: Duration,
    /// How long a file is at rest before it is taken for whole, where nobody says that it was
    /// closed.
    pub rest: Duration,
}

/// A session that is watched.
pub struct Watch {
    pub(super) folder: PathBuf,
    pub(super) data: Data,
    pub(super) plan: Plan,
    pub(super) checks: Vec<&'static CheckSpec>,
    pub(super) requirement: Requirement,
    pub(super) request: WatchRequest,
    pub(super) workers: Workers,
    pub(super) files: Files,
    pub(super) kept: Option<Kept>,
    pub(super) refused: Vec<Unread>,
    pub(super) last: Last,
    pub(super) around: Around,
    pub(super) learning: Option<Learning>,
    texts: Texts,
}

impl Watch {
    /// Prepares; nothing is looked at yet.
    ///
    /// # Errors
    /// If there is no folder, or the request does not fit.
    pub fn open(request: WatchRequest) -> Result<Self, AppError> {
        let audit = &request.audit;
        let folder = match audit.data.paths.as_slice() {
            [folder] if folder.is_dir() => folder.clone(),
            [other] => {
                let what = format!("{}: is not a folder", other.display());
                return Err(
                    AppError::input(what).with_hint("name the folder that is recorded into")
                );
            }
            _ => return Err(AppError::input("watch takes one folder")),
        };
        let data = Data::new(&audit.data)?;
        let chosen = audit.checks.under(&data.profile)?;
        let workers = Workers::start(audit.threads.map(std::num::NonZero::get))?;
        let plan =
            Plan { sketch: true, keep_readings: true, ..checks::plan(&data.profile, &chosen) };
        let requirement = audit.requires.resolved()?;
        spare(&audit.writes, &[], &[data.files.clone(), audit.baseline.clone()].concat())?;
        audit.writes.iter().try_for_each(|path| no_recording(path))?;
        let rest = Rest { short: request.rest, long: 10 * request.rest, late: request.late };
        let mut watch = Self {
            folder,
            plan,
            checks: chosen,
            requirement,
            workers,
            files: Files::new(rest),
            kept: None,
            refused: Vec::new(),
            learning: data.profile.declared.rig.is_none().then(Learning::default),
            last: Last::default(),
            around: Around::default(),
            texts: Texts::Recordings,
            data,
            request,
        };
        watch.resume()?;
        Ok(watch)
    }

    /// Takes up what an earlier run has judged: what has not changed since is done.
    fn resume(&mut self) -> Result<(), AppError> {
        let Some(path) = &self.request.resume else { return Ok(()) };
        let stored = store::read(std::slice::from_ref(path))?;
        let kept = Kept::resumed(&stored, &self.plan, &self.folder)?;
        for file in kept.files.all() {
            let path = kept.files.path(file);
            if let Some(seen) = Seen::of(&path).filter(|seen| seen.bytes == file.bytes) {
                self.files.done(&path, seen);
            }
        }
        self.data.profile.declared.rig = Some(Arc::clone(&kept.rig));
        (self.learning, self.kept) = (None, Some(kept));
        Ok(())
    }

    /// Episodes that are kept.
    pub fn episodes(&self) -> usize {
        self.kept.as_ref().map_or(0, |kept| kept.episodes.len())
    }

    /// The rig, once an episode has shown it.
    pub(crate) fn rig(&self) -> Option<&Rig> {
        self.kept.as_ref().map(|kept| kept.rig.as_ref())
    }

    /// A file that is waited for.
    pub(crate) fn waiting(&self) -> Option<&Path> {
        self.files.waiting().next()
    }

    /// How many files are waited for.
    pub(crate) fn waiting_files(&self) -> usize {
        self.files.waiting().count()
    }

    /// The folder.
    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    /// Looks through the whole folder: notices can be lost, and some file systems give none.
    ///
    /// # Errors
    /// If the folder is gone.
    pub fn scan(&mut self, now: Duration) -> Result<Vec<News>, AppError> {
        let (found, texts) = scan(&self.folder)?;
        self.texts = texts;
        for (path, seen) in &found {
            self.see(now, path, *seen, false);
        }
        let gone: Vec<PathBuf> = self
            .files
            .waiting()
            .filter(|path| Seen::of(path).is_none())
            .map(Path::to_owned)
            .collect();
        Ok(gone.into_iter().filter_map(|path| self.gone(path)).collect())
    }

    /// Something was noticed of a file: `closed` if its writer closed it, or gave it this name.
    pub fn noticed(&mut self, now: Duration, path: &Path, closed: bool) -> Option<News> {
        if !is_recording(&self.folder, path, self.texts) {
            return None;
        }
        match Seen::of(path) {
            Some(seen) => {
                self.see(now, path, seen, closed);
                None
            }
            None => self.gone(path.to_owned()),
        }
    }

    pub(super) fn gone(&mut self, path: PathBuf) -> Option<News> {
        self.files.gone(&path).then_some(News::Vanished(path))
    }

    fn see(&mut self, now: Duration, path: &Path, seen: Seen, closed: bool) {
        if !self.files.is_done(path, seen) && self.was_moved(path, seen) {
            self.files.done(path, seen);
            return;
        }
        self.files.found(now, path, seen, seen.age(), closed);
    }

    /// Whether it is a file that was judged under another name: then it has this one from now on.
    fn was_moved(&mut self, path: &Path, seen: Seen) -> bool {
        self.kept.as_mut().is_some_and(|kept| kept.files.was_moved(path, seen))
    }

    /// Whether more is due at once.
    pub fn busy(&self, now: Duration) -> bool {
        !self.files.due(now).is_empty()
    }

    /// Looks at some of what is due, and gives what is new.
    ///
    /// # Errors
    /// If what was measured cannot be kept.
    pub fn step(&mut self, now: Duration) -> Result<Vec<News>, AppError> {
        let mut news = Vec::new();
        let mut due = self.files.due(now);
        if self.kept.is_none() {
            // One shows the rig, or all that lie there already.
            if !self.survey(&due) {
                due.truncate(1);
            }
        }
        due.truncate(TOGETHER);
        if !due.is_empty() {
            self.learn(&due, &mut news)?;
        }
        let nothing = Grown::default();
        let (kept, plan) = (self.kept.as_ref(), &self.plan);
        let declared = self.declared();
        let from = |due: &Due| self.from(kept, due).unwrap_or_else(|| nothing.clone());
        let job = |due: &Due| take(due, &from(due), &declared, plan);
        let taken = self.workers.map(&due, job);
        for (due, taken) in due.into_iter().zip(taken) {
            self.enter(now, &due, taken, &mut news)?;
        }
        if news.iter().any(|one| matches!(one, News::Episode(_))) {
            self.learn(&[], &mut news)?;
        }
        news.extend(self.files.late(now).into_iter().map(News::Unfinished));
        Ok(news)
    }

    /// The rig that is known goes before what a file by itself would show.
    pub(super) fn declared(&self) -> Declared {
        let rig = self.kept.as_ref().map(|kept| Arc::clone(&kept.rig));
        let declared = self.data.profile.declared.clone();
        Declared { rig: rig.or(declared.rig.clone()), ..declared }
    }

    /// How far a file was taken.
    fn from(&self, kept: Option<&Kept>, due: &Due) -> Option<Grown> {
        let kept = kept?;
        let file = kept.files.find(&due.path)?;
        match file.grown() {
            Some(grown) if grown.mark.bytes <= due.seen.bytes => Some(grown.clone()),
            // What a measurements file knows of a file that has grown since are its ids.
            _ if self.request.resume.is_some() && file.bytes < due.seen.bytes => {
                let known = kept.ids_of(&due.path).map(|id| (id.to_owned(), u64::MAX)).collect();
                Some(Grown { known, ..Grown::default() })
            }
            _ => None,
        }
    }
}

/// Refuses to write over a recording: which ones there will be is not known yet.
fn no_recording(path: &Path) -> Result<(), AppError> {
    let folder = path.parent().unwrap_or(path);
    let recording = is_recording(folder, path, Texts::Recordings);
    let foreign = || !matches!(look(path, Mark::default(), true), Look::Own | Look::Gone);
    if recording && foreign() {
        let what = format!("{} is there and no file of this tool", path.display());
        return Err(AppError::input(what).with_hint("write to another file"));
    }
    Ok(())
}
