//! Reads one block of a measurements file.

use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use arrow::array::{Array, BinaryArray, Float64Array, ListArray, StringArray, UInt64Array};
use arrow::datatypes::{Float64Type, UInt32Type};
use arrow::record_batch::RecordBatch;
use parquet::arrow::arrow_reader::ParquetRecordBatchReader;
use parquet::arrow::{ProjectionMask, parquet_to_arrow_field_levels};

use super::damage::Damage;
use super::error::StoreError;
use super::held;
use super::layout::{Slot, label_column};
use super::lists::{self, Items};
use super::open::Stored;
use super::stored_file::StoredFile;
use crate::catalogue::find_of_episodes;
use crate::model::{
    CheckSpec, EpisodeIndex, EpisodeKey, FrameSpan, JointId, Metric, Moments, NotAssessed, Reading,
    RowRange, Sketch, SpanList,
};
use crate::parquet_io::pages::GroupPages;

/// Rows decoded at a time: hundreds of columns of so many still lie in the cache together.
const BATCH: usize = 512;
/// Columns that are always read.
const FIXED: &[&str] = &[
    "episode",
    "task",
    "index",
    "input",
    "first_row",
    "end_row",
    "frames",
    "start_s",
    "duration_s",
    "spans",
    "notes",
    "not_assessed",
    "content",
];

/// What of each episode is wanted.
#[derive(Debug, Clone, Copy, Default)]
pub struct Want<'a> {
    /// Readings of these checks.
    pub checks: &'a [&'static CheckSpec],
    /// The sketch of its motion.
    pub motion: bool,
}

/// One episode as it was stored.
#[derive(Debug)]
pub struct StoredEpisode<'a> {
    /// Which one; its place is that among all measurements files.
    pub key: EpisodeKey,
    /// Number of frames.
    pub frames: usize,
    /// First stamp, in seconds.
    pub start_s: f64,
    /// Last stamp minus first, in seconds.
    pub duration_s: f64,
    /// Readings in the order of the checks, without spans and notes: those are `evidence`. None where
    /// they were not asked for.
    pub readings: Vec<Reading>,
    /// What could not be measured.
    pub not_assessed: Vec<NotAssessed>,
    /// Hash of all state and action values, where it is known.
    pub content: Option<u64>,
    /// The sketch of its motion, where it is wanted and was stored.
    pub sketch: Option<Sketch>,
    /// What bears its readings out.
    pub evidence: Evidence<'a>,
}

/// Spans and notes of one episode's readings, looked up where they are needed: hardly any are.
#[derive(Debug, Clone, Copy)]
pub struct Evidence<'a> {
    columns: &'a Columns<'a>,
    row: usize,
}

impl Evidence<'_> {
    /// Spans of a reading, the times of their ends in seconds from the episode's start, and its note.
    pub fn of(
        &self,
        check: &CheckSpec,
        metric: &Metric,
        joint: Option<JointId>,
    ) -> (SpanList, Vec<[f64; 2]>, Option<&str>) {
        let columns = self.columns;
        let named = columns.readings.iter().find(|(slot, _)| {
            slot.metric.is(metric) && slot.joint == joint && slot.check.is(check)
        });
        let Some((slot, _)) = named else { return (SpanList::default(), Vec::new(), None) };
        let (mut spans, mut times) = (Vec::new(), Vec::new());
        for at in columns.spans.rows(self.row).filter(|at| columns.span_of.value(*at) == slot.name)
        {
            let (start, end) = (columns.span_start.value(at), columns.span_end.value(at));
            spans.push(FrameSpan { start, end: end.max(start) });
            times.push([columns.span_from.value(at), columns.span_to.value(at)]);
        }
        let mut notes = columns.notes.rows(self.row);
        let note = notes.find(|at| columns.note_of.value(*at) == slot.name);
        (SpanList::longest(spans), times, note.map(|at| columns.note.value(at)))
    }
}

/// Some hundreds of episodes in the order in which they were stored.
#[derive(Debug)]
pub struct Batch<'a> {
    columns: &'a Columns<'a>,
    file: &'a StoredFile,
    want: &'a Want<'a>,
    episodes: usize,
}

impl Batch<'_> {
    /// Number of episodes.
    pub fn episodes(&self) -> usize {
        self.episodes
    }

    /// Shows each measurement, in the order of the checks, with what was read of it in each episode:
    /// `NaN` where it was not read.
    pub fn each_measurement(&self, see: &mut dyn FnMut(Measurement, &[f64])) {
        let mut read = Vec::with_capacity(self.episodes);
        for (slot, values) in &self.columns.readings {
            let finite = |value: &f64| if value.is_finite() { *value } else { f64::NAN };
            read.clear();
            read.extend(values.values().iter().map(finite));
            if let Some(nulls) = values.nulls().filter(|nulls| nulls.null_count() > 0) {
                let missing = (0..self.episodes).filter(|row| nulls.is_null(*row));
                missing.for_each(|row| read[row] = f64::NAN);
            }
            see((slot.check, slot.metric, slot.joint), &read);
        }
    }

    /// One of them, with its readings where they are wanted.
    ///
    /// # Errors
    /// What is wrong with it, if it is damaged.
    pub fn episode(&self, row: usize, readings: bool) -> Result<StoredEpisode<'_>, Damage> {
        self.columns.episode(self.file, row, self.want, readings)
    }
}

