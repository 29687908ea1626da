//! Stamped streams.

use teleassay::num::runs::runs_alike;

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
