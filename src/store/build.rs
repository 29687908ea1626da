//! From measured episodes to rows.

use std::sync::Arc;

use arrow::array::{
    ArrayRef, BinaryArray, Float32Array, Float64Array, ListArray, StringArray, StructArray,
    UInt32Array, UInt64Array,
};
use arrow::buffer::{NullBuffer, OffsetBuffer};
use arrow::datatypes::{DataType, Fields};
use arrow::record_batch::RecordBatch;

use super::error::StoreError;
use super::layout::{StoredColumns, item, not_assessed_fields, note_fields, span_fields};
use crate::model::{Moments, Motion, Scorecard};

/// One episode to store: its card with all readings and what was not assessed, and what the card does not hold.
#[derive(Debug, Clone, Copy)]
pub struct Entry<'a> {
    /// The card; its findings are not stored.
    pub card: &'a Scorecard,
    /// Times of the ends of each reading's spans, in the order of the readings.
    pub span_times_s: &'a [Vec<[f64; 2]>],
    /// The sketch of its motion.
    pub motion: Option<Motion<'a>>,
}

/// Some episodes as rows of a measurements file.
#[derive(Debug)]
pub struct Rows(pub(super) RecordBatch);

impl StoredColumns {
    /// The rows of some episodes.
    ///
    /// # Errors
    /// If a reading has no column, or arrow refuses: both faults of this program.
    pub fn rows(&self, entries: &[Entry<'_>]) -> Result<Rows, StoreError> {
        let text = |of: &dyn Fn(&Scorecard) -> String| -> ArrayRef {
            Arc::new(StringArray::from_iter_values(entries.iter().map(|e| of(e.card))))
        };
        let whole = |of: &dyn Fn(&Scorecard) -> u64| -> ArrayRef {
            Arc::new(UInt64Array::from_iter_values(entries.iter().map(|e| of(e.card))))
        };
        let seconds = |of: &dyn Fn(&Scorecard) -> f64| -> ArrayRef {
            Arc::new(Float64Array::from_iter_values(entries.iter().map(|e| of(e.card))))
        };
        let source = |card: &Scorecard| {
            self.sources.get(card.key.rows.input as usize).cloned().unwrap_or_default()
        };
        let inputs = entries.iter().map(|e| e.card.key.rows.input);
        let mut arrays: Vec<ArrayRef> = vec![
            text(&|card| card.key.id.clone()),
            Arc::new(entries.iter().map(|e| e.card.key.task.as_deref()).collect::<StringArray>()),
            whole(&|card| card.key.index.get()),
            Arc::new(UInt32Array::from_iter_values(inputs)),
            text(&source),
            whole(&|card| card.key.rows.start),
            whole(&|card| card.key.rows.end),
            whole(&|card| card.frames as u64),
            seconds(&|card| card.start_s),
            seconds(&|card| card.duration_s),
        ];
        for label in 0..self.labels {
            let of = |entry: &Entry<'_>| entry.card.key.labels.get(label).cloned().flatten();
            arrays.push(Arc::new(entries.iter().map(of).collect::<StringArray>()));
        }
        self.readings(entries, &mut arrays)?;
        arrays.extend([self.spans(entries)?, self.notes(entries)?, self.not_assessed(entries)?]);
        let motions = || entries.iter().map(|e| e.motion);
        arrays.push(Arc::new(motions().map(|m| m.map(|m| m.content)).collect::<UInt64Array>()));
        arrays.push(moments(entries)?);
        let bytes = motions().map(|m| {
            m.map(|m| m.levels.iter().flat_map(|level| level.to_le_bytes()).collect::<Vec<u8>>())
        });
        arrays.push(Arc::new(bytes.collect::<BinaryArray>()));
        Ok(Rows(RecordBatch::try_new(Arc::clone(&self.schema), arrays)?))
    }

    fn readings(
        &self,
        entries: &[Entry<'_>],
        arrays: &mut Vec<ArrayRef>,
    ) -> Result<(), StoreError> {
        let rows = entries.len();
        // A reading is finite: NaN stands for none.
        let mut values = vec![f64::NAN; self.slots.len() * rows];
        for (row, entry) in entries.iter().enumerate() {
            let mut guess = 0;
            for reading in &entry.card.readings {
                let slot = self.slot_of(reading, guess).ok_or_else(|| {
                    let joint = reading.joint.map_or(String::new(), |joint| format!("/{joint}"));
                    let (check, metric) = (reading.check.id, reading.metric.id);
                    StoreError::NoColumn(format!("{check}/{metric}{joint}"))
                })?;
                values[slot * rows + row] = reading.value;
                guess = slot + 1;
            }
        }
        for column in values.chunks(rows.max(1)).take(self.slots.len()) {
            let some = column.iter().map(|value| Some(*value).filter(|v| !v.is_nan()));
            arrays.push(Arc::new(some.collect::<Float64Array>()));
        }
        if rows == 0 {
            arrays.extend(self.slots.iter().map(|_| {
                let none: ArrayRef = Arc::new(Float64Array::from(Vec::<f64>::new()));
                none
            }));
        }
        Ok(())
    }

    fn name(&self, reading: &crate::model::Reading, guess: &mut usize) -> &str {
        match self.slot_of(reading, *guess) {
            Some(slot) => {
                *guess = slot;
                &self.slots[slot].name
            }
            None => "",
        }
    }

    fn spans(&self, entries: &[Entry<'_>]) -> Result<ArrayRef, StoreError> {
        let (mut lengths, mut names) = (Vec::new(), Vec::new());
        let (mut starts, mut ends) = (Vec::new(), Vec::new());
        let (mut from, mut to) = (Vec::new(), Vec::new());
        for entry in entries {
            let (before, mut guess) = (names.len(), 0);
            for (reading, times) in entry.card.readings.iter().zip(entry.span_times_s) {
                for (span, [first, last]) in reading.spans.as_slice().iter().zip(times) {
                    names.push(self.name(reading, &mut guess));
                    starts.push(span.start);
                    ends.push(span.end);
                    from.push(*first);
                    to.push(*last);
                }
            }
            lengths.push(names.len() - before);
        }
        let columns: Vec<ArrayRef> = vec![
            Arc::new(StringArray::from(names)),
            Arc::new(UInt32Array::from(starts)),
            Arc::new(UInt32Array::from(ends)),
            Arc::new(Float64Array::from(from)),
            Arc::new(Float64Array::from(to)),
        ];
        lists(lengths, span_fields(), columns)
    }

    fn notes(&self, entries: &[Entry<'_>]) -> Result<ArrayRef, StoreError> {
        let (mut lengths, mut names, mut notes) = (Vec::new(), Vec::new(), Vec::new());
        for entry in entries {
            let (before, mut guess) = (names.len(), 0);
            for reading in &entry.card.readings {
                if let Some(note) = &reading.note {
                    names.push(self.name(reading, &mut guess));
                    notes.push(note.as_ref());
                }
            }
            lengths.push(names.len() - before);
        }
        let columns: Vec<ArrayRef> =
            vec![Arc::new(StringArray::from(names)), Arc::new(StringArray::from(notes))];
        lists(lengths, note_fields(), columns)
    }

    fn not_assessed(&self, entries: &[Entry<'_>]) -> Result<ArrayRef, StoreError> {
        let lengths = entries.iter().map(|e| e.card.not_assessed.len()).collect();
        let not_assessed = || entries.iter().flat_map(|e| &e.card.not_assessed);
        let joint = |missing: &crate::model::NotAssessed| {
            let joint = missing.joint?;
            // One beyond the rig keeps its number.
            Some(self.joints.get(joint as usize).cloned().unwrap_or_else(|| format!("#{joint}")))
        };
        let columns: Vec<ArrayRef> = vec![
            Arc::new(StringArray::from_iter_values(not_assessed().map(|missing| missing.check.id))),
            Arc::new(not_assessed().map(joint).collect::<StringArray>()),
            Arc::new(StringArray::from_iter_values(not_assessed().map(|missing| &missing.reason))),
        ];
        lists(lengths, not_assessed_fields(), columns)
    }
}

fn lists(
    lengths: Vec<usize>,
    fields: Fields,
    columns: Vec<ArrayRef>,
) -> Result<ArrayRef, StoreError> {
    let items = StructArray::try_new(fields.clone(), columns, None)?;
    let offsets = OffsetBuffer::from_lengths(lengths);
    let kind = item(DataType::Struct(fields));
    Ok(Arc::new(ListArray::try_new(kind, offsets, Arc::new(items), None)?))
}

fn moments(entries: &[Entry<'_>]) -> Result<ArrayRef, StoreError> {
    let motions = || entries.iter().map(|e| e.motion);
    let lengths = motions().map(|m| m.map_or(0, |m| 4 * m.moments.len()));
    let there: NullBuffer = motions().map(|m| m.is_some()).collect();
    let four = |m: &Moments| [m.mean, m.std, m.min, m.max];
    let values = motions().flatten().flat_map(|m| m.moments).flat_map(four);
    let values = Arc::new(Float32Array::from_iter_values(values));
    let offsets = OffsetBuffer::from_lengths(lengths);
    Ok(Arc::new(ListArray::try_new(item(DataType::Float32), offsets, values, Some(there))?))
}
