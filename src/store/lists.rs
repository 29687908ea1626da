//! Columns of one batch of rows, held to their types.

use arrow::array::{
    Array, AsArray, BinaryArray, Float64Array, ListArray, StringArray, StructArray, UInt32Array,
    UInt64Array,
};
use arrow::datatypes::{ArrowPrimitiveType, Float32Type, Float64Type, UInt32Type, UInt64Type};
use arrow::record_batch::RecordBatch;

use super::damage::Damage;

/// A list of structs: fields and where each row's items are.
#[derive(Debug)]
pub(super) struct Items<'a> {
    list: &'a ListArray,
    items: &'a StructArray,
}

impl<'a> Items<'a> {
    pub fn of(batch: &'a RecordBatch, name: &str) -> Result<Self, Damage> {
        let list = column(batch, name)?.as_list_opt::<i32>().ok_or_else(|| odd(name))?;
        let items = list.values().as_struct_opt().ok_or_else(|| odd(name))?;
        Ok(Self { list, items })
    }

    pub fn rows(&self, row: usize) -> std::ops::Range<usize> {
        let offsets = self.list.value_offsets();
        offsets[row] as usize..offsets[row + 1] as usize
    }

    pub fn text(&self, name: &str) -> Result<&'a StringArray, Damage> {
        self.field(name)?.as_string_opt::<i32>().ok_or_else(|| odd(name))
    }

    pub fn numbers<T: ArrowPrimitiveType>(
        &self,
        name: &str,
    ) -> Result<&'a arrow::array::PrimitiveArray<T>, Damage> {
        self.field(name)?.as_primitive_opt::<T>().ok_or_else(|| odd(name))
    }

    fn field(&self, name: &str) -> Result<&'a dyn Array, Damage> {
        self.items.column_by_name(name).map(AsRef::as_ref).ok_or_else(|| absent(name))
    }
}

pub(super) fn column<'a>(batch: &'a RecordBatch, name: &str) -> Result<&'a dyn Array, Damage> {
    batch.column_by_name(name).map(AsRef::as_ref).ok_or_else(|| absent(name))
}

pub(super) fn text<'a>(batch: &'a RecordBatch, name: &str) -> Result<&'a StringArray, Damage> {
    column(batch, name)?.as_string_opt::<i32>().ok_or_else(|| odd(name))
}

pub(super) fn whole<'a>(batch: &'a RecordBatch, name: &str) -> Result<&'a UInt64Array, Damage> {
    column(batch, name)?.as_primitive_opt::<UInt64Type>().ok_or_else(|| odd(name))
}

pub(super) fn number<'a>(batch: &'a RecordBatch, name: &str) -> Result<&'a UInt32Array, Damage> {
    column(batch, name)?.as_primitive_opt::<UInt32Type>().ok_or_else(|| odd(name))
}

pub(super) fn seconds<'a>(batch: &'a RecordBatch, name: &str) -> Result<&'a Float64Array, Damage> {
    column(batch, name)?.as_primitive_opt::<Float64Type>().ok_or_else(|| odd(name))
}

pub(super) fn bytes<'a>(batch: &'a RecordBatch, name: &str) -> Result<&'a BinaryArray, Damage> {
    column(batch, name)?.as_binary_opt::<i32>().ok_or_else(|| odd(name))
}

/// A list of numbers: the numbers of all rows, and the list that says which are whose.
pub(super) fn floats<'a>(
    batch: &'a RecordBatch,
    name: &str,
) -> Result<(&'a ListArray, &'a [f32]), Damage> {
    let list = column(batch, name)?.as_list_opt::<i32>().ok_or_else(|| odd(name))?;
    let values = list.values().as_primitive_opt::<Float32Type>().ok_or_else(|| odd(name))?;
    Ok((list, values.values()))
}

fn absent(name: &str) -> Damage {
    Damage::NoColumn(name.to_owned())
}

fn odd(name: &str) -> Damage {
    Damage::OtherType(name.to_owned())
}
