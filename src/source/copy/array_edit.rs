//! Changes of columns of an Arrow batch.

use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, AsArray, FixedSizeListArray, GenericListArray, Int64Array, OffsetSizeTrait,
    PrimitiveArray, RecordBatch, StringArray, StructArray, UInt64Array,
};
use arrow::buffer::OffsetBuffer;
use arrow::compute::{CastOptions, cast_with_options, take};
use arrow::datatypes::{
    ArrowPrimitiveType, DataType, Float32Type, Float64Type, Int8Type, Int16Type, Int32Type,
    Int64Type, UInt8Type, UInt16Type, UInt32Type, UInt64Type,
};

use crate::source::copy::edit::{Arithmetic, Edit, NewId};
use crate::source::copy::error::Trouble;
use crate::source::copy::leaf_edit::impossible;
use crate::source::read_error::ReadError;

/// A change of one array.
type Change<'a> = &'a dyn Fn(&ArrayRef) -> Result<ArrayRef, Trouble>;

/// Rows `first` and the `length` from there on, changed. What lies around them may be taken from.
pub(super) fn edited(
    whole: &RecordBatch,
    first: usize,
    length: usize,
    edits: &[Edit],
) -> Result<RecordBatch, Trouble> {
    let stored = whole.slice(first, length);
    let mut columns = stored.columns().to_vec();
    for edit in edits {
        let path = edit.path();
        let at = path.first().and_then(|name| stored.schema_ref().index_of(name).ok());
        let at = at.ok_or_else(|| ReadError::NoColumn(path.join(".")))?;
        let rest = &path[1..];
        columns[at] = match edit {
            Edit::TakeFrom { other, .. } => {
                let taken = at_path(&stored, other)?;
                let alike = |own: &ArrayRef| {
                    if own.data_type() == taken.data_type() {
                        return Ok(Arc::clone(&taken));
                    }
                    let (own, other) = (path.join("."), other.join("."));
                    let what =
                        format!("columns \"{own}\" and \"{other}\" are not of the same type");
                    Err(Trouble::Refused(what, "convert one of them first"))
                };
                replaced(&columns[at], rest, &alike)?
            }
            Edit::Later { rows, .. } => {
                let from = first.saturating_add_signed(*rows as isize);
                let later = at_path(&whole.slice(from, length), path)?;
                replaced(&columns[at], rest, &|_| Ok(Arc::clone(&later)))?
            }
            Edit::Number { cell, change } => replaced(&columns[at], rest, &|array| {
                let odd = || impossible(path, "the changed numbers exactly");
                in_lists(array, &|child, rows| {
                    let places = places(rows, cell.index);
                    numbers(child, &places, *change).ok_or_else(odd)
                })
            })?,
            Edit::Exchange { places, .. } => replaced(&columns[at], rest, &|array| {
                in_lists(array, &|child, rows| exchanged(child, rows, *places))
            })?,
            Edit::Id { id, .. } => replaced(&columns[at], rest, &|array| same_id(array, id, path))?,
            Edit::Count { first, .. } => {
                let numbers = Int64Array::from_iter_values(
                    (0..length as u64).map(|row| (first + row) as i64),
                );
                let wanted = |array: &ArrayRef| converted(&numbers, array.data_type(), path);
                replaced(&columns[at], rest, &wanted)?
            }
        };
    }
    RecordBatch::try_new(stored.schema(), columns).map_err(|e| Trouble::writing(&e))
}

/// The array at a path.
fn at_path(batch: &RecordBatch, path: &[String]) -> Result<ArrayRef, Trouble> {
    let lost = || Trouble::Read(ReadError::NoColumn(path.join(".")));
    let (first, rest) = path.split_first().ok_or_else(lost)?;
    let mut array = batch.column_by_name(first).cloned().ok_or_else(lost)?;
    for name in rest {
        let child = array.as_struct_opt().and_then(|parent| parent.column_by_name(name).cloned());
        array = child.ok_or_else(lost)?;
    }
    Ok(array)
}

/// An array with the one at a path below it changed.
fn replaced(array: &ArrayRef, path: &[String], change: Change<'_>) -> Result<ArrayRef, Trouble> {
    let Some((name, rest)) = path.split_first() else { return change(array) };
    let lost = || Trouble::Read(ReadError::NoColumn(name.clone()));
    let parent = array.as_struct_opt().ok_or_else(lost)?;
    let at = parent.fields().iter().position(|field| field.name() == name).ok_or_else(lost)?;
    let mut columns = parent.columns().to_vec();
    columns[at] = replaced(&columns[at], rest, change)?;
    let made = StructArray::try_new(parent.fields().clone(), columns, parent.nulls().cloned());
    Ok(Arc::new(made.map_err(|e| Trouble::writing(&e))?))
}

