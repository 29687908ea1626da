//! Finds a column's values in a batch, down through structs.

use arrow::array::{Array, ArrayRef, AsArray};
use arrow::buffer::NullBuffer;
use arrow::record_batch::RecordBatch;

/// The array at a path and where it, or a struct around it, is null.
pub(in crate::source) fn at(
    batch: &RecordBatch,
    path: &[String],
) -> Option<(ArrayRef, Option<NullBuffer>)> {
    let (first, rest) = path.split_first()?;
    let mut array = batch.column_by_name(first)?.clone();
    let mut nulls = array.nulls().cloned();
    for name in rest {
        let child = array.as_struct_opt()?.column_by_name(name)?.clone();
        nulls = NullBuffer::union(nulls.as_ref(), child.nulls());
        array = child;
    }
    let nulls = nulls.filter(|n| n.null_count() > 0);
    Some((array, nulls))
}
