//! Changes of the stored values of a Parquet column.

use parquet::data_type::{
    BoolType, ByteArray, ByteArrayType, DataType, DoubleType, FixedLenByteArrayType, FloatType,
    Int32Type, Int64Type, Int96Type,
};

use crate::source::copy::edit::{Arithmetic, Edit, NewId};
use crate::source::copy::error::Trouble;
use crate::source::copy::parquet_input::Decoded;

/// What can be changed in the values of a physical type.
pub(super) trait Stored: DataType {
    /// A value as a number; none where the type has none.
    fn number(_: &Self::T) -> Option<f64> {
        None
    }

    /// The value of a number; none where it has none that is exactly it, or rounded for floats.
    fn of_number(_: f64) -> Option<Self::T> {
        None
    }

    /// The value of an id.
    fn of_id(_: &NewId) -> Option<Self::T> {
        None
    }
}

impl Stored for BoolType {}
impl Stored for Int96Type {}
impl Stored for FixedLenByteArrayType {}

impl Stored for Int32Type {
    fn number(value: &i32) -> Option<f64> {
        Some(f64::from(*value))
    }

    fn of_number(number: f64) -> Option<i32> {
        let whole = number as i32;
        (f64::from(whole) == number).then_some(whole)
    }

    fn of_id(id: &NewId) -> Option<i32> {
        match id {
            NewId::Number(number) => i32::try_from(*number).ok(),
            NewId::Text(_) => None,
        }
    }
}

impl Stored for Int64Type {
    fn number(value: &i64) -> Option<f64> {
        Some(*value as f64)
    }

    fn of_number(number: f64) -> Option<i64> {
        // Beyond 2^53 not each whole number is one of these.
        (number.abs() <= 9e15 && number.fract() == 0.0).then_some(number as i64)
    }

    fn of_id(id: &NewId) -> Option<i64> {
        match id {
            NewId::Number(number) => Some(*number),
            NewId::Text(_) => None,
        }
    }
}

impl Stored for FloatType {
    fn number(value: &f32) -> Option<f64> {
        Some(f64::from(*value))
    }

    fn of_number(number: f64) -> Option<f32> {
        Some(number as f32)
    }
}

impl Stored for DoubleType {
    fn number(value: &f64) -> Option<f64> {
        Some(*value)
    }

    fn of_number(number: f64) -> Option<f64> {
        Some(number)
    }
}

impl Stored for ByteArrayType {
    fn of_id(id: &NewId) -> Option<ByteArray> {
        match id {
            NewId::Text(text) => Some(ByteArray::from(text.as_str())),
            NewId::Number(_) => None,
        }
    }
}

/// What is not possible, in words.
pub(super) fn impossible(column: &[String], what: &str) -> Trouble {
    let what = format!("column \"{}\" cannot hold {what}", column.join("."));
    Trouble::Refused(what, "convert the column to floating point first")
}

/// Where the values of a batch begin that a change is about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Begin {
    pub levels: usize,
    pub values: usize,
    /// Rows of the piece that lie before.
    pub rows: u64,
}

/// Changes the values from a place on. `full` is the level at which a value is there, and `listed`
/// whether the column is a list.
pub(super) fn change<T: Stored>(
    edit: &Edit,
    from: Begin,
    (full, listed): (i16, bool),
    out: &mut Decoded<T::T>,
) -> Result<(), Trouble> {
    match edit {
        Edit::TakeFrom { .. } | Edit::Later { .. } => Ok(()),
        Edit::Id { path, id } => {
            let id = T::of_id(id).ok_or_else(|| impossible(path, &format!("the id {id:?}")))?;
            out.values[from.values..].fill(id);
            Ok(())
        }
        Edit::Count { path, first } => {
            // A row without a number keeps none, and is counted.
            let there: Vec<u64> = if out.definition.is_empty() {
                (0..(out.values.len() - from.values) as u64).collect()
            } else {
                let levels = out.definition[from.levels..].iter().zip(0..);
                levels.filter(|(level, _)| **level == full).map(|(_, row)| row).collect()
            };
            for (value, row) in out.values[from.values..].iter_mut().zip(there) {
                let next = (first + from.rows + row) as f64;
                let number = T::of_number(next);
                *value = number.ok_or_else(|| impossible(path, &next.to_string()))?;
            }
            Ok(())
        }
        Edit::Number { cell, change } => {
            let mut wrong = None;
            each_place(out, from, full, listed, |value, index| {
                if cell.index.is_some_and(|wanted| wanted != index) {
                    return;
                }
                match changed::<T>(*change, value) {
                    Some(number) => *value = number,
                    None => wrong = Some(()),
                }
            });
            match wrong {
                Some(()) => Err(impossible(&cell.path, "the changed numbers exactly")),
                None => Ok(()),
            }
        }
        Edit::Exchange { places, .. } => {
            exchange(out, from, full, *places);
            Ok(())
        }
    }
}

fn changed<T: Stored>(change: Arithmetic, value: &T::T) -> Option<T::T> {
    let number = T::number(value)?;
    let new = change.of(number);
    if new == number || number.is_nan() { Some(value.clone()) } else { T::of_number(new) }
}

