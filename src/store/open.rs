//! Opens measurements files: one, or several that are parts of one dataset.

use std::collections::{HashMap, HashSet};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use parquet::arrow::arrow_reader::{ArrowReaderMetadata, ArrowReaderOptions};

use super::agree;
use super::damage::Damage;
use super::error::StoreError;
use super::format::{FORMAT, KEY};
use super::header::{Header, Parameters, Stamp};
use super::layout::{Slot, joint_names, of_check};
use super::sane;
use super::stored_file::StoredFile;
use super::sum::SUMS;
use crate::catalogue::find_of_episodes;
use crate::model::{CheckSpec, EpisodeIndex, Rig, Skipped, Unread};
use crate::parquet_io::footer::{self, Unbelievable};
use crate::parquet_io::positioned::Positioned;
use crate::source::{Input, RoleChoice};

/// Why a check that was left out of the audit is left out of judging.
const NOT_MEASURED: &str =
    "it was not measured: audit the data again without leaving this check out";

/// Bytes fetched with a footer: most are shorter.
const TAIL: u64 = 64 << 10;

/// A row group of one measurements file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub file: usize,
    pub group: usize,
}

/// One or several measurements files as one dataset.
#[derive(Debug)]
pub struct Stored {
    pub(super) files: Vec<StoredFile>,
    pub(super) places: Vec<Place>,
    rig: Arc<Rig>,
    roles: Vec<RoleChoice>,
    inputs: Vec<Input>,
    unread: Vec<Unread>,
    skipped: Skipped,
    episodes: u64,
}

/// Opens measurements files as one dataset, in the order in which they are named. Only what stands
/// at the files' ends is read; episodes are read block by block.
///
/// # Errors
/// If one of them cannot be read, or they are not parts of one dataset.
pub fn read(paths: &[PathBuf]) -> Result<Stored, StoreError> {
    let mut files: Vec<StoredFile> = Vec::new();
    let (mut inputs, mut unread): (Vec<Input>, Vec<Unread>) = (Vec::new(), Vec::new());
    let (mut places, mut episodes) = (Vec::new(), 0);
    let mut skipped = Skipped::default();
    for path in paths {
        let mut file = open(path)?;
        file.inputs_before = inputs.len() as u32;
        file.episodes_before = episodes;
        let groups = file.footer.metadata().num_row_groups();
        places.extend((0..groups).map(|group| Place { file: files.len(), group }));
        episodes += file.footer.metadata().file_metadata().num_rows().max(0) as u64;
        let header = &file.header;
        inputs.extend(header.inputs.iter().cloned());
        unread.extend(header.unread.iter().cloned());
        skipped.merge(&header.skipped);
        files.push(file);
    }
    let rig = Arc::new(agree::rig(&files)?);
    let roles = files.first().map(|file| file.header.roles()).unwrap_or_default();
    Ok(Stored { files, places, rig, roles, inputs, unread, skipped, episodes })
}

impl Stored {
    /// The rig. Of several measurements files that of the first, with a notice where the others
    /// differ in what the survey of their data showed.
    pub fn rig(&self) -> &Arc<Rig> {
        &self.rig
    }

    /// Which column played which role.
    pub fn roles(&self) -> &[RoleChoice] {
        &self.roles
    }

    /// Every recording that was read, in the order of the dataset.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// Recordings that could not be read.
    pub fn unread(&self) -> &[Unread] {
        &self.unread
    }

    /// Files next to the recordings that are none.
    pub fn skipped(&self) -> &Skipped {
        &self.skipped
    }

    /// How many episodes there are.
    pub fn episodes(&self) -> u64 {
        self.episodes
    }

    /// How many blocks they are read in.
    pub fn blocks(&self) -> usize {
        self.places.len()
    }

    /// The measurements file that holds an episode, by its place in the dataset.
    pub(super) fn path_of(&self, index: EpisodeIndex) -> &Path {
        let at = self.files.partition_point(|file| file.episodes_before <= index.get());
        self.files.get(at.saturating_sub(1)).map_or(Path::new(""), |file| &file.path)
    }

