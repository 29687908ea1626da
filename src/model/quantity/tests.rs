use proptest::prelude::*;

use super::*;

const UNITS: [Unit; 8] = [
    Unit::Second,
    Unit::Radian,
    Unit::RadianPerSecond,
    Unit::Ratio,
    Unit::Share,
    Unit::Count,
    Unit::Hertz,
    Unit::Frames,
];

fn value(text: &str, unit: Unit) -> f64 {
    read(text, unit).map_or(f64::NAN, |quantity| quantity.value)
}

/// Units by the SI Brochure (BIPM, 9th edition), tables 4, 7 and 8: a degree is (pi/180) rad, a
/// minute 60 s, prefixes are powers of ten.
#[test]
fn written_units_are_what_the_si_says() {
    assert_eq!(value("5 deg", Unit::Radian), 0.087_266_462_599_716_47);
    assert_eq!(value("180 deg", Unit::Radian), std::f64::consts::PI);
    for (text, unit, si) in [
        ("0.3 rad", Unit::Radian, 0.3),
        ("5deg", Unit::Radian, 5f64.to_radians()),
        ("-5 \u{b0}", Unit::Radian, -5f64.to_radians()),
        ("3 mm", Unit::Radian, 0.003),
        ("150 ms", Unit::Second, 0.15),
        ("1.5e2 MS", Unit::Second, 0.15),
        ("250 us", Unit::Second, 0.00025),
        ("2 min", Unit::Second, 120.0),
        ("2 %", Unit::Share, 0.02),
        ("2.3%", Unit::Share, 0.023),
        ("80 %", Unit::Ratio, 0.8),
        ("1.5 x", Unit::Ratio, 1.5),
        ("0.5 rad/s", Unit::RadianPerSecond, 0.5),
        ("30 deg/s", Unit::RadianPerSecond, 30f64.to_radians()),
        ("20 mm/s", Unit::RadianPerSecond, 0.02),
        ("60 rpm", Unit::RadianPerSecond, std::f64::consts::TAU),
        ("30 Hz", Unit::Hertz, 30.0),
        ("2 frames", Unit::Frames, 2.0),
        ("20", Unit::Count, 20.0),
        ("0.02", Unit::Share, 0.02),
    ] {
        assert_eq!(value(text, unit), si, "{text}");
    }
    assert!(read("3 mm", Unit::Radian).is_ok_and(|quantity| quantity.linear));
    assert!(read("3 deg", Unit::Radian).is_ok_and(|quantity| !quantity.linear));
}

#[test]
fn what_does_not_fit_is_refused_with_what_does() {
    for (text, unit, what, hint) in [
        ("5 ms", Unit::Radian, "is a time, and an angle is wanted", "such as \"5 deg\""),
        ("5 deg", Unit::Second, "is an angle, and a time is wanted", "bare number is s"),
        ("2 %", Unit::Second, "is a share", "150 ms"),
        ("2 s", Unit::Share, "is a time, and a share is wanted", "\"2 %\""),
        ("3 mm", Unit::RadianPerSecond, "is a length", "mm/s"),
        ("5 degs", Unit::Radian, "there is no unit \"degs\"", "deg"),
        ("deg", Unit::Radian, "not a number", "deg"),
        ("", Unit::Radian, "not a number", "deg"),
        ("nan deg", Unit::Radian, "not a number", "deg"),
        ("1e999 s", Unit::Second, "not a number", "ms"),
        ("2,5 deg", Unit::Radian, "not a number", "\"2.5 deg\""),
    ] {
        let Err(error) = read(text, unit) else { panic!("{text} was read") };
        assert!(error.to_string().contains(what), "{text}: {error}");
        assert!(error.hint().contains(hint), "{text}: {}", error.hint());
    }
}

#[test]
fn numbers_are_written_as_a_person_would() {
    for (value, unit, text) in [
        (5f64.to_radians(), Unit::Radian, "5 deg"),
        (-1.5f64.to_radians(), Unit::Radian, "-1.5 deg"),
        (0.0349, Unit::Radian, "0.0349 rad"),
        (0.0, Unit::Radian, "0 deg"),
        (0.15, Unit::Second, "150 ms"),
        (1.0, Unit::Second, "1 s"),
        (0.0, Unit::Second, "0 s"),
        (0.023, Unit::Share, "2.3 %"),
        (1e-3, Unit::Share, "0.1 %"),
        (30f64.to_radians(), Unit::RadianPerSecond, "30 deg/s"),
        (0.1 + 0.2, Unit::Ratio, "0.30000000000000004"),
        (1500.0, Unit::Count, "1500"),
        (2.0, Unit::Frames, "2 frames"),
        (1e-12, Unit::Second, "1e-9 ms"),
    ] {
        assert_eq!(written(value, unit), text, "{value}");
    }
}

/// In percent it is larger than any number.
#[test]
fn the_largest_share_reads_back() {
    let largest = 5.766_591_881_951_95e307;
    assert_eq!(value(&written(largest, Unit::Share), Unit::Share), largest);
    assert_eq!(value(&written(f64::MAX, Unit::Share), Unit::Share), f64::MAX);
}

#[test]
fn a_number_that_is_unlikely_in_si_gets_its_likely_meaning() {
    let of = |value, unit| unlikely(value, unit).unwrap_or_default();
    let angle = "5 rad is 286 deg; for degrees write \"5 deg\"";
    assert_eq!(of(5.0, Unit::Radian), angle);
    let time = "150 s is 2.5 minutes; for milliseconds write \"150 ms\"";
    assert_eq!(of(150.0, Unit::Second), time);
    assert_eq!(of(5.0, Unit::Share), "5 is 500 %; for percent write \"5 %\"");
    for (value, unit) in [
        (std::f64::consts::PI, Unit::Radian),
        (60.0, Unit::Second),
        (1.0, Unit::Share),
        (1.5, Unit::Ratio),
        (f64::INFINITY, Unit::Radian),
    ] {
        assert_eq!(unlikely(value, unit), None, "{value}");
    }
}

proptest! {
    /// Whatever is written is read back to the last bit.
    #[test]
    fn what_is_written_reads_back(value in proptest::num::f64::NORMAL | proptest::num::f64::ZERO) {
        for unit in UNITS {
            let text = written(value, unit);
            let back = read(&text, unit).map_err(|e| TestCaseError::fail(e.to_string()))?;
            prop_assert_eq!(back.value, value, "{}", text);
        }
    }

    /// So is every whole number of degrees, milliseconds and percent, as it was written.
    #[test]
    fn what_a_person_writes_comes_back_as_written(tenths in 0u32..100_000) {
        let number = f64::from(tenths) / 10.0;
        let written_by_hand = [
            (format!("{number} deg"), Unit::Radian),
            (format!("{number} deg/s"), Unit::RadianPerSecond),
            (format!("{number} %"), Unit::Share),
        ];
        for (text, unit) in written_by_hand {
            let value = read(&text, unit).map_err(|e| TestCaseError::fail(e.to_string()))?.value;
            prop_assert_eq!(written(value, unit), text);
        }
    }
}
