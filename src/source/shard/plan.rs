//! The dataset as one long table: its files one after the other, their runs, its episodes.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use crate::model::{RowRange, escaped};
use crate::source::format::open::{Known, Stamp, TableFile};
use crate::source::format::table::Kept;
use crate::source::input::Input;
use crate::source::read_error::ReadError;
use crate::source::roles::folder::folder_of;
use crate::source::roles::parts::EpisodeFrom;
use crate::source::shard::distinct::{self, Folders};
use crate::source::shard::index::FileIndex;
use crate::source::shard::runs::{NONE, Run};

/// One file's place.
#[derive(Debug)]
pub(in crate::source) struct FilePlan {
    pub stamp: Stamp,
    /// Its rows, where they were parsed to index it and are held.
    pub held: Option<Kept>,
    /// Ends of its pieces; empty if there is one.
    pub ends: Box<[u64]>,
    /// Number of its first row in the dataset.
    pub base: u64,
    pub rows: u64,
    /// Its first run among all.
    pub first_run: usize,
}

/// One episode's place.
#[derive(Debug)]
pub(in crate::source) struct EpisodePlan {
    pub id: String,
    pub frames: u64,
    /// Where it begins, up to its last row in that file.
    pub rows: RowRange,
    /// Its last row in the dataset.
    pub last: u64,
}

/// All files and episodes.
#[derive(Debug, Default)]
pub(in crate::source) struct Plan {
    pub files: Vec<FilePlan>,
    pub runs: Vec<Run>,
    pub episodes: Vec<EpisodePlan>,
    pub rows: u64,
}

impl FilePlan {
    /// The table to read it from.
    pub fn table(&self, path: &Path, kept: Option<Kept>) -> Result<TableFile, ReadError> {
        let kept = kept.or_else(|| self.held.clone());
        TableFile::reopen(path, Known { stamp: Some(self.stamp), kept, ends: &self.ends })
    }
}

impl Plan {
    /// The runs of a file.
    pub fn runs_of(&self, file: usize) -> &[Run] {
        let end = self.files.get(file + 1).map_or(self.runs.len(), |next| next.first_run);
        &self.runs[self.files[file].first_run..end]
    }

    /// The files that hold these rows.
    pub fn files_of(&self, rows: &std::ops::Range<u64>) -> std::ops::Range<usize> {
        let first = self.files.partition_point(|f| f.base + f.rows <= rows.start);
        let end = self.files.partition_point(|f| f.base < rows.end);
        first..end
    }
}

/// Puts indexed files together. The same id in files of one folder is one episode; in different
/// folders it is several, whose ids get the folder below their root as a prefix where they clash.
pub(in crate::source) fn plan(
    files: impl IntoIterator<Item = (PathBuf, FileIndex)>,
    from: &EpisodeFrom,
    roots: &[PathBuf],
) -> (Plan, Vec<Input>) {
    let mut plan = Plan::default();
    let mut inputs: Vec<Input> = Vec::new();
    let mut folders: Vec<PathBuf> = Vec::new();
    let mut folder_numbers: HashMap<PathBuf, u32> = HashMap::new();
    let mut owners: Vec<u32> = Vec::new();
    let mut known: HashMap<(u32, String), u32> = HashMap::new();
    let key = match from {
        EpisodeFrom::Key(key) => Some(key.as_str()),
        _ => None,
    };
    let mut last_folder: Option<(PathBuf, u32)> = None;
    for (path, index) in files {
        let number = inputs.len() as u32;
        // Each file is an episode of its own, whatever its neighbours are called; there may be a
        // million, so they go without the map.
        let by_file = *from == EpisodeFrom::File;
        let folder = path.parent().unwrap_or(Path::new(""));
        let owner = match &last_folder {
            _ if by_file => number,
            // Most files lie in the same folder as the last one.
            Some((last, owner)) if last.as_os_str() == folder.as_os_str() => *owner,
            _ => {
                let name = folder_of(&path, key);
                let owner = *folder_numbers.entry(name).or_insert_with_key(|folder| {
                    folders.push(folder.clone());
                    folders.len() as u32 - 1
                });
                last_folder = Some((folder.to_path_buf(), owner));
                owner
            }
        };
        let mut local = Vec::with_capacity(index.ids.len());
        for id in index.ids {
            let next = plan.episodes.len() as u32;
            let episode =
                if by_file { next } else { *known.entry((owner, id.clone())).or_insert(next) };
            if episode == next {
                owners.push(owner);
                let rows = RowRange { input: number, start: 0, end: 0 };
                // A name of a file is written so already.
                let id = match from {
                    EpisodeFrom::Column(_) => escaped(&id).into_owned(),
                    _ => id,
                };
                plan.episodes.push(EpisodePlan { id, frames: 0, rows, last: 0 });
            }
            local.push(episode);
        }
        let rows = index.ends.last().copied().unwrap_or(0);
        let base = plan.rows;
        let first_run = plan.runs.len();
        for (at, run) in index.runs.iter().enumerate() {
            let end = index.runs.get(at + 1).map_or(rows, |next| u64::from(next.start));
            let start = u64::from(run.start);
            let mut episode = NONE;
            if run.episode != NONE {
                episode = local[run.episode as usize];
                let place = &mut plan.episodes[episode as usize];
                if place.frames == 0 {
                    place.rows = RowRange { input: number, start, end };
                } else if place.rows.input == number {
                    place.rows.end = end;
                }
                place.frames += end - start;
                place.last = base + end - 1;
            }
            plan.runs.push(Run { start: run.start, episode });
        }
        let ends = if index.ends.len() > 1 { index.ends.into() } else { Box::default() };
        let (stamp, held) = (index.stamp, index.held);
        plan.files.push(FilePlan { stamp, held, ends, base, rows, first_run });
        plan.rows += rows;
        inputs.push(Input { path, bytes: stamp.bytes, rows, sha256: None });
    }
    drop(known);
    plan.runs.shrink_to_fit();
    let folders = (*from != EpisodeFrom::File).then_some(Folders { all: folders, owners, key });
    if folders.as_ref().is_none_or(|known| known.all.len() > 1) {
        let of_episode: Vec<u32> = plan.episodes.iter().map(|e| e.rows.input).collect();
        let mut ids: Vec<String> =
            plan.episodes.iter_mut().map(|episode| std::mem::take(&mut episode.id)).collect();
        distinct::ids(&mut ids, &of_episode, &inputs, roots, folders.as_ref());
        plan.episodes.iter_mut().zip(ids).for_each(|(episode, id)| episode.id = id);
    }
    (plan, inputs)
}
