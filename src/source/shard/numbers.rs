//! Stored numbers of any width, as floating point.

use arrow::array::{Array, ArrayRef};
use arrow::compute::cast;
use arrow::datatypes::DataType;

/// A stored number.
pub(in crate::source) trait Number: Copy {
    /// As `f64`; exact but for integers beyond 2^53.
    fn wide(self) -> f64;
    /// Times a factor, as `f32`; `NaN` if it is not finite.
    fn scaled(self, factor: f64) -> f32 {
        finite((self.wide() * factor) as f32)
    }
}

fn finite(value: f32) -> f32 {
    if value.is_finite() { value } else { f32::NAN }
}

macro_rules! number {
    ($($kind:ty),*) => { $(impl Number for $kind {
        fn wide(self) -> f64 { self as f64 }
    })* };
}
number!(i8, i16, i32, i64, u8, u16, u32, u64, f64);

impl Number for f32 {
    fn wide(self) -> f64 {
        f64::from(self)
    }

    fn scaled(self, factor: f64) -> f32 {
        if factor == 1.0 { finite(self) } else { finite((f64::from(self) * factor) as f32) }
    }
}

/// Runs an expression on an array's values, whatever their width; `None` if they are no numbers.
macro_rules! with_numbers {
    ($array:expr, $values:ident => $body:expr) => {{
        use arrow::array::AsArray as _;
        use arrow::datatypes::{self as kinds, DataType};
        macro_rules! arm {
            ($kind:ty) => {{
                let $values = $array.as_primitive::<$kind>().values().as_ref();
                Some($body)
            }};
        }
        match $array.data_type() {
            DataType::Float32 => arm!(kinds::Float32Type),
            DataType::Float64 => arm!(kinds::Float64Type),
            DataType::Int8 => arm!(kinds::Int8Type),
            DataType::Int16 => arm!(kinds::Int16Type),
            DataType::Int32 => arm!(kinds::Int32Type),
            DataType::Int64 => arm!(kinds::Int64Type),
            DataType::UInt8 => arm!(kinds::UInt8Type),
            DataType::UInt16 => arm!(kinds::UInt16Type),
            DataType::UInt32 => arm!(kinds::UInt32Type),
            DataType::UInt64 => arm!(kinds::UInt64Type),
            _ => None,
        }
    }};
}
pub(in crate::source) use with_numbers;

/// Whether an array holds plain numbers.
pub(in crate::source) fn holds_numbers(array: &dyn Array) -> bool {
    crate::source::roles::shape::is_number(array.data_type())
}

/// Half floats are widened once a batch: they are too rare to have a path of their own.
pub(in crate::source) fn widened(array: ArrayRef) -> ArrayRef {
    match array.data_type() {
        DataType::Float16 => cast(&array, &DataType::Float32).unwrap_or(array),
        _ => array,
    }
}
