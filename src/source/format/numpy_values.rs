//! Values of a `NumPy` array as a column.

use std::sync::Arc;

use arrow::array::{
    ArrayRef, BooleanArray, DurationNanosecondArray, FixedSizeListArray, Float32Array,
    Float64Array, Int64Array, StringArray, TimestampNanosecondArray,
};
use arrow::datatypes::Field;
use arrow::error::ArrowError;
use npyz::{DType, Endianness, TimeUnits, TypeChar, TypeStr};

/// Where the values of a column lie in the bytes of an array. Strides count items.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place<'a> {
    pub bytes: &'a [u8],
    /// Bytes in an item before the field.
    pub offset: usize,
    /// Bytes of an item.
    pub size: usize,
    pub rows: usize,
    pub row: usize,
    /// Items in a row, where a row is a vector.
    pub width: Option<usize>,
    pub column: usize,
}

impl<'a> Place<'a> {
    /// The bytes of each value, row by row.
    fn values(self, fields: usize, bytes: usize) -> impl Iterator<Item = &'a [u8]> {
        let columns = self.width.unwrap_or(1);
        (0..self.rows).flat_map(move |row| {
            (0..columns).flat_map(move |column| {
                (0..fields).map(move |field| {
                    let item = row * self.row + column * self.column;
                    let start = item * self.size + self.offset + field * bytes;
                    self.bytes.get(start..start + bytes).unwrap_or_default()
                })
            })
        })
    }
}

/// The column of a field; none where its type is not read.
pub(super) fn column(place: &Place<'_>, dtype: &DType) -> Result<Option<ArrayRef>, ArrowError> {
    let (plain, fields) = match dtype {
        DType::Plain(plain) => (plain, None),
        DType::Array(count, inner) => match inner.as_ref() {
            DType::Plain(plain) => (plain, Some(*count as usize)),
            _ => return Ok(None),
        },
        DType::Record(_) => return Ok(None),
    };
    let Some(bytes) = plain.num_bytes() else { return Ok(None) };
    let Some(values) = values(*place, plain, fields.unwrap_or(1), bytes) else { return Ok(None) };
    let width = match (place.width, fields) {
        (None, None) => return Ok(Some(values)),
        (width, fields) => width.unwrap_or(1) * fields.unwrap_or(1),
    };
    let item = Arc::new(Field::new("item", values.data_type().clone(), true));
    let list = FixedSizeListArray::try_new(item, width as i32, values, None)?;
    Ok(Some(Arc::new(list)))
}

fn values(place: Place<'_>, plain: &TypeStr, fields: usize, bytes: usize) -> Option<ArrayRef> {
    let big = plain.endianness() == Endianness::Big;
    let all = || place.values(fields, bytes);
    let whole = || all().map(|value| whole(value, big));
    let signed = || all().map(|value| signed(value, big));
    Some(match (plain.type_char(), bytes) {
        (TypeChar::Bool, 1) => Arc::new(all().map(|v| Some(v != [0])).collect::<BooleanArray>()),
        (TypeChar::Int, _) => Arc::new(Int64Array::from_iter_values(signed())),
        (TypeChar::Uint, 8) => Arc::new(Float64Array::from_iter_values(whole().map(|v| v as f64))),
        (TypeChar::Uint, _) => Arc::new(Int64Array::from_iter_values(whole().map(|v| v as i64))),
        (TypeChar::Float, 8) => {
            Arc::new(Float64Array::from_iter_values(whole().map(f64::from_bits)))
        }
        (TypeChar::Float, 4) => {
            let values = whole().map(|bits| f32::from_bits(bits as u32));
            Arc::new(Float32Array::from_iter_values(values))
        }
        (TypeChar::Float, 2) => {
            let values = whole().map(|bits| half::f16::from_bits(bits as u16).to_f32());
            Arc::new(Float32Array::from_iter_values(values))
        }
        (TypeChar::DateTime, 8) => {
            let ns = nanoseconds(plain.time_units()?)?;
            let stamps = signed().map(|ticks| ns_of(ticks, ns));
            Arc::new(stamps.collect::<TimestampNanosecondArray>())
        }
        (TypeChar::TimeDelta, 8) => {
            let ns = nanoseconds(plain.time_units()?)?;
            let spans = signed().map(|ticks| ns_of(ticks, ns));
            Arc::new(spans.collect::<DurationNanosecondArray>())
        }
        (TypeChar::UnicodeStr, _) => {
            let text = |value: &[u8]| -> String {
                let signs = value.chunks_exact(4).map(|sign| self::whole(sign, big) as u32);
                let signs = signs.take_while(|sign| *sign != 0);
                signs
                    .map(|sign| char::from_u32(sign).unwrap_or(char::REPLACEMENT_CHARACTER))
                    .collect()
            };
            Arc::new(StringArray::from_iter_values(all().map(text)))
        }
        (TypeChar::ByteStr, _) => {
            let text =
                |value: &[u8]| String::from_utf8_lossy(value).trim_end_matches('\0').to_owned();
            Arc::new(StringArray::from_iter_values(all().map(text)))
        }
        _ => return None,
    })
}

/// An unsigned number of up to eight bytes.
fn whole(value: &[u8], big: bool) -> u64 {
    let add = |sum: u64, byte: &u8| sum << 8 | u64::from(*byte);
    if big { value.iter().fold(0, add) } else { value.iter().rev().fold(0, add) }
}

fn signed(value: &[u8], big: bool) -> i64 {
    let unused = 64 - 8 * value.len().clamp(1, 8) as u32;
    ((whole(value, big) << unused) as i64) >> unused
}

/// "Not a time" is the smallest number (numpy's documentation of datetime64), and so is a missing stamp.
fn ns_of(ticks: i64, ns: i64) -> Option<i64> {
    (ticks != i64::MIN).then(|| ticks.checked_mul(ns)).flatten()
}

const fn nanoseconds(units: TimeUnits) -> Option<i64> {
    match units {
        TimeUnits::Second => Some(1_000_000_000),
        TimeUnits::Millisecond => Some(1_000_000),
        TimeUnits::Microsecond => Some(1_000),
        TimeUnits::Nanosecond => Some(1),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_either_byte_order_are_read() {
        assert_eq!(whole(&[0x12, 0x34], true), 0x1234);
        assert_eq!(whole(&[0x34, 0x12], false), 0x1234);
        assert_eq!(signed(&[0xfe, 0xff], false), -2);
        assert_eq!(signed(&(-3_i64).to_be_bytes(), true), -3);
        assert_eq!(ns_of(i64::MIN, 1), None);
        assert_eq!(ns_of(1_500, 1_000_000), Some(1_500_000_000));
    }
}
