//! Takes the episodes of a measurements file up again, to go on with more of them.

use arrow::array::{AsArray as _, StringArray, UInt32Array, UInt64Array};
use arrow::datatypes::{UInt32Type, UInt64Type};
use arrow::record_batch::RecordBatch;
use std::sync::Arc;

use parquet::arrow::arrow_reader::ParquetRecordBatchReader;
use parquet::arrow::{ProjectionMask, parquet_to_arrow_field_levels};

use super::build::Rows;
use super::damage::Damage;
use super::error::StoreError;
use super::held;
use super::open::Stored;
use super::spool::Spool;
use super::stored_file::StoredFile;
use crate::parquet_io::pages::GroupPages;

/// Rows taken at a time.
const BATCH: usize = 256;

/// An episode that was taken up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its id.
    pub id: String,
    /// Number of the file it was read from.
    pub input: u32,
    /// Its first row there.
    pub first_row: u64,
}

impl Stored {
    /// Puts all its episodes into a spool of the same columns, and says which they are.
    ///
    /// # Errors
    /// If it cannot be read, or was measured with other checks than the spool is for.
    pub fn import(&self, spool: &mut Spool) -> Result<Vec<Taken>, StoreError> {
        let mut taken = Vec::new();
        for place in &self.places {
            let file = &self.files[place.file];
            let batches =
                group(file, place.group).map_err(|what| StoreError::damaged(&file.path, what))?;
            for batch in batches {
                let batch = batch.map_err(|what| StoreError::damaged(&file.path, what))?;
                let rows = fitted(&batch, spool)
                    .ok_or_else(|| StoreError::OtherChecks { path: file.path.clone() })?;
                let episodes = episodes(&rows, file);
                taken.extend(episodes.map_err(|what| StoreError::damaged(&file.path, what))?);
                spool.push(Rows(rows))?;
            }
        }
        Ok(taken)
    }
}

type Batches = Vec<Result<RecordBatch, Damage>>;

fn group(file: &StoredFile, group: usize) -> Result<Batches, Damage> {
    let descriptor = file.footer.parquet_schema();
    let mask = ProjectionMask::all();
    let input = held::block(file, group, &mask)?;
    let levels = parquet_to_arrow_field_levels(descriptor, mask, None)?;
    let metadata = Arc::clone(file.footer.metadata());
    let pages = GroupPages { input: Arc::new(input), metadata, groups: group..group + 1 };
    let reader = ParquetRecordBatchReader::try_new_with_row_groups(&levels, &pages, BATCH, None)?;
    Ok(reader.map(|batch| batch.map_err(Damage::from)).collect())
}

/// The columns of the spool; none where they are not all there, or there are more.
fn fitted(batch: &RecordBatch, spool: &Spool) -> Option<RecordBatch> {
    let schema = &spool.layout().schema;
    if batch.num_columns() != schema.fields().len() {
        return None;
    }
    let column = |name: &String| batch.column_by_name(name).cloned();
    let columns = schema.fields().iter().map(|field| column(field.name()));
    RecordBatch::try_new(Arc::clone(schema), columns.collect::<Option<Vec<_>>>()?).ok()
}

fn episodes(batch: &RecordBatch, file: &StoredFile) -> Result<Vec<Taken>, Damage> {
    let column =
        |name: &str| batch.column_by_name(name).ok_or_else(|| Damage::NoColumn(name.to_owned()));
    let other = |name: &str| Damage::OtherType(name.to_owned());
    let ids: &StringArray = column("episode")?.as_string_opt().ok_or_else(|| other("episode"))?;
    let inputs: &UInt32Array =
        column("input")?.as_primitive_opt::<UInt32Type>().ok_or_else(|| other("input"))?;
    let rows: &UInt64Array =
        column("first_row")?.as_primitive_opt::<UInt64Type>().ok_or_else(|| other("first_row"))?;
    let one = |at: usize| Taken {
        id: ids.value(at).to_owned(),
        input: file.inputs_before + inputs.value(at),
        first_row: rows.value(at),
    };
    Ok((0..batch.num_rows()).map(one).collect())
}
