//! Rows, the tables they are written into, and the episodes that are read back.

use std::error::Error;
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, FixedSizeListArray, Float32Array, Float64Array, Int64Array, LargeListArray,
    ListArray, StructArray,
};
use arrow::buffer::OffsetBuffer;
use arrow::datatypes::{DataType, Field};
use arrow::record_batch::RecordBatch;
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use teleassay::source::{Dataset, Declared, Source, SourceError};

pub type Outcome = Result<(), Box<dyn Error>>;

pub const JOINTS: [&str; 3] = ["waist", "elbow", "jaw"];

/// One frame as a test wants it stored.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub episode: i64,
    pub time: f64,
    pub state: [f32; 3],
    pub action: [f32; 3],
}

/// Episodes of these lengths, one after the other, at 50 Hz.
pub fn rows(lengths: &[usize]) -> Vec<Row> {
    let mut rows = Vec::new();
    for (episode, &length) in lengths.iter().enumerate() {
        for frame in 0..length {
            let phase = frame as f32 * 0.05 + episode as f32;
            let state = [phase.sin(), (phase * 0.7).cos() * 1.2, 0.3 + 0.2 * phase.sin()];
            rows.push(Row {
                episode: episode.cast_signed() as i64,
                time: frame as f64 * 0.02,
                state,
                action: state.map(|v| v + 0.01),
            });
        }
    }
    rows
}

/// How joint vectors are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    List,
    LargeList,
    FixedSizeList,
    Struct,
    Scalars,
}

/// Joint vectors under a name, in a layout.
pub fn vector(name: &str, values: &[[f32; 3]], layout: Layout) -> Vec<(String, ArrayRef)> {
    let flat: ArrayRef = Arc::new(Float32Array::from_iter_values(values.iter().flatten().copied()));
    let item = Arc::new(Field::new("item", DataType::Float32, true));
    let one = |array: ArrayRef| vec![(name.to_string(), array)];
    let joint = |j: usize| -> ArrayRef {
        Arc::new(Float32Array::from_iter_values(values.iter().map(|v| v[j])))
    };
    match layout {
        Layout::List => {
            let offsets = OffsetBuffer::from_repeated_length(3, values.len());
            one(Arc::new(ListArray::new(item, offsets, flat, None)))
        }
        Layout::LargeList => {
            let offsets = OffsetBuffer::from_repeated_length(3, values.len());
            one(Arc::new(LargeListArray::new(item, offsets, flat, None)))
        }
        Layout::FixedSizeList => one(Arc::new(FixedSizeListArray::new(item, 3, flat, None))),
        Layout::Struct => {
            let field = |j: usize| Arc::new(Field::new(JOINTS[j], DataType::Float32, false));
            let parts: Vec<_> = (0..3).map(|j| (field(j), joint(j))).collect();
            one(Arc::new(StructArray::from(parts)))
        }
        Layout::Scalars => (0..3).map(|j| (format!("{name}_{}", JOINTS[j]), joint(j))).collect(),
    }
}

/// A table of rows: episode, time, follower, leader.
pub fn table(rows: &[Row], layout: Layout) -> Result<RecordBatch, Box<dyn Error>> {
    let episode: ArrayRef = Arc::new(Int64Array::from_iter_values(rows.iter().map(|r| r.episode)));
    let mut columns = vec![("episode".to_string(), episode)];
    columns.extend(recording(rows, layout));
    Ok(RecordBatch::try_from_iter(columns)?)
}

/// The columns without the episode.
pub fn recording(rows: &[Row], layout: Layout) -> Vec<(String, ArrayRef)> {
    let time: ArrayRef = Arc::new(Float64Array::from_iter_values(rows.iter().map(|r| r.time)));
    let states: Vec<_> = rows.iter().map(|r| r.state).collect();
    let actions: Vec<_> = rows.iter().map(|r| r.action).collect();
    let mut columns = vec![("time".to_string(), time)];
    columns.extend(vector("follower", &states, layout));
    columns.extend(vector("leader", &actions, layout));
    columns
}

