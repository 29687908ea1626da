//! How many values a row of each list holds: the most common width of the dataset, and the files
//! that hold another altogether.

use std::path::PathBuf;

use crate::source::read_error::ReadError;
use crate::source::roles::parts::{Columns, Part, Vectors};
use crate::source::shard::index::FileIndex;

/// The number of joints of each part.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::source) struct Widths {
    pub state: Vec<usize>,
    pub action: Vec<usize>,
}

impl Widths {
    /// Joints of the follower: the rig's.
    pub fn joints(&self) -> usize {
        self.state.iter().sum()
    }

    /// The most common width of each part, by rows; smaller first among equals.
    /// Where no row has values, the type's width or the number of joints that are `declared`.
    pub fn most_common(
        indexes: &[(PathBuf, FileIndex)],
        columns: &Columns,
        declared: usize,
    ) -> Self {
        let mut lists = 0;
        let mut common = |part: &Part| {
            if !part.list {
                return 1;
            }
            lists += 1;
            vote(indexes, lists - 1)
        };
        let mut state: Vec<usize> = columns.state.parts.iter().map(&mut common).collect();
        let leader = columns.action.iter().flat_map(|a| &a.parts);
        let mut action: Vec<usize> = leader.map(&mut common).collect();
        fall_back(&mut state, &columns.state, declared);
        if let Some(vectors) = &columns.action {
            fall_back(&mut action, vectors, state.iter().sum());
        }
        Self { state, action }
    }

    /// Why a file's vectors do not fit: none of its rows has the dataset's width.
    pub fn objection(&self, index: &FileIndex, columns: &Columns) -> Option<ReadError> {
        let wanted = self.state.iter().chain(&self.action);
        let lists = columns.parts().zip(wanted).filter(|(part, _)| part.list);
        lists.zip(&index.widths).enumerate().find_map(|(list, ((part, &wanted), &seen))| {
            let other = (list as u32, wanted as u32);
            if seen == 0 || seen == other.1 || index.ragged.contains(&other) {
                return None;
            }
            let column = part.path.join(".");
            Some(ReadError::OtherWidth { column, found: seen, wanted })
        })
    }
}

/// The most common width of a list, by rows; the smaller one among equals.
fn vote(indexes: &[(PathBuf, FileIndex)], list: usize) -> usize {
    let mut votes: Vec<(u32, u64)> = Vec::new();
    for (_, index) in indexes.iter().filter(|(_, index)| index.widths[list] > 0) {
        let (width, rows) = (index.widths[list], index.ends.last().copied().unwrap_or(0));
        match votes.iter_mut().find(|(known, _)| *known == width) {
            Some((_, count)) => *count += rows,
            None => votes.push((width, rows)),
        }
    }
    let best = votes.into_iter().max_by_key(|&(w, rows)| (rows, std::cmp::Reverse(w)));
    best.map_or(0, |(width, _)| width as usize)
}

fn fall_back(widths: &mut [usize], vectors: &Vectors, joints: usize) {
    let known: usize = widths.iter().sum();
    for (width, part) in widths.iter_mut().zip(&vectors.parts) {
        if *width == 0 {
            *width = part.width.unwrap_or(joints.saturating_sub(known));
        }
    }
}
