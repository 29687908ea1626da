//! Joint vectors of a batch, written joint-major into an episode's buffer.
//!
//! The list's child values are taken once a batch; rows are transposed in blocks that stay in the
//! nearest cache. Rows that are null, short or long leave this path for a careful one.

use std::ops::Range;

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::buffer::NullBuffer;
use arrow::datatypes::DataType;
use arrow::record_batch::RecordBatch;

use crate::source::read_error::ReadError;
use crate::source::roles::parts::Vectors;
use crate::source::shard::nested;
use crate::source::shard::numbers::{Number, holds_numbers, widened, with_numbers};

/// Rows transposed together: 256 rows of a dozen joints fit the nearest cache.
const BLOCK: usize = 256;

/// One batch's joint vectors.
pub(in crate::source) struct VectorView {
    parts: Vec<PartView>,
}

struct PartView {
    /// First joint that this part fills, and how many.
    joints: Range<usize>,
    values: ArrayRef,
    rows: Rows,
    /// Where single values are null.
    nulls: Option<NullBuffer>,
}

enum Rows {
    /// Every row has the same number of values, one after the other from the first.
    Even { first: usize, width: usize },
    /// Where each row's values are; none for a null row.
    Uneven(Vec<Option<Range<usize>>>),
}

/// Where to write: joint-major values with this many frames a joint, from this frame on.
pub(in crate::source) struct Target<'a> {
    pub values: &'a mut [f32],
    pub stride: usize,
    pub at: usize,
}

impl VectorView {
    /// Looks at a batch. `widths` are the number of joints of each part.
    pub fn of(batch: &RecordBatch, vectors: &Vectors, widths: &[usize]) -> Result<Self, ReadError> {
        let mut parts = Vec::with_capacity(vectors.parts.len());
        let mut from = 0;
        for (part, width) in vectors.parts.iter().zip(widths) {
            let lost = || ReadError::Unlike(part.path.join("."));
            let (array, nulls) = nested::at(batch, &part.path).ok_or_else(lost)?;
            let joints = from..from + width;
            from = joints.end;
            let view = if holds_numbers(&array) {
                PartView {
                    joints,
                    values: widened(array),
                    rows: Rows::Even { first: 0, width: 1 },
                    nulls,
                }
            } else {
                let (values, rows) = rows_of(&array, nulls.as_ref()).ok_or_else(lost)?;
                if !holds_numbers(&values) {
                    return Err(lost());
                }
                let nulls = values.nulls().filter(|n| n.null_count() > 0).cloned();
                PartView { joints, values: widened(values), rows, nulls }
            };
            parts.push(view);
        }
        Ok(Self { parts })
    }

    /// Writes rows into the target, each joint's values times its factor; returns how many rows
    /// had too few or too many values.
    pub fn fill(&self, rows: Range<usize>, factors: &[f64], target: &mut Target<'_>) -> u32 {
        let mut ragged = 0;
        for part in &self.parts {
            let filled = with_numbers!(part.values, values => {
                part.fill(values, &rows, factors, target)
            });
            ragged = ragged.max(filled.unwrap_or(0));
        }
        ragged
    }

    /// Number of values of each row of a list part; none for null rows and for scalars.
    pub fn lengths(&self, part: usize, rows: usize) -> Vec<usize> {
        match &self.parts[part].rows {
            Rows::Even { width, .. } => vec![*width; rows],
            Rows::Uneven(all) => all.iter().flatten().map(ExactSizeIterator::len).collect(),
        }
    }
}

impl PartView {
    fn fill<T: Number>(
        &self,
        values: &[T],
        rows: &Range<usize>,
        factors: &[f64],
        target: &mut Target<'_>,
    ) -> u32 {
        match &self.rows {
            Rows::Even { first, width } => {
                let (first, width) = (*first, *width);
                if width == 0 {
                    self.blank(rows, target, 0);
                    return rows.len() as u32;
                }
                let part = &values[first + rows.start * width..first + rows.end * width];
                self.transpose(part, width, factors, target);
                if self.nulls.is_some() {
                    for (i, row) in rows.clone().enumerate() {
                        self.blank_nulls(first + row * width, width, i, target);
                    }
                }
                if width == self.joints.len() {
                    return 0;
                }
                self.blank(rows, target, width);
                rows.len() as u32
            }
            Rows::Uneven(all) => self.one_by_one(values, &all[rows.clone()], factors, target),
        }
    }