/// Writes Parquet with row groups of this many rows.
pub fn parquet(path: &Path, batch: &RecordBatch, group: usize) -> Outcome {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)?;
    }
    let properties = WriterProperties::builder()
        .set_max_row_group_row_count(Some(group))
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_data_page_row_count_limit(300)
        .set_write_batch_size(100)
        .build();
    let mut writer = ArrowWriter::try_new(File::create(path)?, batch.schema(), Some(properties))?;
    writer.write(batch)?;
    writer.close()?;
    Ok(())
}

/// One episode as read, with bits in place of values so that `NaN` is equal to itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    pub id: String,
    pub time: Vec<u64>,
    pub state: Vec<u32>,
    pub action: Option<Vec<u32>>,
    pub task: Option<String>,
    pub ragged: u32,
}

impl Seen {
    /// Stamps in seconds.
    pub fn time_s(&self) -> Vec<f64> {
        self.time.iter().map(|bits| f64::from_bits(*bits)).collect()
    }

    /// The follower's value of a joint at a frame.
    pub fn state_at(&self, joint: usize, frame: usize) -> f32 {
        f32::from_bits(self.state[joint * self.time.len() + frame])
    }
}

/// What is expected of rows, worked out row by row.
pub fn expected(rows: &[Row]) -> Vec<Seen> {
    let mut order: Vec<i64> = Vec::new();
    for row in rows {
        if !order.contains(&row.episode) {
            order.push(row.episode);
        }
    }
    let seen = |episode: &i64| {
        let own: Vec<&Row> = rows.iter().filter(|r| r.episode == *episode).collect();
        let joint = |of: fn(&Row) -> [f32; 3]| {
            (0..3).flat_map(|j| own.iter().map(move |r| of(r)[j].to_bits())).collect::<Vec<_>>()
        };
        Seen {
            id: episode.to_string(),
            time: own.iter().map(|r| r.time.to_bits()).collect(),
            state: joint(|r| r.state),
            action: Some(joint(|r| r.action)),
            task: None,
            ragged: 0,
        }
    };
    order.iter().map(seen).collect()
}

/// Opens with nothing declared.
pub fn open(path: &Path) -> Result<Dataset, SourceError> {
    open_declared(path, &Declared::default())
}

/// Opens with declarations.
pub fn open_declared(path: &Path, declared: &Declared) -> Result<Dataset, SourceError> {
    Dataset::open(&[path.to_string_lossy().into_owned()], declared)
}

/// Reads everything, in the order of the dataset, and the reasons of what could not be read.
pub fn read(dataset: &Dataset) -> (Vec<Seen>, Vec<String>) {
    let bits = |values: &[f32]| values.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
    let mut seen = Vec::new();
    let mut reasons: Vec<String> = dataset.unread().iter().map(|u| u.reason.clone()).collect();
    for shard in 0..dataset.shards() {
        let unread = dataset.read(shard, &mut |episode| {
            let one = Seen {
                id: episode.key.id.clone(),
                time: episode.time_s.iter().map(|t| t.to_bits()).collect(),
                state: bits(episode.state.values()),
                action: episode.action.as_ref().map(|a| bits(a.values())),
                task: episode.key.task.as_ref().map(ToString::to_string),
                ragged: episode.ragged_rows,
            };
            seen.push((episode.key.index, one));
        });
        reasons.extend(unread.into_iter().map(|u| u.reason));
    }
    seen.sort_by_key(|(index, _)| *index);
    (seen.into_iter().map(|(_, one)| one).collect(), reasons)
}

/// The error of a dataset that must not open.
pub fn refusal(result: Result<Dataset, SourceError>) -> String {
    match result {
        Ok(_) => "it opened".to_string(),
        Err(e) => match e.hint() {
            Some(hint) => format!("{e}; {hint}"),
            None => e.to_string(),
        },
    }
}
