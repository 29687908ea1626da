//! What is kept of the episodes that were judged: rows of the measurements file on disk, and where
//! each comes from.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::take::{Episodes, Grown};
use crate::app::AppError;
use crate::engine::{self, Landed, Plan};
use crate::model::{CheckSpec, Rig, Skipped, Unread};
use crate::source::{Input, RoleChoice, Seen, natural_order};
use crate::store::{Layout, Spool, Stored};

/// A file of which episodes were judged.
#[derive(Debug, Clone)]
pub(super) struct KeptFile {
    pub path: PathBuf,
    pub bytes: u64,
    pub rows: u64,
    /// How far it was taken, while it may grow.
    pub grown: Option<Grown>,
    /// What of it could not be read.
    pub unread: Vec<Unread>,
}

/// What of the folder is known only at the end: files that are no recordings, and hashes of inputs.
#[derive(Debug, Default)]
pub(super) struct Around {
    pub skipped: Skipped,
    pub hashes: Vec<(PathBuf, Option<String>)>,
}

/// An episode that was judged.
#[derive(Debug, Clone)]
pub(super) struct KeptEpisode {
    pub file: u32,
    pub first_row: u64,
    /// Its place in the spool.
    pub kept: usize,
    pub id: Box<str>,
}

/// All that is kept.
#[derive(Debug)]
pub(super) struct Kept {
    pub rig: Arc<Rig>,
    pub roles: Vec<RoleChoice>,
    pub spool: Spool,
    pub files: Vec<KeptFile>,
    pub episodes: Vec<KeptEpisode>,
    places: HashMap<PathBuf, u32>,
}

impl Kept {
    /// Begins with a rig.
    pub fn new(rig: Arc<Rig>, roles: Vec<RoleChoice>, plan: &Plan) -> Result<Self, AppError> {
        let spool = Spool::new(layout(&rig, plan))?;
        let (files, episodes, places) = (Vec::new(), Vec::new(), HashMap::new());
        Ok(Self { rig, roles, spool, files, episodes, places })
    }

    /// Goes on with what a measurements file holds.
    pub fn resumed(stored: &Stored, plan: &Plan) -> Result<Self, AppError> {
        let mut kept = Self::new(Arc::clone(stored.rig()), stored.roles().to_vec(), plan)?;
        let taken = stored.import(&mut kept.spool)?;
        for input in stored.inputs() {
            let of_file = |file: &&Unread| file.path == input.path;
            let unread = stored.unread().iter().filter(of_file).cloned().collect();
            kept.file(&input.path, input.bytes, input.rows, unread);
        }
        let known = kept.files.len();
        for (at, one) in taken.into_iter().enumerate().filter(|(_, t)| (t.input as usize) < known) {
            let (file, first_row) = (one.input, one.first_row);
            kept.episodes.push(KeptEpisode { file, first_row, kept: at, id: one.id.into() });
        }
        Ok(kept)
    }

    fn file(&mut self, path: &Path, bytes: u64, rows: u64, unread: Vec<Unread>) -> u32 {
        let number = self.files.len() as u32;
        self.files.push(KeptFile { path: path.to_owned(), bytes, rows, grown: None, unread });
        self.places.insert(path.to_owned(), number);
        number
    }

    /// The file of this path.
    pub fn find(&self, path: &Path) -> Option<&KeptFile> {
        self.files.get(*self.places.get(path)? as usize)
    }

    /// The number of a file that is kept.
    pub fn number(&self, path: &Path) -> u32 {
        self.places.get(path).copied().unwrap_or_default()
    }

    /// Ids of the episodes that a file gave.
    pub fn ids_of<'a>(&'a self, path: &Path) -> impl Iterator<Item = &'a str> {
        let file = self.places.get(path).copied();
        let all = file.map_or(&[][..], |_| self.episodes.as_slice());
        all.iter().filter(move |one| Some(one.file) == file).map(|one| &*one.id)
    }

    /// The episodes of a file are interleaved: what was taken of it is void once it has ended.
    pub fn interleaved(&mut self, path: &Path) {
        if let Some(number) = self.places.get(path) {
            let grown = Grown { whole: true, ..Grown::default() };
            self.files[*number as usize].grown = Some(grown);
        }
    }

    /// A file has another name now.
    pub fn moved(&mut self, from: &Path, to: &Path) {
        if let Some(number) = self.places.remove(from) {
            to.clone_into(&mut self.files[number as usize].path);
            self.places.insert(to.to_owned(), number);
        }
    }

    /// Keeps what was taken of a file. What it gave before is given up where it was written again.
    pub fn add(&mut self, path: &Path, seen: Seen, taken: &mut Episodes) -> Result<(), AppError> {
        let number = match self.places.get(path).copied() {
            Some(number) => {
                if taken.fresh {
                    self.episodes.retain(|one| one.file != number);
                }
                number
            }
            None => self.file(path, seen.bytes, taken.rows, Vec::new()),
        };
        let file = &mut self.files[number as usize];
        (file.bytes, file.rows) = (seen.bytes, taken.rows);
        file.grown.clone_from(&taken.grown);
        let of_this = |unread: &Unread| Unread { path: path.to_owned(), ..unread.clone() };
        file.unread = taken.unread.iter().map(of_this).collect();
        for one in &mut taken.landed {
            one.card.key.rows.input = number;
        }
        self.push(&taken.landed)
    }

    fn push(&mut self, episodes: &[Landed]) -> Result<(), AppError> {
        let first = self.spool.episodes();
        self.spool.push(engine::rows(episodes, self.spool.layout())?)?;
        let kept = episodes.iter().enumerate().map(|(at, one)| KeptEpisode {
            file: one.card.key.rows.input,
            first_row: one.card.key.rows.start,
            kept: first + at,
            id: one.card.key.id.as_str().into(),
        });
        self.episodes.extend(kept);
        Ok(())
    }

    /// The same files on another rig, on which every episode must be measured again.
    pub fn on(&self, rig: Arc<Rig>, plan: &Plan) -> Result<Self, AppError> {
        let (files, places) = (self.files.clone(), self.places.clone());
        Ok(Self { files, places, ..Self::new(rig, self.roles.clone(), plan)? })
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
        let mut numbers: Vec<u32> = (0..self.files.len() as u32).collect();
        numbers.sort_by_cached_key(|number| natural_order(&self.files[*number as usize].path));
        let mut rank = vec![0; numbers.len()];
        for (at, number) in numbers.iter().enumerate() {
            rank[*number as usize] = at as u32;
        }
        let input = |number: &u32| {
            let file = &self.files[*number as usize];
            Input { path: file.path.clone(), bytes: file.bytes, rows: file.rows, sha256: None }
        };
        let new = |one: &KeptEpisode| KeptEpisode { file: rank[one.file as usize], ..one.clone() };
        let mut episodes: Vec<KeptEpisode> = self.episodes.iter().map(new).collect();
        episodes.sort_by_key(|one| (one.file, one.first_row));
        (numbers.iter().map(input).collect(), episodes)
    }
}

fn layout(rig: &Rig, plan: &Plan) -> Arc<Layout> {
    let has = |check: &&&'static crate::check::Check| check.left_out(rig).is_none();
    let checks: Vec<&'static CheckSpec> =
        plan.checks.iter().filter(has).map(|check| check.spec()).collect();
    Arc::new(Layout::new(rig, &checks, Vec::new()))
}
