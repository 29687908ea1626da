//! Copies one column of a Parquet row group, value by value.

use parquet::column::writer::ColumnWriterImpl;
use parquet::data_type::DataType;
use parquet::schema::types::SchemaDescriptor;

use crate::source::copy::changed::changes;
use crate::source::copy::edit::Edit;
use crate::source::copy::error::Trouble;
use crate::source::copy::leaf_edit::{Begin, Stored, change};
use crate::source::copy::parquet_input::{Cursor, Decoded, ParquetInput};
use crate::source::copy::parquet_plan::Part;
use crate::source::copy::table::Piece;

/// Records that are written at a time.
const ENOUGH: usize = 8192;

/// What a column of a piece is made of.
struct Origin<'a> {
    /// The column that is read.
    leaf: usize,
    /// By how many rows later.
    later: i64,
    edits: Vec<&'a Edit>,
}

/// Copies the parts of one column.
pub(super) fn copy<T: Stored>(
    file: &ParquetInput,
    (leaf, parts): (usize, &[Part]),
    pieces: &[Piece],
    writer: &mut ColumnWriterImpl<'_, T>,
) -> Result<(), Trouble> {
    let schema = file.metadata.file_metadata().schema_descr();
    let descriptor = schema.column(leaf);
    let full = descriptor.max_def_level();
    let listed = descriptor.max_rep_level() > 0;
    let mut cursors: Vec<(usize, Cursor<'_, T>)> = Vec::new();
    let mut held = Decoded::default();
    for part in parts {
        let piece = &pieces[part.piece];
        let origin = origin(schema, leaf, piece)?;
        let known = cursors.iter().position(|(known, _)| *known == origin.leaf);
        let cursor = known.unwrap_or(cursors.len());
        if known.is_none() {
            cursors.push((origin.leaf, Cursor::new(file, origin.leaf)));
        }
        let mut at = part.rows.start;
        while at < part.rows.end {
            let from = Begin {
                levels: held.definition.len(),
                values: held.values.len(),
                rows: at - piece.rows.start,
            };
            let later = |row: u64| row.saturating_add_signed(origin.later);
            let read = cursors[cursor].1.read(&(later(at)..later(part.rows.end)), &mut held)?;
            for edit in &origin.edits {
                change::<T>(edit, from, (full, listed), &mut held)?;
            }
            at += read;
            if held.records >= ENOUGH {
                write(writer, &mut held)?;
            }
        }
    }
    write(writer, &mut held)
}

fn write<T: DataType>(
    writer: &mut ColumnWriterImpl<'_, T>,
    held: &mut Decoded<T::T>,
) -> Result<(), Trouble> {
    if held.records > 0 {
        let definition = (!held.definition.is_empty()).then_some(held.definition.as_slice());
        let repetition = (!held.repetition.is_empty()).then_some(held.repetition.as_slice());
        writer
            .write_batch(&held.values, definition, repetition)
            .map_err(|e| Trouble::writing(&e))?;
    }
    held.clear();
    Ok(())
}

/// Where a column of a piece comes from.
fn origin<'p>(
    schema: &SchemaDescriptor,
    leaf: usize,
    piece: &'p Piece,
) -> Result<Origin<'p>, Trouble> {
    let mut origin = Origin { leaf, later: 0, edits: Vec::new() };
    let column = schema.column(leaf);
    let own = column.path().parts();
    for edit in piece.edits.iter().filter(|edit| changes(edit, own)) {
        match edit {
            Edit::TakeFrom { path, other } => {
                let wanted: Vec<&String> = other.iter().chain(&own[path.len()..]).collect();
                let same = |leaf: &usize| {
                    schema.column(*leaf).path().parts().iter().eq(wanted.iter().copied())
                };
                let found = (0..schema.num_columns()).find(same);
                let alike = found.filter(|other| alike(schema, leaf, *other));
                origin.leaf = alike.ok_or_else(|| {
                    let what = format!(
                        "columns \"{}\" and \"{}\" are not of the same type",
                        path.join("."),
                        other.join(".")
                    );
                    Trouble::Refused(what, "convert one of them first")
                })?;
            }
            Edit::Later { rows, .. } => origin.later = *rows,
            _ => origin.edits.push(edit),
        }
    }
    Ok(origin)
}

/// Whether two columns store the same kind of values.
fn alike(schema: &SchemaDescriptor, a: usize, b: usize) -> bool {
    let (a, b) = (schema.column(a), schema.column(b));
    a.physical_type() == b.physical_type()
        && a.logical_type_ref() == b.logical_type_ref()
        && a.converted_type() == b.converted_type()
        && a.type_length() == b.type_length()
        && a.max_def_level() == b.max_def_level()
        && a.max_rep_level() == b.max_rep_level()
}
