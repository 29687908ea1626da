//! From parts of episodes to rows of files: what each file of the copy holds.

use std::collections::{BTreeMap, HashSet};
use std::path::{Component, Path, PathBuf};

use crate::app::AppError;
use crate::app::keep::frames::Part;
use crate::model::EpisodeIndex;
use crate::source::copy::{Edit, EpisodeRows, NewId, Piece, Places, StoredIds, TableCopy};
use crate::source::{Dataset, Roots, Source as _};

/// An episode that is kept.
#[derive(Debug, Clone)]
pub(super) struct KeptEpisode {
    pub index: EpisodeIndex,
    pub parts: Vec<Part>,
    /// What is changed in all of its rows.
    pub edits: Vec<Edit>,
}

/// The files of the copy, and the id of each part of each episode.
#[derive(Debug)]
pub(super) struct Laid {
    pub tables: Vec<TableCopy>,
    /// In the order of the episodes and their parts.
    pub ids: Vec<Vec<String>>,
}

/// What the copy is laid out from.
pub(super) struct Plan<'a> {
    pub source: &'a Dataset,
    pub rows: &'a EpisodeRows,
    pub places: &'a Places,
    pub renumber: bool,
}

impl Plan<'_> {
    /// Lays out the files.
    pub fn lay(&self, kept: &[KeptEpisode]) -> Result<Laid, AppError> {
        let mut ids = Ids::new(self)?;
        let targets = targets(self.source);
        let mut files: BTreeMap<(usize, usize), Vec<Piece>> = BTreeMap::new();
        let mut all_ids = Vec::with_capacity(kept.len());
        for episode in kept {
            let mut own = Vec::new();
            for (number, part) in episode.parts.iter().enumerate() {
                let (shown, new) = ids.next(episode.index, number)?;
                own.push(shown);
                // A file, or a folder, that is an episode is written once for each part.
                let by_file = !matches!(self.places.ids, StoredIds::Column(..));
                let copy = if by_file { number } else { 0 };
                let mut first = 0;
                for frames in &part.frames {
                    for ((input, rows), start) in self.rows.of_frames(episode.index, frames) {
                        let mut edits = episode.edits.clone();
                        if let (Some(id), StoredIds::Column(path, _)) = (&new, &self.places.ids) {
                            edits.push(Edit::Id { path: path.clone(), id: id.clone() });
                        }
                        if let (true, Some(path)) = (self.renumber, &self.places.frame) {
                            let first = first + (start - frames.start);
                            edits.push(Edit::Count { path: path.clone(), first });
                        }
                        files.entry((input, copy)).or_default().push(Piece { rows, edits });
                    }
                    first += frames.end - frames.start;
                }
            }
            all_ids.push(own);
        }
        let tables = files.into_iter().map(|((input, copy), pieces)| TableCopy {
            input,
            to: numbered(&targets[input], copy, &self.places.ids),
            pieces: joined(pieces),
            note: String::new(),
        });
        Ok(Laid { tables: tables.collect(), ids: all_ids })
    }
}

/// Pieces in order; unchanged ones that follow one another are one.
fn joined(mut pieces: Vec<Piece>) -> Vec<Piece> {
    pieces.sort_by_key(|piece| piece.rows.start);
    let mut joined: Vec<Piece> = Vec::with_capacity(pieces.len());
    for piece in pieces {
        match joined.last_mut() {
            Some(last)
                if last.rows.end == piece.rows.start
                    && last.edits.is_empty()
                    && piece.edits.is_empty() =>
            {
                last.rows.end = piece.rows.end;
            }
            _ => joined.push(piece),
        }
    }
    joined
}

/// Where each input is written, below the folder of the copy.
fn targets(source: &Dataset) -> Vec<PathBuf> {
    let roots = source.roots();
    let all = Roots::new(roots);
    let names: Vec<PathBuf> = distinct(roots);
    let place = |path: &Path| {
        let root = all.of(path);
        let within = roots.get(root).and_then(|root| path.strip_prefix(root).ok()).unwrap_or(path);
        // What lies outside of all that was named keeps its name alone.
        let normal = within.components().all(|part| matches!(part, Component::Normal(_)));
        let within = if normal { within } else { Path::new(path.file_name().unwrap_or_default()) };
        if roots.len() < 2 { within.to_path_buf() } else { names[root].join(within) }
    };
    source.inputs().iter().map(|input| place(&input.path)).collect()
}

/// A folder for each of several roots, by its own name where that is enough.
fn distinct(roots: &[PathBuf]) -> Vec<PathBuf> {
    let mut taken = HashSet::new();
    let name = |root: &PathBuf| {
        let whole = std::path::absolute(root).unwrap_or_else(|_| root.clone());
        let own = PathBuf::from(whole.file_name().unwrap_or("data".as_ref()));
        let mut name = own.clone();
        let mut number = 2;
        while !taken.insert(name.clone()) {
            name = PathBuf::from(format!("{}-{number}", own.display()));
            number += 1;
        }
        name
    };
    roots.iter().map(name).collect()
}

