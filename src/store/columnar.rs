//! Tables for other programs as Parquet: typed columns, written in parts.

use std::io::Write;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, BooleanArray, Float64Array, ListArray, StringArray, StructArray, UInt64Array,
};
use arrow::buffer::OffsetBuffer;
use arrow::datatypes::{DataType, Field, Fields, Schema};
use arrow::record_batch::RecordBatch;
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use serde::Serialize;

use super::error::StoreError;

/// A column of some rows.
#[derive(Debug)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// What is in it, row by row.
    pub values: Values,
}

/// What is in it; empty where nothing is known.
#[derive(Debug)]
pub enum Values {
    /// Texts.
    Text(Vec<Option<String>>),
    /// Whole numbers.
    Whole(Vec<Option<u64>>),
    /// Numbers.
    Number(Vec<Option<f64>>),
    /// Yes or no.
    Flag(Vec<Option<bool>>),
    /// Lists of ids; in CSV separated by semicolons.
    Ids(Vec<Vec<String>>),
    /// Stretches of frames; in CSV as JSON.
    Spans(Vec<Vec<SpanCell>>),
}

/// A stretch of frames, half open, and the times of its first and last frame.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpanCell {
    /// The first frame, and the first after the last.
    pub frames: [u64; 2],
    /// From when to when, in seconds.
    pub time_s: [Option<f64>; 2],
}

/// Writes parts of a table as Parquet, each a row group. `key` says in the metadata what it is.
///
/// # Errors
/// If the output cannot be written.
pub fn write_columns(
    key: &str,
    parts: impl Iterator<Item = Vec<Column>>,
    out: &mut (dyn Write + Send),
) -> Result<(), StoreError> {
    let mut writer: Option<ArrowWriter<_>> = None;
    let mut out = Some(out);
    for part in parts {
        let batch = batch(part)?;
        if let Some(out) = out.take() {
            let properties = WriterProperties::builder()
                .set_compression(Compression::ZSTD(ZstdLevel::default()))
                .set_created_by(concat!("teleassay ", env!("CARGO_PKG_VERSION")).to_owned())
                .set_key_value_metadata(Some(vec![KeyValue::new(key.to_owned(), "1".to_owned())]));
            writer = Some(ArrowWriter::try_new(out, batch.schema(), Some(properties.build()))?);
        }
        if let Some(writer) = &mut writer {
            writer.write(&batch)?;
            writer.flush()?;
        }
    }
    if let Some(writer) = writer {
        writer.close()?;
    }
    Ok(())
}

fn batch(part: Vec<Column>) -> Result<RecordBatch, StoreError> {
    let mut fields = Vec::with_capacity(part.len());
    let mut arrays: Vec<ArrayRef> = Vec::with_capacity(part.len());
    for Column { name, values } in part {
        let array: ArrayRef = match values {
            Values::Text(all) => Arc::new(StringArray::from(all)),
            Values::Whole(all) => Arc::new(UInt64Array::from(all)),
            Values::Number(all) => Arc::new(Float64Array::from(all)),
            Values::Flag(all) => Arc::new(BooleanArray::from(all)),
            Values::Ids(all) => {
                let ids = StringArray::from_iter_values(all.iter().flatten());
                list(all.iter().map(Vec::len), Arc::new(ids))?
            }
            Values::Spans(all) => list(all.iter().map(Vec::len), spans(&all))?,
        };
        fields.push(Field::new(name, array.data_type().clone(), true));
        arrays.push(array);
    }
    Ok(RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays)?)
}

fn list(lengths: impl Iterator<Item = usize>, values: ArrayRef) -> Result<ArrayRef, StoreError> {
    let item = Arc::new(Field::new("item", values.data_type().clone(), true));
    let offsets = OffsetBuffer::from_lengths(lengths);
    Ok(Arc::new(ListArray::try_new(item, offsets, values, None)?))
}

fn spans(all: &[Vec<SpanCell>]) -> ArrayRef {
    let each = || all.iter().flatten();
    let whole = |end: usize| -> ArrayRef {
        Arc::new(UInt64Array::from_iter_values(each().map(|span| span.frames[end])))
    };
    let time = |end: usize| -> ArrayRef {
        Arc::new(each().map(|span| span.time_s[end]).collect::<Float64Array>())
    };
    let field = |name: &str, kind| Field::new(name, kind, true);
    let fields = Fields::from(vec![
        field("first_frame", DataType::UInt64),
        field("end_frame", DataType::UInt64),
        field("from_s", DataType::Float64),
        field("to_s", DataType::Float64),
    ]);
    Arc::new(StructArray::new(fields, vec![whole(0), whole(1), time(0), time(1)], None))
}
