//! The report of what was watched: a measurements file, judged as `judge` does.

use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use super::again::Job;
use super::kept::{Around, Kept, KeptEpisode};
use super::learning::difference;
use super::news::News;
use super::reread::Reread;
use super::session::Watch;
use crate::app::judge::{Judged, Judging, judged};
use crate::app::{AppError, baseline};
use crate::model::{CheckSpec, Skipped, Unread, UnreadKind};
use crate::source::{Dataset, IdsFrom, Input, Source as _, names};
use crate::store::{self, About, Placed, Writer};

/// A report of what was watched, and where its episodes can be read again.
#[derive(Debug)]
pub(crate) struct Watched {
    pub judged: Judged,
    pub source: Reread,
}

impl Watch {
    /// Ends the session: looks at the rig as all episodes show it, and measures them again where
    /// that is another one than the first showed. Nothing of that where episodes are gone or were
    /// taken over from an earlier run.
    ///
    /// # Errors
    /// If what was measured cannot be kept.
    pub(crate) fn end(&mut self) -> Result<Vec<News>, AppError> {
        let mut news = Vec::new();
        let Some(kept) = &self.kept else { return Ok(news) };
        let folder = std::slice::from_ref(&self.folder);
        let declared = &self.data.profile.declared;
        let Ok(source) = self.workers.run(|| Dataset::open(folder, declared)) else {
            return Ok(news);
        };
        let source = if self.request.audit.hash_inputs {
            self.workers.run(|| source.hashed())
        } else {
            source
        };
        let hashes = source.inputs().iter().map(|i| (i.path.clone(), i.sha256.clone())).collect();
        self.around = Around { skipped: source.skipped().clone(), hashes };
        let files = kept.files.all();
        let there = |file| kept.files.path(file).exists();
        let whole = files.iter().all(|file| file.grown().is_none() && there(file));
        let before = Arc::clone(&kept.rig);
        if self.request.resume.is_some() || !whole || **source.rig() == *before {
            return Ok(news);
        }
        let mut ids = vec![Vec::new(); files.len()];
        for one in &kept.episodes {
            ids[one.file as usize].push(kept.id(one).to_owned());
        }
        let jobs = (0..).zip(files.iter().zip(ids)).map(|(number, (file, ids))| {
            let path = kept.files.path(file);
            Job { number, path, rows_before: 0, ids }
        });
        let jobs: Vec<Job> = jobs.collect();
        let Some(mut new) = self.measured_again(source.rig(), &jobs, &mut |_| ())? else {
            return Ok(news);
        };
        if let Some(how) = difference(&before, source.rig()) {
            news.push(News::Rig(how, new.episodes.len()));
        }
        new.roles = source.roles().to_vec();
        self.kept = Some(new);
        Ok(news)
    }

    /// Writes the measurements file of all episodes so far. Gives the ids that two files have.
    ///
    /// # Errors
    /// If there is no episode, or the file cannot be written.
    pub(crate) fn write(
        &mut self,
        now: Duration,
        out: Box<dyn Write + Send + '_>,
    ) -> Result<Reread, AppError> {
        let unread = self.unread(now);
        let Some(kept) = self.kept.as_mut().filter(|kept| !kept.episodes.is_empty()) else {
            return Err(nothing(&self.folder, &unread));
        };
        let (mut inputs, episodes) = kept.in_order();
        for input in &mut inputs {
            let mut known = self.around.hashes.iter();
            let hash = known.find(|(path, _)| *path == input.path);
            input.sha256 = hash.and_then(|(_, hash)| hash.clone());
        }
        let placed = placed(&episodes, &inputs, &self.folder, kept);
        let about = About {
            rig: Arc::clone(&kept.rig),
            roles: kept.roles.clone(),
            inputs: inputs.clone(),
            skipped: self.around.skipped.clone(),
            roots: vec![self.folder.clone()],
            checks: self.plan.checks.iter().map(|check| check.spec()).collect(),
            params: self.plan.params.clone(),
        };
        let mut writer = Writer::new(out, about)?;
        kept.spool.write_into(&mut writer, &placed)?;
        writer.finish(&unread)?;
        let first_rows = episodes.iter().map(|one| (one.file, one.first_row));
        let places = first_rows.zip(placed).map(|((file, row), one)| (file, row, one.id)).collect();
        Ok(Reread {
            rig: Arc::clone(&kept.rig),
            roles: kept.roles.clone(),
            paths: inputs.iter().map(|input| input.path.clone()).collect(),
            inputs,
            skipped: Skipped::default(),
            declared: self.data.profile.declared.clone(),
            places,
        })
    }

    /// Judges the measurements file that was written.
    ///
    /// # Errors
    /// If it cannot be read.
    pub(crate) fn judged(&self, path: &Path, source: Reread) -> Result<Watched, AppError> {
        let stored = store::read(&[path.to_owned()])?;
        let audit = &self.request.audit;
        let baseline = baseline::open(&audit.baseline, stored.rig())?;
        let mut plan = self.plan.clone();
        plan.keep_readings = audit.keep_readings;
        crate::app::required::run_all(&self.requirement, &mut plan);
        let checks: Vec<&'static CheckSpec> = self.checks.clone();
        let (requires, requirement) = (&audit.requires, self.requirement.clone());
        let today = audit.today;
        let how = Judging { plan, checks, baseline, requires, requirement, today };
        let judged = judged(stored, self.data.profile.clone(), how, &self.workers, &mut |_| ())?;
        Ok(Watched { judged, source })
    }

    /// What could not be judged.
    fn unread(&self, now: Duration) -> Vec<Unread> {
        let mut all = self.refused.clone();
        let files = self.kept.iter().flat_map(|kept| kept.files.all());
        all.extend(files.flat_map(|file| file.unread().to_vec()));
        let unfinished = self.files.unfinished(now).into_iter().map(|late| {
            let why = if late.why.is_empty() { "it is still being written" } else { &late.why };
            let reason = format!("unfinished, not judged: {why}");
            Unread { path: late.path, reason, kind: UnreadKind::Unreadable }
        });
        all.extend(unfinished);
        all.sort_by(|a, b| a.path.cmp(&b.path));
        all
    }
}

/// Where each episode goes, under the name that an audit of the folder gives it.
fn placed(episodes: &[KeptEpisode], inputs: &[Input], folder: &Path, kept: &Kept) -> Vec<Placed> {
    let mut ids: Vec<String> = episodes.iter().map(|one| kept.id(one).to_owned()).collect();
    let of_episode: Vec<u32> = episodes.iter().map(|one| one.file).collect();
    names(&mut ids, &of_episode, inputs, folder, &IdsFrom::of(&kept.roles));
    let source = |one: &KeptEpisode| crate::model::path_text(&inputs[one.file as usize].path);
    let place = |(one, id): (&KeptEpisode, String)| Placed {
        kept: one.kept(),
        id,
        input: one.file,
        source: source(one),
    };
    episodes.iter().zip(ids).map(place).collect()
}

fn nothing(folder: &Path, unread: &[Unread]) -> AppError {
    let folder = folder.display();
    match unread {
        [] => AppError::nothing(format!("{folder}: no episode landed")),
        [file, ..] => {
            let what = format!("{folder}: no episode could be judged");
            AppError::input(what).with_hint(format!("{}: {}", file.path.display(), file.reason))
        }
    }
}
