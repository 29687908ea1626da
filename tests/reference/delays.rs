//! Lag on signals of known delay.

use std::ops::Range;
use std::path::Path;

use serde_json::Value;
use teleassay::num::lag::{Search, lag, vertex};
use teleassay::num::resample::Grid;

use super::oracle::{Oracle, close};

/// A file of `fixtures/reference`: analytic ground truth, see its README.
fn load(name: &str) -> Result<Value, Box<dyn std::error::Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/reference");
    Ok(serde_json::from_str(&std::fs::read_to_string(folder.join(name))?)?)
}

fn series(file: &Value, key: &str) -> Vec<f64> {
    let list = file[key].as_array();
    list.map(|list| list.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
}

fn single(values: &[f64]) -> Vec<f32> {
    values.iter().map(|value| *value as f32).collect()
}

/// Lag in seconds, with grid and search as the tracking checks set them: searched for 1 s either
/// way, over means of up to 120 ms, and a parabola of 10 ms or one frame.
fn lag_s(s: &[f32], a: &[f32], segments: &[Range<usize>], step_s: f64) -> f64 {
    let steps = |seconds: f64| (seconds / step_s).round().max(1.0) as usize;
    let search = Search { reach: steps(1.0), halvings: steps(0.12).ilog2(), arm: steps(0.01) };
    lag(s, a, segments, search).map_or(f64::NAN, |found| found.samples * step_s)
}

#[test]
fn uniform_delays_within_a_twentieth_of_a_millisecond() -> Result<(), Box<dyn std::error::Error>> {
    let file = load("delay_uniform.json")?;
    let delays = series(&file, "delays_s");
    assert_eq!(delays, [0.040, 0.047, 0.1234, -0.031]);
    let omegas = [(0.6, 0.37, 0.2), (0.25, 0.83, 1.1), (0.1, 1.57, 2.3)];
    let signal = |t: f64| -> f64 {
        omegas.iter().map(|(a, f, p)| a * (std::f64::consts::TAU * f * t + p).sin()).sum()
    };
    let leader = series(&file, "leader");
    let time_s: Vec<f64> = (0..leader.len()).map(|i| i as f64 / 50.0).collect();
    let grid = Grid::over(&time_s, 0.02, 0.07, usize::MAX).ok_or("no grid")?;
    assert!(grid.is_identity());
    for delay_s in delays {
        // One follower is stored; the formula that the file states gives it, and the others.
        let follower: Vec<f64> = time_s.iter().map(|t| signal(t - delay_s)).collect();
        if delay_s == 0.047 {
            let stored = series(&file, "follower_0.047");
            assert!(stored.iter().zip(&follower).all(|(x, y)| (x - y).abs() < 1e-12));
        }
        let got_s = lag_s(&single(&follower), &single(&leader), &grid.segments, grid.step_s);
        assert!((got_s - delay_s).abs() < 5e-5, "{delay_s} s: {got_s} s");
    }
    Ok(())
}

#[test]
fn irregular_stamps_and_lost_rows_within_three_tenths_of_a_millisecond()
-> Result<(), Box<dyn std::error::Error>> {
    let file = load("delay_irregular.json")?;
    let time_s = series(&file, "t");
    assert_eq!(time_s.len(), 592);
    let grid = Grid::over(&time_s, 0.02, 3.5 * 0.02, usize::MAX).ok_or("no grid")?;
    assert!(!grid.is_identity());
    let on_grid = |key: &str| {
        let mut out = Vec::new();
        grid.apply(&single(&series(&file, key)), &mut out);
        out
    };
    let got_s = lag_s(&on_grid("follower"), &on_grid("leader"), &grid.segments, grid.step_s);
    assert!((got_s - 0.047).abs() < 3e-4, "{got_s} s");
    Ok(())
}

/// What a parabola through three samples of a cosine, or of a band-limited peak, makes of a known
/// shift: exact expressions, so the error of the parabola itself is known.
#[test]
fn the_vertex_of_three_samples_of_a_cosine_and_of_a_sinc() {
    let case = Oracle::case("parabola_cos");
    let (w, d) = (case.input("w"), case.input("d"));
    let expected = case.expected_list("p");
    assert!(!w.is_empty() && [w.len(), d.len()] == [expected.len(); 2], "{expected:?}");
    for ((w, d), expected) in w.into_iter().zip(d).zip(expected) {
        let at = |k: f64| (w * (k - d)).cos();
        close(vertex(at(-1.0), at(0.0), at(1.0)), expected, 1e-12);
    }
    let case = Oracle::case("parabola_sinc");
    let (d, expected) = (case.input("d"), case.expected_list("p"));
    assert!(!d.is_empty() && d.len() == expected.len(), "{expected:?}");
    for (d, expected) in d.into_iter().zip(expected) {
        let at = |k: f64| {
            let x = std::f64::consts::PI * (k - d);
            if x == 0.0 { 1.0 } else { x.sin() / x }
        };
        close(vertex(at(-1.0), at(0.0), at(1.0)), expected, 1e-12);
    }
    assert!(!vertex(1.0, 2.0, 3.0).is_finite());
}
