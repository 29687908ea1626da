//! How many values a row of each list holds: the most common width of the dataset, and the files
//! that hold another altogether.

use super::columns::{Columns, Vectors};
use super::index::FileIndex;

/// The number of joints of each part.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Widths {
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
    pub fn most_common(indexes: &[FileIndex], columns: &Columns, declared: usize) -> Self {
        let parts = indexes.first().map_or(0, |i| i.widths.len());
        let common = |part: usize| {
            let mut votes: Vec<(usize, u64)> = Vec::new();
            for index in indexes {
                let Some(&width) = index.widths[part].first() else { continue };
                let rows = index.ends.last().copied().unwrap_or(0);
                match votes.iter_mut().find(|(known, _)| *known == width) {
                    Some((_, count)) => *count += rows,
                    None => votes.push((width, rows)),
                }
            }
            let best = votes.into_iter().max_by_key(|&(w, rows)| (rows, std::cmp::Reverse(w)));
            best.map_or(0, |(width, _)| width)
        };
        let mut state: Vec<usize> = (0..parts).map(common).collect();
        let mut action = state.split_off(columns.state.parts.len().min(state.len()));
        fall_back(&mut state, &columns.state, declared);
        if let Some(vectors) = &columns.action {
            let joints = state.iter().sum();
            fall_back(&mut action, vectors, joints);
        }
        Self { state, action }
    }

    /// Why a file's vectors do not fit: none of its rows has the dataset's width.
    pub fn objection(&self, index: &FileIndex, columns: &Columns) -> Option<String> {
        let parts = columns.state.parts.iter().chain(columns.action.iter().flat_map(|a| &a.parts));
        let wanted = self.state.iter().chain(&self.action);
        parts.zip(wanted).zip(&index.widths).find_map(|((part, wanted), seen)| {
            let first = seen.first().filter(|_| !seen.contains(wanted))?;
            Some(format!(
                "column \"{}\" holds {first} values a row, the other files hold {wanted}; audit \
                 it by itself",
                part.path.join(".")
            ))
        })
    }
}

fn fall_back(widths: &mut [usize], vectors: &Vectors, joints: usize) {
    let known: usize = widths.iter().sum();
    for (width, part) in widths.iter_mut().zip(&vectors.parts) {
        if *width == 0 {
            *width = part.width.unwrap_or(joints.saturating_sub(known));
        }
    }
}