/// A change of the values of lists, which are shown with where each row's values begin and end. An
/// array of numbers is one value to a row.
type InLists<'a> = &'a dyn Fn(&ArrayRef, &[(usize, usize)]) -> Result<ArrayRef, Trouble>;

fn in_lists(array: &ArrayRef, change: InLists<'_>) -> Result<ArrayRef, Trouble> {
    match array.data_type() {
        DataType::List(_) => in_list(array.as_list::<i32>(), change),
        DataType::LargeList(_) => in_list(array.as_list::<i64>(), change),
        DataType::FixedSizeList(field, size) => {
            let list = array.as_fixed_size_list();
            let width = list.value_length() as usize;
            let rows: Vec<_> =
                (0..list.len()).map(|row| (row * width, (row + 1) * width)).collect();
            let values = change(list.values(), &rows)?;
            let made = FixedSizeListArray::try_new(
                Arc::clone(field),
                *size,
                values,
                list.nulls().cloned(),
            );
            Ok(Arc::new(made.map_err(|e| Trouble::writing(&e))?))
        }
        _ => {
            let rows: Vec<_> = (0..array.len()).map(|row| (row, row + 1)).collect();
            change(array, &rows)
        }
    }
}

fn in_list<O: OffsetSizeTrait>(
    list: &GenericListArray<O>,
    change: InLists<'_>,
) -> Result<ArrayRef, Trouble> {
    let ends: Vec<usize> = list.value_offsets().iter().map(|offset| offset.as_usize()).collect();
    let start = ends.first().copied().unwrap_or(0);
    let length = ends.last().copied().unwrap_or(start) - start;
    let rows: Vec<_> = ends.windows(2).map(|pair| (pair[0] - start, pair[1] - start)).collect();
    let values = change(&list.values().slice(start, length), &rows)?;
    let (DataType::List(field) | DataType::LargeList(field)) = list.data_type() else {
        return Err(Trouble::Read(ReadError::Columns("a list of another kind".to_owned())));
    };
    let offsets = OffsetBuffer::from_lengths(rows.iter().map(|(start, end)| end - start));
    let made =
        GenericListArray::<O>::try_new(Arc::clone(field), offsets, values, list.nulls().cloned());
    Ok(Arc::new(made.map_err(|e| Trouble::writing(&e))?))
}

/// The places of one value of each row that has it; of all where there is no index.
fn places(rows: &[(usize, usize)], index: Option<usize>) -> Vec<usize> {
    let place = |(start, end): &(usize, usize)| {
        let at = start + index.unwrap_or(0);
        (at < *end).then_some(at)
    };
    rows.iter().filter_map(place).collect()
}

fn exchanged(
    child: &ArrayRef,
    rows: &[(usize, usize)],
    (a, b): (usize, usize),
) -> Result<ArrayRef, Trouble> {
    let mut order: Vec<u64> = (0..child.len() as u64).collect();
    for (start, end) in rows {
        if start + a.max(b) < *end {
            order.swap(start + a, start + b);
        }
    }
    take(child, &UInt64Array::from(order), None).map_err(|e| Trouble::writing(&e))
}

/// Changes numbers at these places; none where a type cannot hold one of them.
fn numbers(child: &ArrayRef, places: &[usize], change: Arithmetic) -> Option<ArrayRef> {
    let float = |value: f64| Some(value);
    let whole = |value: f64| (value.fract() == 0.0 && value.abs() <= 9e15).then_some(value);
    match child.data_type() {
        DataType::Float32 => {
            mapped::<Float32Type>(child, places, change, f64::from, |v| Some(v as f32))
        }
        DataType::Float64 => mapped::<Float64Type>(child, places, change, |v| v, float),
        DataType::Int8 => mapped::<Int8Type>(child, places, change, f64::from, |v| {
            whole(v).filter(|v| (-128.0..=127.0).contains(v)).map(|v| v as i8)
        }),
        DataType::Int16 => mapped::<Int16Type>(child, places, change, f64::from, |v| {
            whole(v).filter(|v| (-32768.0..=32767.0).contains(v)).map(|v| v as i16)
        }),
        DataType::Int32 => mapped::<Int32Type>(child, places, change, f64::from, |v| {
            whole(v).filter(|v| f64::from(*v as i32) == *v).map(|v| v as i32)
        }),
        DataType::Int64 => {
            mapped::<Int64Type>(child, places, change, |v| v as f64, |v| whole(v).map(|v| v as i64))
        }
        DataType::UInt8 => mapped::<UInt8Type>(child, places, change, f64::from, |v| {
            whole(v).filter(|v| (0.0..=255.0).contains(v)).map(|v| v as u8)
        }),
        DataType::UInt16 => mapped::<UInt16Type>(child, places, change, f64::from, |v| {
            whole(v).filter(|v| (0.0..=65535.0).contains(v)).map(|v| v as u16)
        }),
        DataType::UInt32 => mapped::<UInt32Type>(child, places, change, f64::from, |v| {
            whole(v).filter(|v| f64::from(*v as u32) == *v).map(|v| v as u32)
        }),
        DataType::UInt64 => mapped::<UInt64Type>(
            child,
            places,
            change,
            |v| v as f64,
            |v| whole(v).filter(|v| *v >= 0.0).map(|v| v as u64),
        ),
        _ => None,
    }
}