    /// Parameters that the checks measured with, by check and id.
    pub fn parameters(&self) -> &Parameters {
        static NONE: Parameters = Parameters::new();
        self.files.first().map_or(&NONE, |file| &file.header.parameters)
    }

    /// Why nothing can be said of a check that looks at single episodes; none if it was measured.
    pub fn without(&self, check: &CheckSpec) -> Option<&'static str> {
        if let Some(reason) = find_of_episodes(check.id).and_then(|check| check.left_out(&self.rig))
        {
            return Some(reason);
        }
        let all = self.files.iter().all(|file| file.measured.contains(check.id));
        (!all).then_some(NOT_MEASURED)
    }
}

/// Whether a file is a measurements file, of whatever format. A recording is a Parquet table too:
/// what tells them apart is the key in the metadata.
pub fn is_measurements(path: &Path) -> bool {
    path.is_file() && footer(path).is_ok_and(|footer| said(&footer, KEY).is_some())
}

/// What stands at the file's end.
fn footer(path: &Path) -> Result<ArrowReaderMetadata, StoreError> {
    let unreachable = |source| StoreError::Unreachable { path: path.to_owned(), source };
    let file = File::open(path).map_err(unreachable)?;
    let bytes = file.metadata().map_err(unreachable)?.len();
    let input = Positioned::new(Arc::new(file), bytes).hold_tail(TAIL).map_err(unreachable)?;
    let options = ArrowReaderOptions::new().with_skip_arrow_metadata(true);
    footer::load(&input, options).map_err(|why| {
        let (Unbelievable::Unreadable(what) | Unbelievable::Contradiction(what)) = why;
        StoreError::damaged(path, Damage::Footer(what))
    })
}

fn open(path: &Path) -> Result<StoredFile, StoreError> {
    if path.is_dir() {
        return Err(StoreError::Folder { path: path.to_owned() });
    }
    let footer = footer(path)?;
    let header = header(path, &footer)?;
    if let Some(what) = sane::wrong(&header, footer.parquet_schema().num_columns()) {
        return Err(StoreError::damaged(path, Damage::Rig(what)));
    }
    let sums = said(&footer, SUMS).map(serde_json::from_str).transpose();
    let sums = sums.map_err(|error| StoreError::damaged(path, Damage::Sums(error)))?;
    let joints = joint_names(&header.rig);
    let fields = footer.schema().fields().iter().enumerate();
    let numbers: HashMap<&str, usize> =
        fields.map(|(n, field)| (field.name().as_str(), n)).collect();
    let (mut slots, mut measured) = (Vec::new(), HashSet::new());
    for check in header.known_checks() {
        let of = of_check(check, &joints);
        let all = of.len();
        let there = |slot: Slot| Some((*numbers.get(slot.name.as_str())?, slot));
        let of: Vec<(usize, Slot)> = of.into_iter().filter_map(there).collect();
        if of.len() == all {
            measured.insert(check.id);
        }
        slots.extend(of);
    }
    let path = path.to_owned();
    let labels = header.rig.labels.clone();
    Ok(StoredFile {
        path,
        footer,
        labels,
        header,
        sums,
        joints,
        slots,
        measured,
        inputs_before: 0,
        episodes_before: 0,
    })
}

/// What the file's metadata holds under a key.
fn said<'a>(footer: &'a ArrowReaderMetadata, key: &str) -> Option<&'a str> {
    let pairs = footer.metadata().file_metadata().key_value_metadata()?;
    pairs.iter().find(|pair| pair.key == key)?.value.as_deref()
}

fn header(path: &Path, footer: &ArrowReaderMetadata) -> Result<Header, StoreError> {
    let Some(text) = said(footer, KEY) else {
        return Err(StoreError::Foreign { path: path.to_owned() });
    };
    let wrong = |error| StoreError::damaged(path, Damage::Header(error));
    let Stamp { format, tool } = serde_json::from_str(text).map_err(wrong)?;
    if format > FORMAT {
        let path = path.to_owned();
        return Err(StoreError::Newer { path, found: format, version: tool });
    }
    serde_json::from_str(text).map_err(wrong)
}
