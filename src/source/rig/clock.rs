//! The unit of a time column that does not state it, and what the clock can resolve.

use arrow::datatypes::DataType;

use crate::model::ClockStorage;
use crate::source::error::SourceError;
use crate::source::roles::parts::TimeColumn;

/// Rate that recordings have more or less, where none is declared. Common practice, no source.
const USUAL_HZ: f64 = 30.0;
/// Frames come at rates between these: seconds in floating point are doubted only outside.
const SANE_STEP_S: std::ops::RangeInclusive<f64> = 1e-4..=2.0;

/// Ticks a second of plain numbers, from the typical step between neighbours: the unit that makes
/// the rate most like the declared one, or the usual one.
pub(in crate::source) fn ticks(time: &TimeColumn, step: Option<f64>, rate_hz: Option<f64>) -> f64 {
    if let Some(per_second) = time.per_second {
        return per_second;
    }
    let float = time.number.as_ref().is_some_and(DataType::is_floating);
    let Some(step) = step else { return 1.0 };
    if float && SANE_STEP_S.contains(&step) {
        return 1.0;
    }
    let rate = rate_hz.unwrap_or(USUAL_HZ);
    let miss = |per_second: &f64| (step / per_second * rate).ln().abs();
    let units = [1.0, 1e3, 1e6, 1e9];
    units.into_iter().min_by(|a, b| miss(a).total_cmp(&miss(b))).unwrap_or(1.0)
}

/// Ticks a second as they are known from other data of the rig.
pub(in crate::source) fn known_ticks(
    time: &TimeColumn,
    known: ClockStorage,
) -> Result<f64, SourceError> {
    let seconds = match known {
        ClockStorage::Float { scale_s, .. } => scale_s,
        ClockStorage::Ticks { tick_s } => tick_s,
        ClockStorage::None => 1.0,
    };
    // A tick is a power of ten of a second, and so is the number of ticks in a second.
    let per_second = seconds.recip().round();
    let stated = time.per_second.is_none_or(|stated| stated == per_second);
    if stated && storage(time, per_second) == known {
        return Ok(per_second);
    }
    Err(SourceError::OtherRig("stamps are stored in another way".to_owned()))
}

/// The unit in words.
pub(in crate::source) fn unit_word(per_second: f64) -> &'static str {
    match per_second as u64 {
        1 => "seconds",
        1_000 => "milliseconds",
        1_000_000 => "microseconds",
        _ => "nanoseconds",
    }
}

/// How stamps are stored.
pub(in crate::source) fn storage(time: &TimeColumn, per_second: f64) -> ClockStorage {
    let unit_s = 1.0 / per_second;
    let bits = match time.number {
        Some(DataType::Float16) => 11,
        Some(DataType::Float32) => 24,
        Some(DataType::Float64) => 53,
        _ => return ClockStorage::Ticks { tick_s: unit_s },
    };
    ClockStorage::Float { precision_bits: bits, scale_s: unit_s }
}

/// The frame period: the declared one where the stamps agree within a fiftieth or say nothing, else
/// the measured one; 0 if neither is known.
pub(in crate::source) fn period_s(measured: Option<f64>, rate_hz: Option<f64>) -> f64 {
    match (measured, rate_hz.map(f64::recip)) {
        (Some(measured), Some(declared)) if (measured / declared - 1.0).abs() <= 0.02 => declared,
        (Some(measured), _) => measured,
        (None, declared) => declared.unwrap_or(0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unstated(number: DataType) -> TimeColumn {
        TimeColumn { path: Vec::new(), number: Some(number), per_second: None, unit_why: "" }
    }

    #[test]
    fn the_size_of_steps_gives_the_unit() {
        let whole = unstated(DataType::Int64);
        for (step, per_second) in [(33.0, 1e3), (20_000.0, 1e6), (5e6, 1e9), (10.0, 1e3)] {
            assert_eq!(ticks(&whole, Some(step), None), per_second, "step {step}");
        }
        assert_eq!(ticks(&unstated(DataType::Float64), Some(0.033), None), 1.0);
        assert_eq!(ticks(&unstated(DataType::Float64), Some(33.3), None), 1e3);
    }

    #[test]
    fn the_declared_period_holds_only_where_the_stamps_agree() {
        assert_eq!(period_s(Some(0.033), Some(30.0)), 1.0 / 30.0);
        assert_eq!(period_s(Some(0.0417), Some(30.0)), 0.0417);
        assert_eq!(period_s(Some(0.066), Some(30.0)), 0.066);
        assert_eq!(period_s(None, None), 0.0);
    }
}
