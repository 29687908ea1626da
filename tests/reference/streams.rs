//! Stamped streams.

use teleassay::num::jitter::{interarrival, interarrival_sixteenths};
use teleassay::num::runs::runs_alike;

use super::oracle::{Oracle, all_close};

/// RFC 3550 6.4.1; worked numbers by L. Ruoff on the wireshark-users list, 2007-02-22.
#[test]
fn interarrival_jitter_in_seconds() {
    let case = Oracle::case("rfc3550_wireshark");
    let sent: Vec<f64> = case.input("media_ts").iter().map(|ts| ts / 8000.0).collect();
    all_close(&interarrival(&case.input("arrival_s"), &sent), &case.expected_list("J_s"), 1e-12);
}

/// RFC 3550 A.8; the stream statistics test of aiortc.
#[test]
fn interarrival_jitter_in_whole_sixteenths() {
    let case = Oracle::case("rfc3550_integer_q4");
    let whole = |values: Vec<f64>| -> Vec<i64> { values.into_iter().map(|v| v as i64).collect() };
    let arrival = whole(case.input("arrival_units"));
    let jitter = interarrival_sixteenths(&arrival, &whole(case.input("media_ts")));
    assert_eq!(jitter, whole(case.expected_list("q4")));
    let reported: Vec<i64> = jitter.iter().map(|q4| q4 >> 4).collect();
    assert_eq!(reported, whole(case.expected_list("jitter")));
}

/// The flat-line rule of QARTOD (a value is suspect, or fails, if so many seconds up to it lie within
/// the tolerance), by our stretches of alike values. Vectors of `ioos_qc` 3.0.0. Left out are those with
/// missing values, which are taken out before anything is called still, and `flat_spike`: its slow
/// ramp lies within a wide tolerance, but no stretch of ours is alike while it moves on.
#[test]
fn stretches_alike_flag_what_qartod_calls_flat() -> Result<(), Box<dyn std::error::Error>> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/reference/qartod_vectors.json");
    let vectors: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(path)?)?;
    let cases = vectors["cases"].as_array().ok_or("no cases")?;
    let flat = |name: &str| name.starts_with("flat") && name != "flat_spike";
    let mut compared = 0;
    for case in cases.iter().filter(|c| c["name"].as_str().is_some_and(flat)) {
        let numbers = |key: &str| -> Option<Vec<f64>> {
            case[key].as_array()?.iter().map(serde_json::Value::as_f64).collect()
        };
        let (Some(input), Some(expected)) = (numbers("input"), numbers("expected")) else {
            continue;
        };
        let number = |key: &str| case[key].as_f64().unwrap_or(f64::NAN);
        let steps = |key: &str| (number(key) / number("dt_s")) as usize;
        let (suspect, fail) = (steps("suspect_threshold"), steps("fail_threshold"));
        let tolerance = number("tolerance");
        let alike = |i: usize, j: usize| (input[i] - input[j]).abs() < tolerance;
        let mut flags = vec![1.0; input.len()];
        for (start, end) in runs_alike(input.len(), suspect + 1, alike) {
            for (at, flag) in flags.iter_mut().enumerate().take(end).skip(start + suspect) {
                *flag = if at - start >= fail { 4.0 } else { 3.0 };
            }
        }
        assert_eq!(flags, expected, "{}", case["name"]);
        compared += 1;
    }
    assert!(compared >= 6, "{compared} cases");
    Ok(())
}