/// Shows each value with its place in its list.
fn each_place<T>(
    out: &mut Decoded<T>,
    from: Begin,
    full: i16,
    listed: bool,
    mut show: impl FnMut(&mut T, usize),
) {
    let mut values = out.values[from.values..].iter_mut();
    if out.definition.is_empty() {
        values.for_each(|value| show(value, 0));
        return;
    }
    let mut index = 0;
    for at in from.levels..out.definition.len() {
        index = if listed && out.repetition[at] > 0 { index + 1 } else { 0 };
        if out.definition[at] == full
            && let Some(value) = values.next()
        {
            show(value, index);
        }
    }
}

/// Exchanges two values of each list that has both places; a null goes with its place.
fn exchange<T>(out: &mut Decoded<T>, from: Begin, full: i16, (a, b): (usize, usize)) {
    let (low, high) = (a.min(b), a.max(b));
    let mut next = from.values;
    // Levels of the first place, and where its value is or would be.
    let mut first: Option<(usize, usize)> = None;
    let mut index = 0;
    for at in from.levels..out.definition.len() {
        index = if out.repetition[at] > 0 { index + 1 } else { 0 };
        if index == 0 {
            first = None;
        }
        if index == low {
            first = Some((at, next));
        }
        let here = out.definition[at] == full;
        if index == high
            && let Some((level, value)) = first
        {
            match (out.definition[level] == full, here) {
                (true, true) => out.values.swap(value, next),
                // The only value of the two moves behind, or before, those between them.
                (true, false) => out.values[value..next].rotate_left(1),
                (false, true) => out.values[value..=next].rotate_right(1),
                (false, false) => {}
            }
            out.definition.swap(level, at);
        }
        next += usize::from(here);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::copy::edit::Cell;

    const START: Begin = Begin { levels: 0, values: 0, rows: 0 };

    /// Rows as lists; a none is a null within the list.
    fn values(rows: &[&[Option<f64>]]) -> Decoded<f64> {
        let mut out = Decoded::default();
        for row in rows {
            for (at, value) in row.iter().enumerate() {
                out.repetition.push(i16::from(at > 0));
                out.definition.push(if value.is_some() { 3 } else { 2 });
                out.values.extend(value);
            }
            if row.is_empty() {
                out.repetition.push(0);
                out.definition.push(1);
            }
            out.records += 1;
        }
        out
    }

    fn rows(out: &Decoded<f64>) -> Vec<Vec<Option<f64>>> {
        let mut rows: Vec<Vec<Option<f64>>> = Vec::new();
        let mut next = out.values.iter();
        for (definition, repetition) in out.definition.iter().zip(&out.repetition) {
            if *repetition == 0 {
                rows.push(Vec::new());
            }
            let Some(row) = rows.last_mut() else { continue };
            match definition {
                3 => row.push(next.next().copied()),
                2 => row.push(None),
                _ => {}
            }
        }
        assert_eq!(next.next(), None);
        rows
    }

    #[test]
    fn two_places_are_exchanged_with_their_nulls() -> Result<(), Trouble> {
        let (a, b, c) = (Some(1.0), Some(2.0), Some(3.0));
        let mut out =
            values(&[&[a, b, c], &[], &[None, b, c], &[a, b, None], &[a], &[None, b, None]]);
        let path = vec!["arm".to_owned()];
        let edit = Edit::Exchange { path, places: (2, 0) };
        change::<DoubleType>(&edit, START, (3, true), &mut out)?;
        let wanted: [&[Option<f64>]; 6] =
            [&[c, b, a], &[], &[c, b, None], &[None, b, a], &[a], &[None, b, None]];
        assert_eq!(rows(&out), wanted);
        Ok(())
    }

    #[test]
    fn one_place_is_changed_and_counts_stay_whole() -> Result<(), Trouble> {
        let mut out = values(&[&[Some(1.0), Some(2.0)], &[None, Some(f64::NAN)]]);
        let cell = Cell { path: vec!["arm".to_owned()], index: Some(1) };
        let edit = Edit::Number { cell, change: Arithmetic::Times(10.0) };
        change::<DoubleType>(&edit, START, (3, true), &mut out)?;
        assert_eq!(out.values[..2], [1.0, 20.0]);
        assert!(out.values[2].is_nan());
        let mut counts = Decoded { values: vec![7, 4000], ..Decoded::default() };
        let cell = Cell { path: vec!["count".to_owned()], index: None };
        let turns = Arithmetic::Turns { start: 2048.0, turn: 4096.0 };
        let edit = Edit::Number { cell: cell.clone(), change: turns };
        change::<Int32Type>(&edit, START, (0, false), &mut counts)?;
        assert_eq!(counts.values, [4103, 4000]);
        let edit = Edit::Number { cell, change: Arithmetic::Plus(0.5) };
        assert!(change::<Int32Type>(&edit, START, (0, false), &mut counts).is_err());
        Ok(())
    }
}
