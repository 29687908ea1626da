//! Tables to spoil: a sound session as one batch of rows, and ways to change it.

use std::error::Error;
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{ArrayRef, AsArray, Float32Builder, ListBuilder, RecordBatch};
use arrow::compute::concat_batches;
use arrow::datatypes::Float32Type;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use teleassay::demo::{Recipe, WriteOptions, write as write_demo};

/// A sound session of six joints in degrees, with columns episode, time, task, follower, leader.
pub fn session(episodes: u64) -> Result<RecordBatch, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    rows(dir.path(), &Recipe { episodes, ..Recipe::default() })
}

/// Writes the session of a recipe with its profile into a folder, and gives its rows.
pub fn rows(folder: &Path, recipe: &Recipe) -> Result<RecordBatch, Box<dyn Error>> {
    let written = write_demo(folder, recipe, &WriteOptions::default())?;
    let mut batches = Vec::new();
    for table in &written.tables {
        let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(table)?)?.build()?;
        batches.extend(reader.collect::<Result<Vec<_>, _>>()?);
    }
    let schema = batches.first().ok_or("no rows")?.schema();
    Ok(concat_batches(&schema, &batches)?)
}

/// Puts a column in the place of the one of that name, or at the end.
pub fn with(
    batch: &RecordBatch,
    name: &str,
    column: &ArrayRef,
) -> Result<RecordBatch, Box<dyn Error>> {
    let mut named = columns(batch);
    match named.iter_mut().find(|(other, _)| other == name) {
        Some(place) => place.1 = Arc::clone(column),
        None => named.push((name.to_owned(), Arc::clone(column))),
    }
    Ok(RecordBatch::try_from_iter_with_nullable(
        named.into_iter().map(|(name, column)| (name, column, true)),
    )?)
}

/// Leaves a column out.
pub fn without(batch: &RecordBatch, name: &str) -> Result<RecordBatch, Box<dyn Error>> {
    let kept = columns(batch).into_iter().filter(|(other, _)| other != name);
    Ok(RecordBatch::try_from_iter(kept)?)
}

fn columns(batch: &RecordBatch) -> Vec<(String, ArrayRef)> {
    let schema = batch.schema();
    let names = schema.fields().iter().map(|field| field.name().clone());
    names.zip(batch.columns().iter().cloned()).collect()
}

/// A list column with its rows changed; `None` is a null.
pub fn relisted(
    batch: &RecordBatch,
    name: &str,
    change: impl Fn(usize, Vec<f32>) -> Option<Vec<f32>>,
) -> Result<ArrayRef, Box<dyn Error>> {
    let column = batch.column_by_name(name).ok_or("no such column")?.as_list::<i32>();
    let mut list = ListBuilder::new(Float32Builder::new());
    for row in 0..batch.num_rows() {
        let values = column.value(row).as_primitive::<Float32Type>().values().to_vec();
        match change(row, values) {
            Some(values) => list.append_value(values.into_iter().map(Some)),
            None => list.append_null(),
        }
    }
    Ok(Arc::new(list.finish()))
}

/// Writes a Parquet file.
pub fn parquet(path: &Path, batch: &RecordBatch) -> Result<(), Box<dyn Error>> {
    let mut writer = ArrowWriter::try_new(File::create(path)?, batch.schema(), None)?;
    writer.write(batch)?;
    writer.close()?;
    Ok(())
}
