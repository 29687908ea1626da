//! Rows that were written twice: equal to the row above in each column, to the bit.

use std::sync::Arc;

use arrow::array::{Array, RecordBatch};

use crate::model::EpisodeIndex;
use crate::source::copy::error::{CopyError, Trouble};
use crate::source::copy::place::Places;
use crate::source::copy::rows::EpisodeRows;
use crate::source::dataset::Dataset;
use crate::source::read_error::ReadError;
use crate::source::source_trait::Source as _;

/// Frames of an episode that are equal to the frame before them. A frame counter may count on: it is
/// of the logger, and not of what was measured.
///
/// # Errors
/// If the episode cannot be read.
pub fn doubled(
    source: &Dataset,
    index: EpisodeIndex,
    rows: &EpisodeRows,
    places: &Places,
) -> Result<Vec<u64>, CopyError> {
    let mut found = Vec::new();
    let mut frame = 0;
    let mut above: Option<RecordBatch> = None;
    for (input, stretch) in rows.episode(index) {
        let path = &source.inputs()[*input].path;
        let failed = |error: ReadError| Trouble::Read(error).of(path, path);
        let plan = &source.stored().0.files[*input];
        let table = plan.table(path, None).map_err(failed)?.table;
        let mut names: Vec<&String> = table.schema().fields().iter().map(|f| f.name()).collect();
        // Stamps differ most: they are compared first.
        names.sort_by_key(|name| places.time.as_ref().is_none_or(|time| time[0] != **name));
        let counter = places.frame.as_ref().filter(|frame| frame.len() == 1);
        names.retain(|name| counter.is_none_or(|counter| counter[0] != **name));
        let wanted: Vec<Vec<String>> = names.iter().map(|name| vec![(*name).clone()]).collect();
        let mut broken = None;
        let read = table.scan(&wanted, std::slice::from_ref(stretch), &mut |batch| {
            let order: Option<Vec<usize>> =
                names.iter().map(|name| batch.schema_ref().index_of(name).ok()).collect();
            let ordered = order.and_then(|order| batch.project(&order).ok());
            let Some(batch) = ordered else {
                broken = Some(ReadError::Columns("columns are missing".to_owned()));
                return false;
            };
            for row in 0..batch.num_rows() {
                let this = (&batch, row);
                let same = match (row, &above) {
                    (0, None) => false,
                    (0, Some(above)) => equal((above, 0), this),
                    _ => equal((&batch, row - 1), this),
                };
                if same {
                    found.push(frame);
                }
                frame += 1;
            }
            if batch.num_rows() > 0 {
                above = Some(batch.slice(batch.num_rows() - 1, 1));
            }
            true
        });
        read.map_err(failed)?;
        if let Some(error) = broken {
            return Err(failed(error));
        }
    }
    Ok(found)
}

fn equal(a: (&RecordBatch, usize), b: (&RecordBatch, usize)) -> bool {
    let columns = a.0.columns().iter().zip(b.0.columns());
    let one = |array: &Arc<dyn Array>, row: usize| array.slice(row, 1).to_data();
    a.0.num_columns() == b.0.num_columns()
        && columns.into_iter().all(|(x, y)| one(x, a.1) == one(y, b.1))
}