/// A check's measurement of one joint, or of the whole episode.
pub type Measurement = (&'static CheckSpec, &'static Metric, Option<JointId>);

impl Stored {
    /// Reads one block and shows its episodes in the order in which they were stored.
    ///
    /// # Errors
    /// If the file is damaged or gone.
    pub fn read(
        &self,
        block: usize,
        want: &Want<'_>,
        visit: &mut dyn FnMut(&Batch<'_>) -> Result<(), Damage>,
    ) -> Result<(), StoreError> {
        let place = self.places[block];
        let file = &self.files[place.file];
        // The data library panics on some damaged pages.
        let read = catch_unwind(AssertUnwindSafe(|| group(file, place.group, want, visit)));
        let said = read.unwrap_or_else(|_| Err(Damage::Length));
        said.map_err(|what| StoreError::damaged(&file.path, what))
    }
}

fn group(
    file: &StoredFile,
    group: usize,
    want: &Want<'_>,
    visit: &mut dyn FnMut(&Batch<'_>) -> Result<(), Damage>,
) -> Result<(), Damage> {
    let wanted = |slot: &Slot| want.checks.iter().any(|check| check.id == slot.check.id);
    let slots: Vec<&(usize, Slot)> = file.slots.iter().filter(|(_, slot)| wanted(slot)).collect();
    let schema = file.footer.schema();
    let mut roots: Vec<usize> = slots.iter().map(|(column, _)| *column).collect();
    let motion: &[&str] = if want.motion { &["moments", "levels"] } else { &[] };
    for name in FIXED.iter().chain(motion) {
        let (column, _) =
            schema.column_with_name(name).ok_or_else(|| Damage::NoColumn((*name).to_owned()))?;
        roots.push(column);
    }
    let label = |name: &String| schema.column_with_name(&label_column(name));
    roots.extend(file.labels.iter().filter_map(label).map(|(column, _)| column));
    let metadata = file.footer.metadata();
    let descriptor = file.footer.parquet_schema();
    let mask = ProjectionMask::roots(descriptor, roots);
    let input = held::block(file, group, &mask)?;
    let levels = parquet_to_arrow_field_levels(descriptor, mask, None)?;
    let pages = GroupPages {
        input: Arc::new(input),
        metadata: Arc::clone(metadata),
        groups: group..group + 1,
    };
    let reader = ParquetRecordBatchReader::try_new_with_row_groups(&levels, &pages, BATCH, None);
    let reader = reader?;
    let slots: Vec<&Slot> = slots.into_iter().map(|(_, slot)| slot).collect();
    for batch in reader {
        let batch = batch?;
        let columns = Columns::of(&batch, file, &slots, want)?;
        visit(&Batch { columns: &columns, file, want, episodes: batch.num_rows() })?;
    }
    Ok(())
}

/// The columns of one batch.
#[derive(Debug)]
struct Columns<'a> {
    id: &'a StringArray,
    task: &'a StringArray,
    last_task: RefCell<Option<Arc<str>>>,
    labels: Vec<&'a StringArray>,
    index: &'a UInt64Array,
    input: &'a arrow::array::UInt32Array,
    first_row: &'a UInt64Array,
    end_row: &'a UInt64Array,
    frames: &'a UInt64Array,
    start_s: &'a Float64Array,
    duration_s: &'a Float64Array,
    content: &'a UInt64Array,
    readings: Vec<(&'a Slot, &'a Float64Array)>,
    spans: Items<'a>,
    span_of: &'a StringArray,
    span_start: &'a arrow::array::UInt32Array,
    span_end: &'a arrow::array::UInt32Array,
    span_from: &'a Float64Array,
    span_to: &'a Float64Array,
    notes: Items<'a>,
    note_of: &'a StringArray,
    note: &'a StringArray,
    not_assessed: Items<'a>,
    not_assessed_of: &'a StringArray,
    not_assessed_joint: &'a StringArray,
    not_assessed_reason: &'a StringArray,
    motion: Option<(&'a ListArray, &'a [f32], &'a BinaryArray)>,
}

impl<'a> Columns<'a> {
    fn of(
        batch: &'a RecordBatch,
        file: &StoredFile,
        slots: &[&'a Slot],
        want: &Want<'_>,
    ) -> Result<Self, Damage> {
        let (spans, notes) = (Items::of(batch, "spans")?, Items::of(batch, "notes")?);
        let not_assessed = Items::of(batch, "not_assessed")?;
        let reading = |slot: &&'a Slot| Ok((*slot, lists::seconds(batch, &slot.name)?));
        let label = |name: &String| lists::text(batch, &label_column(name));
        let motion = if want.motion {
            let (list, values) = lists::floats(batch, "moments")?;
            Some((list, values, lists::bytes(batch, "levels")?))
        } else {
            None
        };
        Ok(Self {
            id: lists::text(batch, "episode")?,
            task: lists::text(batch, "task")?,
            last_task: RefCell::default(),
            labels: file.labels.iter().map(label).collect::<Result<_, Damage>>()?,
            index: lists::whole(batch, "index")?,
            input: lists::number(batch, "input")?,
            first_row: lists::whole(batch, "first_row")?,
            end_row: lists::whole(batch, "end_row")?,
            frames: lists::whole(batch, "frames")?,
            start_s: lists::seconds(batch, "start_s")?,
            duration_s: lists::seconds(batch, "duration_s")?,
            content: lists::whole(batch, "content")?,
            readings: slots.iter().map(reading).collect::<Result<_, Damage>>()?,
            span_of: spans.text("reading")?,
            span_start: spans.numbers::<UInt32Type>("first_frame")?,
            span_end: spans.numbers::<UInt32Type>("end_frame")?,
            span_from: spans.numbers::<Float64Type>("from_s")?,
            span_to: spans.numbers::<Float64Type>("to_s")?,
            spans,
            note_of: notes.text("reading")?,
            note: notes.text("note")?,
            notes,
            not_assessed_of: not_assessed.text("check")?,
            not_assessed_joint: not_assessed.text("joint")?,
            not_assessed_reason: not_assessed.text("reason")?,
            not_assessed,
            motion,
        })
    }

    fn episode(
        &'a self,
        file: &StoredFile,
        row: usize,
        want: &Want<'_>,
        readings: bool,
    ) -> Result<StoredEpisode<'a>, Damage> {
        let read = |(slot, values): &(&Slot, &Float64Array)| {
            let value = values.value(row);
            let Slot { check, metric, joint, .. } = **slot;
            let spans = SpanList::default();
            let there = values.is_valid(row) && value.is_finite();
            there.then_some(Reading { check, metric, joint, value, spans, note: None })
        };
        let readings =
            if readings { self.readings.iter().filter_map(read).collect() } else { Vec::new() };
        Ok(StoredEpisode {
            key: EpisodeKey {
                id: self.id.value(row).to_owned(),
                index: EpisodeIndex::new(file.episodes_before + self.index.value(row)),
                task: self.task_of(row),
                labels: self.labels_of(row),
                rows: RowRange {
                    input: file.inputs_before + self.input.value(row),
                    start: self.first_row.value(row),
                    end: self.end_row.value(row),
                },
            },
            frames: self.frames.value(row) as usize,
            start_s: self.start_s.value(row),
            duration_s: self.duration_s.value(row),
            readings,
            not_assessed: self.not_assessed_of_row(file, row, want),
            content: self.content.is_valid(row).then(|| self.content.value(row)),
            sketch: self.sketch(file, row)?,
            evidence: Evidence { columns: self, row },
        })
    }

    /// Most episodes show the task of the one before.
    fn task_of(&self, row: usize) -> Option<Arc<str>> {
        let task = self.task.is_valid(row).then(|| self.task.value(row))?;
        let mut last = self.last_task.borrow_mut();
        if last.as_deref() != Some(task) {
            *last = Some(Arc::from(task));
        }
        last.clone()
    }

    fn labels_of(&self, row: usize) -> Vec<Option<Arc<str>>> {
        let one = |label: &&StringArray| label.is_valid(row).then(|| label.value(row).into());
        self.labels.iter().map(one).collect()
    }

    fn not_assessed_of_row(
        &self,
        file: &StoredFile,
        row: usize,
        want: &Want<'_>,
    ) -> Vec<NotAssessed> {
        let one = |at: usize| {
            let id = self.not_assessed_of.value(at);
            let check = find_of_episodes(id)?.spec();
            let wanted = want.checks.iter().any(|check| check.id == id);
            let joint = if self.not_assessed_joint.is_valid(at) {
                let name = self.not_assessed_joint.value(at);
                let number = file.joints.iter().position(|joint| joint == name);
                Some(number.map_or(JointId::MAX, |number| number as JointId))
            } else {
                None
            };
            let reason = self.not_assessed_reason.value(at).to_owned().into();
            wanted.then_some(NotAssessed { check, joint, reason })
        };
        self.not_assessed.rows(row).filter_map(one).collect()
    }

    fn sketch(&self, file: &StoredFile, row: usize) -> Result<Option<Sketch>, Damage> {
        let Some((list, values, levels)) = self.motion else { return Ok(None) };
        if list.is_null(row) || levels.is_null(row) || self.content.is_null(row) {
            return Ok(None);
        }
        let offsets = list.value_offsets();
        let own = &values[offsets[row] as usize..offsets[row + 1] as usize];
        let moments: Vec<Moments> = own
            .as_chunks::<4>()
            .0
            .iter()
            .map(|&[mean, std, min, max]| Moments { mean, std, min, max })
            .collect();
        let pairs = levels.value(row).as_chunks::<2>().0;
        let levels = pairs.iter().map(|pair| u16::from_le_bytes(*pair)).collect();
        let joints = file.joints.len();
        let sketch = Sketch::from_parts(self.content.value(row), joints, moments, levels);
        sketch.map(Some).ok_or(Damage::Sketch)
    }
}