fn mapped<T: ArrowPrimitiveType>(
    child: &ArrayRef,
    places: &[usize],
    change: Arithmetic,
    wide: impl Fn(T::Native) -> f64,
    narrow: impl Fn(f64) -> Option<T::Native>,
) -> Option<ArrayRef> {
    let array = child.as_primitive_opt::<T>()?;
    let mut values = array.values().to_vec();
    for place in places {
        let value = wide(values[*place]);
        let new = change.of(value);
        if new != value && !value.is_nan() && array.is_valid(*place) {
            values[*place] = narrow(new)?;
        }
    }
    let made = PrimitiveArray::<T>::new(values.into(), array.nulls().cloned());
    Some(Arc::new(made))
}

/// All rows with one id.
fn same_id(array: &ArrayRef, id: &NewId, path: &[String]) -> Result<ArrayRef, Trouble> {
    let rows = array.len();
    let ids: ArrayRef = match id {
        NewId::Number(number) => Arc::new(Int64Array::from_value(*number, rows)),
        NewId::Text(text) => {
            Arc::new(StringArray::from_iter_values(std::iter::repeat_n(text.as_str(), rows)))
        }
    };
    converted(&ids, array.data_type(), path)
}

/// An array in another type, exactly.
fn converted(array: &dyn Array, wanted: &DataType, path: &[String]) -> Result<ArrayRef, Trouble> {
    let options = CastOptions { safe: false, ..CastOptions::default() };
    cast_with_options(array, wanted, &options)
        .map_err(|e| impossible(path, &format!("what is written ({e})")))
}

#[cfg(test)]
mod tests {
    use arrow::array::{Float32Array, ListArray};
    use arrow::datatypes::{Field, Schema};

    use super::*;
    use crate::source::copy::edit::Cell;

    #[test]
    fn lists_structs_and_numbers_are_changed_where_it_is_said() -> Result<(), Trouble> {
        let rows = [[1.0, 2.0], [3.0, 4.0], [5.0, 6.0], [7.0, 8.0]];
        let list = ListArray::from_iter_primitive::<Float32Type, _, _>(
            rows.map(|row| Some(row.map(Some))),
        );
        let inner = Arc::new(Float32Array::from(vec![1.0, 2.0, 3.0, 4.0]));
        let field = Arc::new(Field::new("waist", DataType::Float32, false));
        let arm = StructArray::from(vec![(field, inner as ArrayRef)]);
        let ids = Arc::new(arrow::array::Int16Array::from(vec![0, 0, 1, 1]));
        let fields = vec![
            Field::new("q", list.data_type().clone(), true),
            Field::new("arm", arm.data_type().clone(), false),
            Field::new("run", DataType::Int16, false),
        ];
        let columns: Vec<ArrayRef> = vec![Arc::new(list), Arc::new(arm), ids];
        let batch = RecordBatch::try_new(Arc::new(Schema::new(fields)), columns);
        let batch = batch.map_err(|e| Trouble::writing(&e))?;
        let path = |text: &str| text.split('.').map(str::to_owned).collect::<Vec<_>>();
        let cell = Cell { path: path("arm.waist"), index: None };
        let edits = [
            Edit::Exchange { path: path("q"), places: (0, 1) },
            Edit::Number { cell, change: Arithmetic::Plus(0.5) },
            Edit::Id { path: path("run"), id: NewId::Number(7) },
        ];
        let made = edited(&batch, 1, 2, &edits)?;
        let q = made.column(0).as_list::<i32>().values().as_primitive::<Float32Type>().clone();
        assert_eq!(q.values()[..], [4.0, 3.0, 6.0, 5.0]);
        let waist = at_path(&made, &path("arm.waist"))?;
        assert_eq!(waist.as_primitive::<Float32Type>().values()[..], [2.5, 3.5]);
        assert_eq!(made.column(2).as_primitive::<Int16Type>().values()[..], [7, 7]);
        assert_eq!(made.schema(), batch.schema());
        let later = [Edit::Later { path: path("q"), rows: 1 }];
        let made = edited(&batch, 1, 2, &later)?;
        assert_eq!(made.column(0).to_data(), batch.column(0).slice(2, 2).to_data());
        Ok(())
    }
}
