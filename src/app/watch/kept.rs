//! What is kept of the episodes that were judged: rows of the measurements file on disk, and where
//! each comes from.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::kept_files::{Ids, KeptFiles};
use super::take::{Episodes, Grown};
use crate::app::AppError;
use crate::engine::{self, Landed, Plan};
use crate::model::{CheckSpec, Rig, Skipped, Unread};
use crate::source::{Input, RoleChoice, Seen, natural_order};
use crate::store::{Spool, Stored, StoredColumns};

/// What of the folder is known only at the end: files that are no recordings, and hashes of inputs.
#[derive(Debug, Default)]
pub(super) struct Around {
    pub skipped: Skipped,
    pub hashes: Vec<(PathBuf, Option<String>)>,
}

/// An episode that was judged.
#[derive(Debug, Clone, Copy)]
pub(super) struct KeptEpisode {
    pub file: u32,
    /// Its place in the spool.
    kept: u32,
    pub first_row: u64,
    id: u32,
}

impl KeptEpisode {
    /// Its place in the spool.
    pub const fn kept(&self) -> usize {
        self.kept as usize
    }
}

/// All that is kept.
#[derive(Debug)]
pub(super) struct Kept {
    pub rig: Arc<Rig>,
    pub roles: Vec<RoleChoice>,
    pub spool: Spool,
    pub files: KeptFiles,
    pub episodes: Vec<KeptEpisode>,
    ids: Ids,
}

impl Kept {
    /// Begins with a rig, for files of a folder.
    pub fn new(
        rig: Arc<Rig>,
        roles: Vec<RoleChoice>,
        plan: &Plan,
        files: KeptFiles,
    ) -> Result<Self, AppError> {
        let spool = Spool::new(layout(&rig, plan))?;
        Ok(Self { rig, roles, spool, files, episodes: Vec::new(), ids: Ids::default() })
    }

    /// Goes on with what a measurements file holds.
    pub fn resumed(stored: &Stored, plan: &Plan, folder: &Path) -> Result<Self, AppError> {
        let (rig, roles) = (Arc::clone(stored.rig()), stored.roles().to_vec());
        let mut kept = Self::new(rig, roles, plan, KeptFiles::new(folder))?;
        let taken = stored.import(&mut kept.spool)?;
        for input in stored.inputs() {
            let of_file = |file: &&Unread| file.path == input.path;
            let unread = stored.unread().iter().filter(of_file).cloned().collect();
            let file = kept.files.put(&input.path, input.bytes, input.rows);
            kept.files.set(file, None, unread);
        }
        let known = kept.files.all().len();
        for (at, one) in taken.into_iter().enumerate().filter(|(_, t)| (t.input as usize) < known) {
            let (file, first_row, id) = (one.input, one.first_row, kept.ids.push(&one.id));
            kept.episodes.push(KeptEpisode { file, first_row, kept: at as u32, id });
        }
        Ok(kept)
    }

    /// The id of an episode.
    pub fn id(&self, episode: &KeptEpisode) -> &str {
        self.ids.get(episode.id)
    }

    /// Ids of the episodes that a file gave.
    pub fn ids_of<'a>(&'a self, path: &Path) -> impl Iterator<Item = &'a str> {
        let file = self.files.place(path);
        let all = file.map_or(&[][..], |_| self.episodes.as_slice());
        all.iter().filter(move |one| Some(one.file) == file).map(|one| self.id(one))
    }

    /// The episodes of a file are interleaved: what was taken of it is void once it has ended.
    pub fn interleaved(&mut self, path: &Path) {
        if let Some(number) = self.files.place(path) {
            let grown = Grown { whole: true, ..Grown::default() };
            let unread = self.files.find(path).map_or_else(Vec::new, |file| file.unread().to_vec());
            self.files.set(number, Some(grown), unread);
        }
    }

    /// Keeps what was taken of a file. What it gave before is given up where it was written again.
    pub fn add(&mut self, path: &Path, seen: Seen, taken: &mut Episodes) -> Result<(), AppError> {
        if let Some(number) = self.files.place(path).filter(|_| taken.fresh) {
            self.episodes.retain(|one| one.file != number);
        }
        let number = self.files.put(path, seen.bytes, taken.rows);
        let of_this = |unread: &Unread| Unread { path: path.to_owned(), ..unread.clone() };
        let unread = taken.unread.iter().map(of_this).collect();
        self.files.set(number, taken.grown.clone(), unread);
        for one in &mut taken.landed {
            one.card.key.rows.input = number;
        }
        self.push(&taken.landed)
    }

    fn push(&mut self, episodes: &[Landed]) -> Result<(), AppError> {
        let first = self.spool.episodes();
        self.spool.push(engine::rows(episodes, self.spool.layout())?)?;
        for (at, one) in episodes.iter().enumerate() {
            let rows = &one.card.key.rows;
            let (file, first_row, kept) = (rows.input, rows.start, (first + at) as u32);
            let id = self.ids.push(&one.card.key.id);
            self.episodes.push(KeptEpisode { file, kept, first_row, id });
        }
        Ok(())
    }

    /// The same files on another rig, on which every episode must be measured again.
    pub fn on(&self, rig: Arc<Rig>, plan: &Plan) -> Result<Self, AppError> {
        Self::new(rig, self.roles.clone(), plan, self.files.clone())
    }

    /// Puts episodes that were measured again to their file.
    pub fn put(&mut self, number: u32, episodes: &mut [Landed]) -> Result<(), AppError> {
        for one in &mut *episodes {
            one.card.key.rows.input = number;
        }
        self.push(episodes)
    }

    /// The files as inputs of a report, and the episodes, both in the order in which an audit of
    /// the folder has them. Episodes name their files by the new numbers.
    pub fn in_order(&self) -> (Vec<Input>, Vec<KeptEpisode>) {
        let files = self.files.all();
        let mut numbers: Vec<u32> = (0..files.len() as u32).collect();
        let path = |number: &u32| self.files.path(&files[*number as usize]);
        numbers.sort_by_cached_key(|number| natural_order(&path(number)));
        let mut rank = vec![0; numbers.len()];
        for (at, number) in numbers.iter().enumerate() {
            rank[*number as usize] = at as u32;
        }
        let input = |number: &u32| {
            let file = &files[*number as usize];
            Input { path: path(number), bytes: file.bytes, rows: file.rows, sha256: None }
        };
        let new = |one: &KeptEpisode| KeptEpisode { file: rank[one.file as usize], ..*one };
        let mut episodes: Vec<KeptEpisode> = self.episodes.iter().map(new).collect();
        episodes.sort_by_key(|one| (one.file, one.first_row));
        (numbers.iter().map(input).collect(), episodes)
    }
}

fn layout(rig: &Rig, plan: &Plan) -> Arc<StoredColumns> {
    let has = |check: &&&'static crate::check::Check| check.left_out(rig).is_none();
    let checks: Vec<&'static CheckSpec> =
        plan.checks.iter().filter(has).map(|check| check.spec()).collect();
    Arc::new(StoredColumns::new(rig, &checks, Vec::new()))
}
