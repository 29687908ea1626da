//! A dataset on disk.

use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use super::columns::{Columns, cast};
use super::cut::{Shard, cut};
use super::declared::Declared;
use super::discover::discover;
use super::error::SourceError;
use super::extras::ExtraColumns;
use super::footers::Footers;
use super::hash::sha256;
use super::index::{FileIndex, NO_ROWS, index_file};
use super::plan::{Plan, plan};
use super::read::Assembler;
use super::robust::typical_step;
use super::scale::Scale;
use super::setup::Setup;
use super::shape::ColumnPath;
use super::survey::survey;
use super::table::Table;
use super::wanted::Wanted;
use super::widths::Widths;
use super::{Input, RoleChoice, Source, clock, rig, scale, urdf};
use crate::model::{Episode, EpisodeIndex, Extra, Rig, Unread, count};

/// Runs jobs `0..n`, each once, in any order, on as many threads as the caller likes, and returns
/// when all are done. This module has no threads of its own: whoever opens a dataset lends them.
pub type RunJobs<'a> = &'a dyn Fn(usize, &(dyn Fn(usize) + Sync));

/// Runs jobs one after the other, for callers without threads.
pub fn one_by_one(jobs: usize, job: &(dyn Fn(usize) + Sync)) {
    (0..jobs).for_each(job);
}

/// A dataset of Parquet and Arrow files.
#[derive(Debug)]
pub struct Dataset {
    pub(super) rig: Arc<Rig>,
    pub(super) setup: Setup,
    pub(super) wanted: Vec<ColumnPath>,
    pub(super) plan: Plan,
    pub(super) inputs: Vec<Input>,
    pub(super) footers: Footers,
    extras: ExtraColumns,
    shards: Vec<Shard>,
    unread: Vec<Unread>,
}

impl Dataset {
    /// Finds the tables, casts the roles, indexes every file (footers, and episode columns where
    /// statistics do not settle them), cuts shards and surveys a few episodes.
    ///
    /// The indexing of files and the survey go through `jobs`.
    ///
    /// # Errors
    /// If nothing is there, nothing can be read, or the roles cannot be cast; see [`SourceError`].
    /// A bad file among good ones is no error but [`Source::unread`].
    pub fn open(
        paths: &[String],
        declared: &Declared,
        jobs: RunJobs<'_>,
    ) -> Result<Self, SourceError> {
        let found = discover(paths)?;
        let mut unread = found.unread;
        let mut columns = roles(&found.files, declared, &mut unread)?;
        let (mut files, mut indexes) = index(found.files, &columns, jobs, &mut unread)?;

        let widths = Widths::most_common(&indexes, &columns, declared.joints.len());
        drop_misfits(&mut files, &mut indexes, &widths, &columns, &mut unread);
        let mut joints = rig::joints(&columns, declared, &widths.state)?;
        if joints.is_empty() {
            let path = files.into_iter().next().unwrap_or_default();
            return Err(SourceError::AllUnread {
                files: indexes.len(),
                path,
                reason: nothing_in(&columns),
            });
        }
        let known = declared.rig.as_deref();
        let mut notices = match (known, &declared.urdf) {
            (Some(known), _) => {
                joints = rig::known_joints(&joints, known)?;
                known.notices.clone()
            }
            (None, Some(path)) => urdf::add(&mut joints, declared, path)?,
            (None, None) => Vec::new(),
        };
        note_nulls(&files, &indexes, &mut unread);
        let (plan, inputs) = plan(files.into_iter().zip(indexes), &columns.episode);

        describe(&mut columns, &widths);
        let wider = joints.len().max(widths.action.iter().sum());
        let stated = columns.time.as_ref().and_then(|t| t.per_second);
        let mut setup = Setup {
            joints: joints.len(),
            factors: vec![1.0; wider],
            offsets: Vec::new(),
            per_second: stated.unwrap_or(1.0),
            rate_hz: declared.rate_hz.or(known.and_then(|rig| rig.rate_hz)).unwrap_or(1.0),
            columns,
            widths,
            more: Wanted::default(),
        };
        // A known rig is taken as it is: nothing is learnt from the data.
        let samples =
            if known.is_some() { Vec::new() } else { survey(&plan, &inputs, &setup, jobs) };
        let unit = known
            .map_or_else(|| rig::unit(&setup.columns, declared, &joints, &samples), |rig| rig.unit);
        let scales: Vec<Scale> = joints.iter().map(|joint| Scale::of(joint, unit)).collect();
        if known.is_none() {
            notices.extend(scale::notice(&joints, unit));
            rig::learn(&mut joints, declared, unit, &scales, &samples);
        }
        // Without a stated unit the samples' stamps are still in ticks.
        let step = typical_step(samples.iter().map(|s| s.time.as_slice()));
        let per_second = match (&setup.columns.time, known) {
            (Some(time), None) => clock::ticks(time, step, declared.rate_hz),
            (Some(time), Some(known)) => clock::known_ticks(time, known.clock)?,
            (None, _) => 1.0,
        };
        let step = step.map(|step| step * setup.per_second / per_second);
        let clock = match known {
            Some(known) => (known.clock, known.period_s),
            None => rig::clock(&setup.columns, declared, step, per_second),
        };
        state_unit(&mut setup.columns, per_second);
        for (factor, scale) in setup.factors.iter_mut().zip(&scales) {
            *factor = scale.factor;
        }
        if scales.iter().any(|scale| scale.offset != 0.0) {
            setup.offsets = scales.iter().map(|scale| scale.offset as f32).collect();
        }
        setup.per_second = per_second;

        let mut choices = std::mem::take(&mut setup.columns.choices);
        let mut extras = ExtraColumns::find(&setup.columns, declared, &joints, &mut choices);
        if !extras.is_empty()
            && let (Some(file), Some(input)) = (plan.files.first(), inputs.first())
            && let Ok(table) = file.table(&input.path, None)
        {
            let period_s = clock.1;
            extras.probe(&table, file.rows, &joints, &setup.factors, period_s, &mut choices);
        }
        setup.columns.choices = choices;
        let mut rig = match known {
            Some(known) => known.clone(),
            None => rig::assemble(joints, declared, unit, clock, notices),
        };
        rig.extras = extras.kinds();
        let rig = Arc::new(rig);
        let shards = cut(&plan);
        let wanted = setup.wanted(true);
        let footers = Footers::default();
        Ok(Self { rig, setup, wanted, plan, inputs, footers, extras, shards, unread })
    }