    /// Even rows, in blocks.
    fn transpose<T: Number>(
        &self,
        values: &[T],
        width: usize,
        factors: &[f64],
        target: &mut Target<'_>,
    ) {
        let joints = self.joints.clone().take(width);
        for (block, part) in values.chunks(BLOCK * width).enumerate() {
            for (j, joint) in joints.clone().enumerate() {
                let from = joint * target.stride + target.at + block * BLOCK;
                let out = &mut target.values[from..from + part.len() / width];
                let factor = factors[joint];
                for (to, row) in out.iter_mut().zip(part.chunks_exact(width)) {
                    *to = row[j].scaled(factor);
                }
            }
        }
    }

    /// Rows of any length.
    fn one_by_one<T: Number>(
        &self,
        values: &[T],
        rows: &[Option<Range<usize>>],
        factors: &[f64],
        target: &mut Target<'_>,
    ) -> u32 {
        let mut ragged = 0;
        for (i, row) in rows.iter().enumerate() {
            let held = row.clone().unwrap_or_default();
            ragged += u32::from(row.is_some() && held.len() != self.joints.len());
            for (j, joint) in self.joints.clone().enumerate() {
                let value = held.clone().nth(j).map(|at| values[at].scaled(factors[joint]));
                target.values[joint * target.stride + target.at + i] = value.unwrap_or(f32::NAN);
            }
            self.blank_nulls(held.start, held.len(), i, target);
        }
        ragged
    }

    fn blank_nulls(&self, start: usize, len: usize, frame: usize, target: &mut Target<'_>) {
        let Some(nulls) = &self.nulls else { return };
        for (j, joint) in self.joints.clone().take(len).enumerate() {
            if nulls.is_null(start + j) {
                target.values[joint * target.stride + target.at + frame] = f32::NAN;
            }
        }
    }

    /// Joints from this one of the part on have no values in these rows.
    fn blank(&self, rows: &Range<usize>, target: &mut Target<'_>, from: usize) {
        for joint in self.joints.clone().skip(from) {
            let start = joint * target.stride + target.at;
            target.values[start..start + rows.len()].fill(f32::NAN);
        }
    }
}

/// A list's child values and where its rows lie in them.
fn rows_of(array: &ArrayRef, nulls: Option<&NullBuffer>) -> Option<(ArrayRef, Rows)> {
    match array.data_type() {
        DataType::List(_) => {
            let list = array.as_list::<i32>();
            let rows = by_offsets(list.value_offsets(), nulls, |o| o as usize);
            Some((list.values().clone(), rows))
        }
        DataType::LargeList(_) => {
            let list = array.as_list::<i64>();
            let rows = by_offsets(list.value_offsets(), nulls, |o| o as usize);
            Some((list.values().clone(), rows))
        }
        DataType::FixedSizeList(_, n) => {
            let list = array.as_fixed_size_list();
            let width = *n as usize;
            let first = list.value_offset_at(0);
            let row = |i: usize| {
                let start = first + i * width;
                nulls.is_none_or(|n| n.is_valid(i)).then_some(start..start + width)
            };
            let rows = match nulls {
                None => Rows::Even { first, width },
                Some(_) => Rows::Uneven((0..list.len()).map(row).collect()),
            };
            Some((list.values().clone(), rows))
        }
        _ => None,
    }
}

fn by_offsets<O: Copy>(offsets: &[O], nulls: Option<&NullBuffer>, at: impl Fn(O) -> usize) -> Rows {
    let first = offsets.first().map_or(0, |&o| at(o));
    let width = offsets.get(1).map_or(0, |&o| at(o) - first);
    let even = offsets.windows(2).all(|pair| at(pair[1]) - at(pair[0]) == width);
    if nulls.is_none() && even {
        return Rows::Even { first, width };
    }
    let row = |(i, pair): (usize, &[O])| {
        nulls.is_none_or(|n| n.is_valid(i)).then(|| at(pair[0])..at(pair[1]))
    };
    Rows::Uneven(offsets.windows(2).enumerate().map(row).collect())
}
