//! The third stage: the episodes are known, and how many values a row holds.

use std::path::PathBuf;

use rayon::prelude::*;

use crate::model::count;
use crate::source::error::SourceError;
use crate::source::format::kept::Held;
use crate::source::format::open::Known;
use crate::source::input::Input;
use crate::source::located::Passed;
use crate::source::read_error::{NotRead, ReadError};
use crate::source::resolved::{Parsed, Resolved, all_unread};
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::parts::Columns;
use crate::source::shard::index::{FileIndex, index_file};
use crate::source::shard::plan::{Plan, plan};
use crate::source::shard::widths::Widths;

/// Where the episodes are.
#[derive(Debug)]
pub(in crate::source) struct Indexed {
    pub columns: Columns,
    pub choices: Vec<RoleChoice>,
    pub widths: Widths,
    pub plan: Plan,
    pub inputs: Vec<Input>,
    pub passed: Passed,
}

impl Indexed {
    /// Indexes every file: its footer and, where statistics do not settle them, its episode
    /// column. `joints` is the number of joints that are declared.
    pub fn of(resolved: Resolved, joints: usize) -> Result<Self, SourceError> {
        let Resolved { files, mut passed, columns, mut choices, parsed } = resolved;
        let mut indexes = index(files, &columns, parsed.as_ref(), &mut passed);
        let refused = &mut passed.refused;
        if indexes.iter().all(|(_, index)| index.ids.is_empty()) {
            note_nulls(&indexes, refused);
            return Err(all_unread(refused));
        }
        let widths = Widths::most_common(&indexes, &columns, joints);
        drop_misfits(&mut indexes, &widths, &columns, refused);
        note_nulls(&indexes, refused);
        let (plan, inputs) = plan(indexes, &columns.episode, &passed.roots);
        describe(&columns, &mut choices, &widths);
        Ok(Self { columns, choices, widths, plan, inputs, passed })
    }
}

/// Files and what the index knows of them.
type Indexes = Vec<(PathBuf, FileIndex)>;

/// Indexes every file; those that cannot be are noted.
fn index(
    files: Vec<PathBuf>,
    columns: &Columns,
    parsed: Option<&Parsed>,
    passed: &mut Passed,
) -> Indexes {
    let held = Held::default();
    let known = |number: usize| {
        let parsed = parsed.filter(|parsed| parsed.file == number);
        let (stamp, kept) = parsed.map(|known| (known.stamp, known.kept.clone())).unzip();
        Known { stamp, kept, ends: &[] }
    };
    let one = |(number, path): (usize, &PathBuf)| index_file(path, columns, known(number), &held);
    let read: Vec<_> = files.par_iter().enumerate().map(one).collect();
    let mut indexes = Vec::with_capacity(files.len());
    for (path, read) in files.into_iter().zip(read) {
        match read {
            Ok(index) => indexes.push((path, index)),
            Err(error) => passed.note(path, error),
        }
    }
    indexes
}

/// Takes files out whose vectors have another width than the dataset's.
fn drop_misfits(
    indexes: &mut Indexes,
    widths: &Widths,
    columns: &Columns,
    refused: &mut Vec<NotRead>,
) {
    let misfits = indexes.extract_if(.., |(_, index)| widths.objection(index, columns).is_some());
    for (path, index) in misfits {
        if let Some(error) = widths.objection(&index, columns) {
            refused.push(NotRead { path, error });
        }
    }
}

/// Rows without an episode belong to nothing. They are left out, and the report says so.
fn note_nulls(indexes: &Indexes, refused: &mut Vec<NotRead>) {
    for (path, index) in indexes.iter().filter(|(_, index)| index.null_rows > 0) {
        let error = ReadError::NullRows(index.null_rows);
        refused.push(NotRead { path: path.clone(), error });
    }
}

/// Says of each vector what it is made of, now that the widths are known.
fn describe(columns: &Columns, choices: &mut [RoleChoice], widths: &Widths) {
    let (joints, commanded) = (widths.joints(), widths.action.iter().sum::<usize>());
    for choice in choices {
        match (choice.role, &columns.action) {
            (Role::State, _) => choice.shape = columns.state.words(&widths.state),
            (Role::Action, Some(action)) => {
                choice.shape = action.words(&widths.action);
                if commanded != joints {
                    let more = format!("; the follower has {}", count(joints, "joint"));
                    choice.why.push_str(&more);
                }
            }
            _ => {}
        }
    }
}