    /// Has optional columns of these kinds read as well, where the table has them.
    #[must_use]
    pub fn reading(mut self, kinds: &[Extra]) -> Self {
        self.setup.more = Wanted::of(&self.extras, kinds);
        self.wanted = self.setup.wanted(true);
        self
    }
}

impl Dataset {
    /// Hashes the content of every input, by way of `jobs`; one that cannot be read stays without.
    #[must_use]
    pub fn hashed(mut self, jobs: RunJobs<'_>) -> Self {
        let slots: Vec<OnceLock<String>> = self.inputs.iter().map(|_| OnceLock::new()).collect();
        jobs(slots.len(), &|number| {
            if let Ok(hash) = sha256(&self.inputs[number].path) {
                let _ = slots[number].set(hash);
            }
        });
        for (input, slot) in self.inputs.iter_mut().zip(slots) {
            input.sha256 = slot.into_inner();
        }
        self
    }
}

/// Says which columns hold nothing, and the way out.
fn nothing_in(columns: &Columns) -> String {
    let state = columns.choices.iter().find(|choice| choice.role == "state");
    let names = state.map(|choice| choice.columns.join("\", \"")).unwrap_or_default();
    format!(
        "the follower's column \"{names}\" is null or empty in every row; declare another one in \
         the profile: [columns] state = [\"…\"]"
    )
}

/// Says which unit the stamps have, and how that was decided.
fn state_unit(columns: &mut Columns, per_second: f64) {
    let Some(time) = &columns.time else { return };
    let said = format!("; {}: {}", time.unit_why, clock::unit_word(per_second));
    for choice in columns.choices.iter_mut().filter(|c| c.role == "time") {
        choice.why.push_str(&said);
    }
}

/// Casts the roles on the first file that has columns for them. Files that cannot be opened are
/// noted when they are indexed.
fn roles(
    files: &[PathBuf],
    declared: &Declared,
    unread: &mut Vec<Unread>,
) -> Result<Columns, SourceError> {
    let mut first_error = None;
    for file in files {
        let Ok(table) = Table::open(file) else { continue };
        match cast(file, &table.written_schema(), declared) {
            Ok(columns) => return Ok(columns),
            Err(e @ (SourceError::MissingRole { .. } | SourceError::NoSuchColumn { .. })) => {
                // Another table may lie beside the recordings; the first good one decides.
                first_error.get_or_insert(e);
            }
            Err(e) => return Err(e),
        }
    }
    Err(first_error.unwrap_or_else(|| {
        let refused = files.iter().filter_map(|path| {
            let reason = Table::open(path).err()?;
            Some(Unread { path: path.clone(), reason })
        });
        unread.extend(refused);
        all_unread(unread)
    }))
}

