//! One episode as an Arrow record batch, in any of the shapes that people store.

use std::sync::Arc;

use arrow::array::{
    ArrayRef, FixedSizeListArray, Float32Array, Float64Array, Int64Array, LargeListArray,
    ListArray, RecordBatch, StringArray, StructArray,
};
use arrow::buffer::OffsetBuffer;
use arrow::datatypes::{DataType, Field, FieldRef, Fields, Schema, SchemaRef};
use arrow::error::ArrowError;

use super::recipe::Recipe;
use super::recording::Recording;

/// How a session is stored. All layouts hold the same values; their lines are the help text.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, clap::ValueEnum)]
pub enum Layout {
    /// One list of numbers per frame
    #[default]
    List,
    /// The same with 64-bit offsets
    LargeList,
    /// The same, of fixed size
    FixedSizeList,
    /// One struct with a field per joint
    Struct,
    /// One column per joint
    Scalars,
    /// One file per episode
    FilePerEpisode,
    /// Arrow IPC files instead of Parquet
    IpcFile,
    /// Arrow IPC streams instead of Parquet
    IpcStream,
}

impl Layout {
    /// Every layout.
    pub const ALL: [Self; 8] = [
        Self::List,
        Self::LargeList,
        Self::FixedSizeList,
        Self::Struct,
        Self::Scalars,
        Self::FilePerEpisode,
        Self::IpcFile,
        Self::IpcStream,
    ];

    /// Extension of its files.
    pub const fn extension(self) -> &'static str {
        match self {
            Self::IpcFile => "arrow",
            Self::IpcStream => "arrows",
            _ => "parquet",
        }
    }
}

/// Joints of a fixed-size list, as Arrow counts them; a rig has at most 16.
const fn width(joints: usize) -> i32 {
    (joints as u32).cast_signed()
}

/// Shapes recordings into batches of one schema.
pub(super) struct Shaper {
    layout: Layout,
    schema: SchemaRef,
    joints: Fields,
    item: FieldRef,
    scale: f64,
    coarse_clock: bool,
    null_if_missing: bool,
}

impl Shaper {
    pub fn new(recipe: &Recipe, layout: Layout, null_if_missing: bool) -> Self {
        let rig = recipe.rig();
        let float = |name: &str| Field::new(name, DataType::Float32, true);
        let joints: Fields = rig.joints.iter().map(|j| float(&j.name)).collect();
        let item: FieldRef = Arc::new(float("item"));
        let time = if recipe.coarse_clock() { DataType::Float32 } else { DataType::Float64 };
        let mut columns = vec![
            Field::new("episode", DataType::Int64, false),
            Field::new("time", time, false),
            Field::new("task", DataType::Utf8, false),
        ];
        for role in ["follower", "leader"] {
            let vector = match layout {
                Layout::Scalars => {
                    columns.extend(joints.iter().map(|j| float(&format!("{role}_{}", j.name()))));
                    continue;
                }
                Layout::LargeList => DataType::LargeList(item.clone()),
                Layout::FixedSizeList => {
                    DataType::FixedSizeList(item.clone(), width(recipe.joints))
                }
                Layout::Struct => DataType::Struct(joints.clone()),
                _ => DataType::List(item.clone()),
            };
            columns.push(Field::new(role, vector, false));
        }
        Self {
            layout,
            schema: Arc::new(Schema::new(columns)),
            joints,
            item,
            scale: rig.unit.to_radian(),
            coarse_clock: recipe.coarse_clock(),
            null_if_missing,
        }
    }

    pub fn schema(&self) -> SchemaRef {
        self.schema.clone()
    }

    /// The recording as one batch.
    pub fn batch(&self, recording: &Recording) -> Result<RecordBatch, ArrowError> {
        let frames = recording.frames();
        let time: ArrayRef = if self.coarse_clock {
            Arc::new(recording.time_s.iter().map(|t| *t as f32).collect::<Float32Array>())
        } else {
            Arc::new(Float64Array::from(recording.time_s.clone()))
        };
        let mut columns: Vec<ArrayRef> = vec![
            Arc::new(Int64Array::from(vec![recording.id.cast_signed(); frames])),
            time,
            Arc::new(StringArray::from(vec![&*recording.task; frames])),
        ];
        for values in [&recording.follower, &recording.leader] {
            self.vectors(values, frames, &mut columns)?;
        }
        RecordBatch::try_new(self.schema.clone(), columns)
    }

