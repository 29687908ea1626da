//! A dataset on disk.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use rayon::prelude::*;

use crate::model::{Episode, EpisodeIndex, Extra, Rig, Skipped, Unread};
use crate::source::declared::Declared;
use crate::source::discover::hash::sha256;
use crate::source::error::SourceError;
use crate::source::format::kept::KeptFiles;
use crate::source::indexed::Indexed;
use crate::source::input::Input;
use crate::source::located::{Located, Passed};
use crate::source::resolved::Resolved;
use crate::source::role::RoleChoice;
use crate::source::roles::extras::ExtraColumns;
use crate::source::roles::leftover::leftover;
use crate::source::roles::shape::ColumnPath;
use crate::source::shard::cut::{Shard, cut};
use crate::source::shard::layout::Layout;
use crate::source::shard::plan::Plan;
use crate::source::shard::read::{Assembler, Readable};
use crate::source::shard::wanted::Wanted;
use crate::source::source_trait::Source;
use crate::source::surveyed::Surveyed;
use crate::source::unused_column::UnusedColumn;

/// A dataset of table files.
#[derive(Debug)]
pub struct Dataset {
    rig: Arc<Rig>,
    layout: Layout,
    wanted: Vec<ColumnPath>,
    plan: Plan,
    inputs: Vec<Input>,
    kept: KeptFiles,
    choices: Vec<RoleChoice>,
    extras: ExtraColumns,
    shards: Vec<Shard>,
    unread: Vec<Unread>,
    skipped: Skipped,
    roots: Vec<PathBuf>,
}

impl Dataset {
    /// Finds the tables, decides the roles, indexes every file (footers, and episode columns where
    /// statistics do not settle them), surveys a few episodes and cuts shards.
    ///
    /// Indexing and survey use all threads of the pool in which this is called.
    ///
    /// # Errors
    /// If nothing is there, nothing can be read, or the roles cannot be decided; see
    /// [`SourceError`]. A bad file among good ones is no error but [`Source::unread`].
    pub fn open<P: AsRef<Path>>(paths: &[P], declared: &Declared) -> Result<Self, SourceError> {
        let resolved = Resolved::of(Located::at(paths)?, declared)?;
        let indexed = Indexed::of(resolved, declared.joints.len())?;
        Ok(Surveyed::of(indexed, declared)?.into())
    }

    /// Has optional columns of these kinds read as well, where the table has them.
    #[must_use]
    pub fn reading(mut self, kinds: &[Extra]) -> Self {
        self.layout.more = Wanted::of(&self.extras, kinds);
        self.wanted = self.layout.wanted(true);
        self
    }

    /// Folders that were named, or in which what was named lies, in order.
    pub fn roots(&self) -> &[PathBuf] {
        &self.roots
    }

    /// Hashes the content of every input, on all threads of the pool in which this is called. An
    /// input that cannot be read has none.
    #[must_use]
    pub fn hashed(mut self) -> Self {
        self.inputs.par_iter_mut().for_each(|input| input.sha256 = sha256(&input.path).ok());
        self
    }
}

impl Dataset {
    /// Columns without a role, and why; what was declared of it decides what is used besides.
    pub fn unused(&self, declared: &Declared) -> Vec<UnusedColumn> {
        let also = declared.clutch.iter().chain(&declared.mode);
        let also: Vec<&str> = also.map(String::as_str).collect();
        leftover(&self.layout.columns.all, &self.choices, &also)
    }

    /// Where its rows are, and how they become frames.
    pub(in crate::source) fn stored(&self) -> (&Plan, &Layout) {
        (&self.plan, &self.layout)
    }

    fn readable(&self) -> Readable<'_> {
        Readable {
            rig: &self.rig,
            layout: &self.layout,
            wanted: &self.wanted,
            plan: &self.plan,
            inputs: &self.inputs,
            kept: &self.kept,
        }
    }
}

impl From<Surveyed> for Dataset {
    fn from(surveyed: Surveyed) -> Self {
        let Surveyed { rig, layout, extras, choices, plan, inputs, passed } = surveyed;
        let Passed { refused, mut skipped, roots } = passed;
        skipped.own.sort();
        let (shards, wanted) = (cut(&plan), layout.wanted(true));
        let unread = refused.into_iter().map(Unread::from).collect();
        let (rig, kept) = (Arc::new(rig), KeptFiles::default());
        Self {
            rig,
            layout,
            wanted,
            plan,
            inputs,
            kept,
            choices,
            extras,
            shards,
            unread,
            skipped,
            roots,
        }
    }
}

impl Source for Dataset {
    fn rig(&self) -> &Arc<Rig> {
        &self.rig
    }

    fn roles(&self) -> &[RoleChoice] {
        &self.choices
    }

    fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    fn unread(&self) -> &[Unread] {
        &self.unread
    }

    fn skipped(&self) -> &Skipped {
        &self.skipped
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
        Assembler::new(self.readable(), shard, visit).read(shard)
    }

    fn read_only(
        &self,
        shard: usize,
        wanted: &[EpisodeIndex],
        visit: &mut dyn FnMut(&Episode),
    ) -> Vec<Unread> {
        let shard = &self.shards[shard];
        Assembler::new(self.readable(), shard, visit).only(wanted).read(shard)
    }
}