/// The path of a further part: `take-2.parquet`, or `run=17-2/take.parquet`.
fn numbered(path: &Path, copy: usize, ids: &StoredIds) -> PathBuf {
    if copy == 0 {
        return path.to_path_buf();
    }
    let number = copy + 1;
    if let StoredIds::Folder(key) = ids {
        let head = format!("{key}=");
        let renamed = path.components().map(|part| {
            let mut name = part.as_os_str().to_os_string();
            if name.to_str().is_some_and(|name| name.starts_with(&head)) {
                name.push(format!("-{number}"));
            }
            name
        });
        return renamed.collect();
    }
    let mut name = path.file_stem().unwrap_or_default().to_os_string();
    name.push(format!("-{number}"));
    if let Some(ending) = path.extension() {
        name.push(".");
        name.push(ending);
    }
    path.with_file_name(name)
}

/// New ids, where an episode has several parts, or all are numbered again.
struct Ids<'a> {
    plan: &'a Plan<'a>,
    /// Ids that are taken.
    texts: HashSet<String>,
    /// The next free number.
    free: i64,
}

impl<'a> Ids<'a> {
    fn new(plan: &'a Plan<'a>) -> Result<Self, AppError> {
        let mut ids = Self { plan, texts: HashSet::new(), free: 0 };
        if plan.renumber {
            let numbers = matches!(plan.places.ids, StoredIds::Column(_, true));
            if !numbers && plan.places.frame.is_none() {
                let what = "--renumber: there is no column of numbered episodes or frames";
                return Err(AppError::input(what).with_hint("leave --renumber out"));
            }
            return Ok(ids);
        }
        for index in plan.rows.indices() {
            let id = stored(plan.source, index);
            if let Ok(number) = id.parse::<i64>() {
                ids.free = ids.free.max(number.saturating_add(1));
            }
            ids.texts.insert(id);
        }
        Ok(ids)
    }

    /// The id of a part: as it is shown, and as it is written where it is another one than before.
    fn next(
        &mut self,
        index: EpisodeIndex,
        part: usize,
    ) -> Result<(String, Option<NewId>), AppError> {
        let number = matches!(self.plan.places.ids, StoredIds::Column(_, true));
        if self.plan.renumber && number {
            self.free += 1;
            return Ok(((self.free - 1).to_string(), Some(NewId::Number(self.free - 1))));
        }
        let own = self.plan.source.episode_id(index).unwrap_or_default();
        if part == 0 {
            return Ok((own.to_owned(), None));
        }
        if number {
            let id = self.free;
            self.free = id.checked_add(1).ok_or_else(|| {
                AppError::input("--split: there is no free number for another episode")
                    .with_hint("add --renumber")
            })?;
            return Ok((id.to_string(), Some(NewId::Number(id))));
        }
        let own = stored(self.plan.source, index);
        let mut id = format!("{own}-{}", part + 1);
        while !self.texts.insert(id.clone()) {
            id.push_str("-part");
        }
        let new = matches!(self.plan.places.ids, StoredIds::Column(..));
        Ok((id.clone(), new.then_some(NewId::Text(id))))
    }
}

/// The id as it is stored: without the folder in front, which tells apart what folders share.
fn stored(source: &Dataset, index: EpisodeIndex) -> String {
    let id = source.episode_id(index).unwrap_or_default();
    id.rsplit('/').next().unwrap_or(id).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_have_files_of_their_own_where_the_file_is_the_id() {
        let path = Path::new("day/run=17/take.parquet");
        let file = |copy| numbered(path, copy, &StoredIds::File).display().to_string();
        assert_eq!(file(0), "day/run=17/take.parquet");
        assert_eq!(file(1), "day/run=17/take-2.parquet");
        let folder = numbered(path, 2, &StoredIds::Folder("run".to_owned()));
        assert_eq!(folder.display().to_string(), "day/run=17-3/take.parquet");
    }

    #[test]
    fn unchanged_neighbours_are_one_piece_and_roots_have_names_of_their_own() {
        let pieces = vec![Piece::unchanged(5..9), Piece::unchanged(0..5), Piece::unchanged(10..12)];
        assert_eq!(joined(pieces), [Piece::unchanged(0..9), Piece::unchanged(10..12)]);
        let roots = ["a/monday", "b/monday", "tuesday"].map(PathBuf::from);
        let names: Vec<String> = distinct(&roots).iter().map(|p| p.display().to_string()).collect();
        assert_eq!(names, ["monday", "monday-2", "tuesday"]);
    }
}