    fn vectors(
        &self,
        values: &[Vec<f64>],
        frames: usize,
        columns: &mut Vec<ArrayRef>,
    ) -> Result<(), ArrowError> {
        let width = values.len();
        match self.layout {
            Layout::Scalars => columns.extend(values.iter().map(|v| self.column(v.iter()))),
            Layout::Struct => {
                let fields = values.iter().map(|v| self.column(v.iter())).collect();
                columns.push(Arc::new(StructArray::try_new(self.joints.clone(), fields, None)?));
            }
            _ => {
                let rows = (0..frames).flat_map(|frame| values.iter().map(move |v| &v[frame]));
                let flat = self.column(rows);
                let item = self.item.clone();
                let sizes = std::iter::repeat_n(width, frames);
                columns.push(match self.layout {
                    Layout::FixedSizeList => {
                        Arc::new(FixedSizeListArray::try_new(item, self::width(width), flat, None)?)
                    }
                    Layout::LargeList => {
                        let offsets = OffsetBuffer::from_lengths(sizes);
                        Arc::new(LargeListArray::try_new(item, offsets, flat, None)?)
                    }
                    _ => {
                        let offsets = OffsetBuffer::from_lengths(sizes);
                        Arc::new(ListArray::try_new(item, offsets, flat, None)?)
                    }
                });
            }
        }
        Ok(())
    }

    /// Values in the table's unit and in 32 bits.
    fn column<'a>(&self, values: impl Iterator<Item = &'a f64>) -> ArrayRef {
        let stored = values.map(|v| (v / self.scale) as f32);
        if self.null_if_missing {
            Arc::new(stored.map(|v| (!v.is_nan()).then_some(v)).collect::<Float32Array>())
        } else {
            Arc::new(Float32Array::from_iter_values(stored))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::simulate;
    use arrow::array::{Array, AsArray};
    use arrow::datatypes::Float32Type;

    /// The value of a joint at a frame, read from a batch by its layout's own rules.
    fn value(
        batch: &RecordBatch,
        layout: Layout,
        role: &str,
        joint: &str,
        at: (usize, usize),
    ) -> f32 {
        let (frame, place) = at;
        let vector = |name: &str| batch.column_by_name(name).cloned();
        let row = |row: ArrayRef| row.as_primitive::<Float32Type>().value(place);
        let Some(column) = vector(role) else {
            let scalar = vector(&format!("{role}_{joint}"));
            return scalar.map_or(f32::NAN, |c| c.as_primitive::<Float32Type>().value(frame));
        };
        match layout {
            Layout::Struct => {
                let fields = column.as_struct();
                let field = fields.column_by_name(joint);
                field.map_or(f32::NAN, |c| c.as_primitive::<Float32Type>().value(frame))
            }
            Layout::LargeList => row(column.as_list::<i64>().value(frame)),
            Layout::FixedSizeList => row(column.as_fixed_size_list().value(frame)),
            _ => row(column.as_list::<i32>().value(frame)),
        }
    }

    #[test]
    fn every_layout_holds_the_same_values() -> Result<(), Box<dyn std::error::Error>> {
        let recipe = Recipe { seed: 3, ..Recipe::default() };
        let recording = simulate(&recipe)?.remove(0);
        for layout in Layout::ALL {
            let batch = Shaper::new(&recipe, layout, false).batch(&recording)?;
            assert_eq!(batch.num_rows(), recording.frames());
            for (place, joint) in recipe.rig().joints.iter().enumerate() {
                for frame in [0, 57, recording.frames() - 1] {
                    for (role, truth) in
                        [("leader", &recording.leader), ("follower", &recording.follower)]
                    {
                        let got = value(&batch, layout, role, &joint.name, (frame, place));
                        let expected = truth[place][frame].to_degrees() as f32;
                        assert_eq!(got, expected, "{layout:?} {role} {} {frame}", joint.name);
                    }
                }
            }
        }
        Ok(())
    }

    #[test]
    fn missing_values_are_nan_or_null_as_asked() -> Result<(), Box<dyn std::error::Error>> {
        let fault = crate::demo::Fault::MissingValues { share: 0.02, run: 3 };
        let recipe = Recipe::default().with(fault, Some("waist"), &[]);
        let recording = simulate(&recipe)?.remove(0);
        let count = recording.truth.answers[0].count;
        let nan = Shaper::new(&recipe, Layout::Scalars, false).batch(&recording)?;
        let null = Shaper::new(&recipe, Layout::Scalars, true).batch(&recording)?;
        let waist = nan.column(3).as_primitive::<Float32Type>();
        assert_eq!(waist.values().iter().filter(|v| v.is_nan()).count(), count);
        assert_eq!((waist.null_count(), null.column(3).null_count()), (0, count));
        Ok(())
    }
}
