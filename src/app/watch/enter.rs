//! What came of looking at files: episodes are kept and judged with the last ones, and the rig is
//! learnt while there are few.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use super::files::{Certain, Due};
use super::kept::Kept;
use super::kept_files::KeptFiles;
use super::learning::{ENOUGH, First, difference, surveyed};
use super::news::{Landing, News};
use super::recent::Change;
use super::session::Watch;
use super::take::{Episodes, Taken};
use crate::app::AppError;
use crate::engine::Landed;
use crate::model::{Unread, UnreadKind};
use crate::source::{Dataset, Source as _};

impl Watch {
    /// Learns the rig from several files at once, as an audit does; whether that was done.
    pub(super) fn survey(&mut self, due: &[Due]) -> bool {
        let paths: Vec<&Path> = whole(due).collect();
        if paths.len() < 2 || self.data.profile.declared.rig.is_some() {
            return paths.len() > 1;
        }
        let declared = &self.data.profile.declared;
        let Ok(source) = self.workers.run(|| Dataset::open(&paths, declared)) else { return false };
        let (rig, roles) = (Arc::clone(source.rig()), source.roles().to_vec());
        match Kept::new(rig, roles, &self.plan, KeptFiles::new(&self.folder)) {
            Ok(kept) => self.kept = Some(kept),
            Err(_) => return false,
        }
        if source.episodes() >= ENOUGH as u64 {
            self.learning = None;
        }
        true
    }

    /// Enters what came of looking at a file.
    pub(super) fn enter(
        &mut self,
        now: Duration,
        due: &Due,
        taken: Taken,
        news: &mut Vec<News>,
    ) -> Result<(), AppError> {
        match taken {
            Taken::NotYet(why) => self.files.wait(now, due, why),
            Taken::Own => self.files.done(&due.path, due.seen),
            Taken::Gone => news.extend(self.gone(due.path.clone())),
            Taken::Refused(what, hint) => {
                self.files.done(&due.path, due.seen);
                let line = hint.as_ref().map_or_else(|| what.clone(), |h| format!("{what}; {h}"));
                self.refused.retain(|file| file.path != due.path);
                let (path, kind) = (due.path.clone(), UnreadKind::Unreadable);
                self.refused.push(Unread { path, reason: line, kind });
                news.push(News::Refused(due.path.clone(), what, hint));
            }
            Taken::Episodes(episodes) => self.keep(now, due, *episodes, news)?,
        }
        Ok(())
    }

    fn keep(
        &mut self,
        now: Duration,
        due: &Due,
        mut taken: Episodes,
        news: &mut Vec<News>,
    ) -> Result<(), AppError> {
        if self.kept.is_none() {
            let (rig, roles) = (Arc::clone(&taken.rig), taken.roles.clone());
            self.kept = Some(Kept::new(rig, roles, &self.plan, KeptFiles::new(&self.folder))?);
        }
        let Some(kept) = &mut self.kept else { return Ok(()) };
        self.refused.retain(|file| file.path != due.path);
        let judged = |one: &Landed| kept.ids_of(&due.path).any(|id| id == one.card.key.id);
        if let Some(one) = taken.landed.iter().find(|one| !taken.fresh && judged(one)) {
            news.push(News::Interleaved(one.card.key.id.clone(), due.path.clone()));
            kept.interleaved(&due.path);
            self.files.again(&due.path);
            return Ok(());
        }
        let again = taken.fresh && kept.ids_of(&due.path).next().is_some();
        kept.add(&due.path, due.seen, &mut taken)?;
        let number = kept.files.place(&due.path).unwrap_or_default();
        if taken.grown.is_some() {
            self.files.wait(now, due, "its last episode has not ended".to_owned());
        } else {
            self.files.done(&due.path, due.seen);
            kept.files.seen(number, due.seen);
        }
        let mut episodes = Vec::new();
        for one in taken.landed {
            let assessed = !one.card.readings.is_empty();
            let (card, changes) = self.last.add(one.card, &self.plan.limits);
            episodes.push((card.key.id.clone(), card.verdict));
            let path = due.path.clone();
            let id = episode_name(kept, number, &card.key.id, &self.folder, &path);
            news.push(News::Episode(Box::new(Landing { id, card, path, again, assessed })));
            news.extend(changes.into_iter().map(|change| match change {
                Change::Stop(finding) => News::Stop(finding),
                Change::Notice(finding) => News::Notice(finding),
                Change::Cleared(check, joint) => News::Cleared(check, joint),
            }));
        }
        if let Some(learning) = &mut self.learning {
            // Written again, it is not what it was.
            learning.parts.retain(|first| !(again && first.file == number));
            learning.parts.push(First { file: number, part: taken.part, episodes });
        }
        Ok(())
    }

    /// Looks at the rig again with all episodes so far and files that are due, while there are few.
    /// Where they show another one, the episodes are measured again on it.
    pub(super) fn learn(&mut self, due: &[Due], news: &mut Vec<News>) -> Result<(), AppError> {
        let Some(learning) = self.learning.take() else { return Ok(()) };
        let Some(before) = self.kept.as_ref().map(|kept| Arc::clone(&kept.rig)) else {
            self.learning = Some(learning);
            return Ok(());
        };
        // A file that is gone shows nothing more.
        let there = learning.parts.iter().all(|first| first.part.path().exists());
        let mut paths = learning.paths();
        paths.extend(whole(due));
        let declared = &self.data.profile.declared;
        let rig = || there.then(|| surveyed(&paths, declared, &before)).flatten();
        if let Some(rig) = self.workers.run(rig) {
            if let Some(how) = difference(&before, &rig) {
                news.push(News::Rig(how, learning.episodes()));
            }
            self.measure_first_again(&rig, &learning, news)?;
        }
        if there && learning.episodes() < ENOUGH {
            self.learning = Some(learning);
        }
        Ok(())
    }
}

/// What a person calls an episode: its id, and its file where another one has the same.
fn episode_name(kept: &Kept, number: u32, id: &str, folder: &Path, path: &Path) -> String {
    if kept.episodes.iter().any(|one| one.file != number && kept.id(one) == id) {
        let below = path.strip_prefix(folder).unwrap_or(path);
        return format!("{id} ({})", below.display());
    }
    id.to_owned()
}

/// Files that nobody writes any more.
fn whole(due: &[Due]) -> impl Iterator<Item = &Path> {
    due.iter().filter(|due| due.certain >= Certain::Closed).map(|due| due.path.as_path())
}