/// Indexes every file; those that cannot be are noted.
fn index(
    files: Vec<PathBuf>,
    columns: &Columns,
    jobs: RunJobs<'_>,
    unread: &mut Vec<Unread>,
) -> Result<(Vec<PathBuf>, Vec<FileIndex>), SourceError> {
    let slots: Vec<OnceLock<Result<FileIndex, String>>> =
        files.iter().map(|_| OnceLock::new()).collect();
    jobs(files.len(), &|number| {
        let _ = slots[number].set(index_file(&files[number], columns));
    });
    let mut kept = (Vec::with_capacity(files.len()), Vec::with_capacity(files.len()));
    for (path, slot) in files.into_iter().zip(slots) {
        match slot.into_inner() {
            Some(Ok(index)) => {
                kept.0.push(path);
                kept.1.push(index);
            }
            Some(Err(reason)) => unread.push(Unread { path, reason }),
            None => unread.push(Unread { path, reason: "was not indexed".to_string() }),
        }
    }
    if kept.1.iter().all(|index| index.ids.is_empty()) {
        note_nulls(&kept.0, &kept.1, unread);
        return Err(all_unread(unread));
    }
    Ok(kept)
}

/// Not a single file is of use.
fn all_unread(unread: &[Unread]) -> SourceError {
    let first = unread.iter().find(|u| u.reason != NO_ROWS).or(unread.first());
    let (path, reason) = match first {
        Some(first) => (first.path.clone(), first.reason.clone()),
        None => (PathBuf::new(), "no file".to_string()),
    };
    if reason == NO_ROWS {
        let what = "holds no rows: there is nothing to check".to_string();
        return SourceError::NothingFound { path: path.display().to_string(), what };
    }
    SourceError::AllUnread { files: unread.len(), path, reason }
}

/// Takes files out whose vectors have another width than the dataset's.
fn drop_misfits(
    files: &mut Vec<PathBuf>,
    indexes: &mut Vec<FileIndex>,
    widths: &Widths,
    columns: &Columns,
    unread: &mut Vec<Unread>,
) {
    let objections: Vec<_> = indexes.iter().map(|i| widths.objection(i, columns)).collect();
    if objections.iter().all(Option::is_none) {
        return;
    }
    let mut good = objections.iter().map(Option::is_none);
    indexes.retain(|_| good.next().unwrap_or(true));
    let mut kept = Vec::with_capacity(files.len());
    for (path, objection) in std::mem::take(files).into_iter().zip(objections) {
        match objection {
            Some(reason) => unread.push(Unread { path, reason }),
            None => kept.push(path),
        }
    }
    *files = kept;
}

/// Rows without an episode belong to nothing and are left out, with a word about it.
fn note_nulls(files: &[PathBuf], indexes: &[FileIndex], unread: &mut Vec<Unread>) {
    for (path, index) in files.iter().zip(indexes).filter(|(_, i)| i.null_rows > 0) {
        let reason = match index.null_rows {
            1 => "1 row has no episode id and is left out".to_owned(),
            many => format!("{many} rows have no episode id and are left out"),
        };
        unread.push(Unread { path: path.clone(), reason });
    }
}

/// Says of each vector what it is made of, now that the widths are known.
fn describe(columns: &mut Columns, widths: &Widths) {
    let state = columns.state.words(&widths.state);
    let action = columns.action.as_ref().map(|a| a.words(&widths.action));
    let (joints, commanded) = (widths.joints(), widths.action.iter().sum::<usize>());
    for choice in &mut columns.choices {
        match choice.role {
            "state" => choice.shape.clone_from(&state),
            "action" => {
                if let Some(action) = &action {
                    choice.shape.clone_from(action);
                    if commanded != joints {
                        let said = format!("; the follower has {}", count(joints, "joint"));
                        choice.why.push_str(&said);
                    }
                }
            }
            _ => {}
        }
    }
}

impl Source for Dataset {
    fn rig(&self) -> &Arc<Rig> {
        &self.rig
    }

    fn roles(&self) -> &[RoleChoice] {
        &self.setup.columns.choices
    }

    fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    fn unread(&self) -> &[Unread] {
        &self.unread
    }

    fn episodes(&self) -> u64 {
        self.plan.episodes.len() as u64
    }

    fn shards(&self) -> usize {
        self.shards.len()
    }

    fn episode_id(&self, index: EpisodeIndex) -> Option<&str> {
        self.plan
            .episodes
            .get(usize::try_from(index.get()).ok()?)
            .map(|episode| episode.id.as_str())
    }

    fn shard_of(&self, index: EpisodeIndex) -> Option<usize> {
        let index = u32::try_from(index.get()).ok()?;
        // Shards hold episodes in the order of the dataset.
        let shard = self.shards.partition_point(|shard| shard.episodes.end <= index);
        self.shards.get(shard).filter(|found| found.episodes.contains(&index)).map(|_| shard)
    }

    fn read(&self, shard: usize, visit: &mut dyn FnMut(&Episode)) -> Vec<Unread> {
        let shard = &self.shards[shard];
        Assembler::new(self, shard, visit).read(shard)
    }

    fn read_only(
        &self,
        shard: usize,
        wanted: &[EpisodeIndex],
        visit: &mut dyn FnMut(&Episode),
    ) -> Vec<Unread> {
        let shard = &self.shards[shard];
        Assembler::new(self, shard, visit).only(wanted).read(shard)
    }
}
