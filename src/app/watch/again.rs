//! Measures episodes again on a rig that more of them have shown.

use std::path::PathBuf;
use std::sync::Arc;

use super::kept::Kept;
use super::learning::Learning;
use super::news::News;
use super::recent::Last;
use super::session::Watch;
use super::take::read;
use crate::app::AppError;
use crate::engine::Landed;
use crate::model::Rig;
use crate::source::Declared;

/// Files that are read at a time.
const TOGETHER: usize = 16;

/// What is measured again.
pub(super) struct Job {
    /// Number of the file.
    pub number: u32,
    /// What to read.
    pub path: PathBuf,
    /// Rows of the file before it.
    pub rows_before: u64,
    /// The episodes of it that count.
    pub ids: Vec<String>,
}

impl Watch {
    /// Measures all of this on a rig; none where it cannot be read any more. `see` is shown each
    /// episode.
    pub(super) fn measured_again(
        &self,
        rig: &Arc<Rig>,
        jobs: &[Job],
        see: &mut dyn FnMut(Landed),
    ) -> Result<Option<Kept>, AppError> {
        let Some(kept) = &self.kept else { return Ok(None) };
        let mut new = kept.on(Arc::clone(rig), &self.plan)?;
        let declared =
            Declared { rig: Some(Arc::clone(rig)), ..self.data.profile.declared.clone() };
        for some in jobs.chunks(TOGETHER) {
            let all = self.workers.map(some, |job| read(&job.path, &declared, &self.plan));
            for (job, read) in some.iter().zip(all) {
                let Ok(mut read) = read else { return Ok(None) };
                read.episodes.retain(|one| job.ids.contains(&one.card.key.id));
                if read.episodes.len() != job.ids.len() {
                    return Ok(None);
                }
                for one in &mut read.episodes {
                    let rows = &mut one.card.key.rows;
                    rows.start += job.rows_before;
                    rows.end += job.rows_before;
                }
                new.put(job.number, &mut read.episodes)?;
                read.episodes.into_iter().for_each(&mut *see);
            }
        }
        Ok(Some(new))
    }

    /// The first episodes, measured again on the rig that they show together.
    pub(super) fn measure_first_again(
        &mut self,
        rig: &Arc<Rig>,
        learning: &Learning,
        news: &mut Vec<News>,
    ) -> Result<(), AppError> {
        let jobs = learning.parts.iter().map(|part| Job {
            number: part.file,
            path: part.part.path().to_owned(),
            rows_before: part.part.rows_before,
            ids: part.episodes.iter().map(|(id, _)| id.clone()).collect(),
        });
        let jobs: Vec<Job> = jobs.collect();
        let mut cards = Vec::new();
        let Some(new) = self.measured_again(rig, &jobs, &mut |one| cards.push(one.card))? else {
            return Ok(());
        };
        let mut before = learning.parts.iter().flat_map(|part| &part.episodes);
        let mut last = Last::default();
        // What these episodes show together was reported, or is with the next one.
        for card in cards {
            let id = card.key.id.clone();
            let (card, _) = last.add(card, &self.plan.limits);
            if let Some((_, was)) = before.next().filter(|(_, was)| *was != card.verdict) {
                news.push(News::Rejudged(id, *was, card.verdict));
            }
        }
        (self.kept, self.last) = (Some(new), last);
        Ok(())
    }
}
