//! Smoothness and straightness against published and analytic values.

use super::oracle::{Oracle, close};
use teleassay::num::path::{log_dimensionless_jerk, straightness};
use teleassay::num::spectrum::{PUBLISHED, Spectrum};

fn arc_length(speed: &[f64], rate_hz: f64) -> f64 {
    let mut spectrum = Spectrum::default();
    spectrum.arc_length(speed.iter().copied(), rate_hz, PUBLISHED).unwrap_or(f64::NAN)
}

/// The bell of the published example: 200 samples of `exp(-5 t^2)` at 100 Hz.
fn bell() -> Vec<f64> {
    (0..200).map(|i| f64::from(i) * 0.01 - 1.0).map(|t| (-5.0 * t * t).exp()).collect()
}

/// Speed of the smoothest motion (Flash & Hogan 1985), `samples` of them over one second.
fn smoothest(samples: usize) -> Vec<f64> {
    let at = |i: usize| i as f64 / (samples - 1) as f64;
    (0..samples).map(|i| 30.0 * at(i).powi(2) * (1.0 - at(i)).powi(2)).collect()
}

#[test]
fn the_published_bell_has_the_published_smoothness() {
    let case = Oracle::case("sparc_gauss");
    close(arc_length(&bell(), 100.0), case.expected("sparc_full"), 1e-12);
    let jerk = log_dimensionless_jerk(&bell(), 0.01).unwrap_or(f64::NAN);
    close(jerk, case.expected("ldlj"), 1e-12);
}

#[test]
fn the_smoothest_motion_reads_its_analytic_jerk_in_the_limit() {
    let case = Oracle::case("min_jerk");
    close(arc_length(&smoothest(101), 100.0), case.expected("sparc_fs100_T1_101samples"), 1e-6);
    close(arc_length(&smoothest(1001), 1000.0), case.expected("sparc_fs1000_T1_1001"), 1e-9);
    let jerk = |samples: usize| {
        let step_s = 1.0 / (samples - 1) as f64;
        log_dimensionless_jerk(&smoothest(samples), step_s).unwrap_or(f64::NAN)
    };
    close(jerk(101), case.expected("ldlj_fs100_T1_101samples"), 1e-6);
    let limit = case.expected("LDLJ_vpeak");
    let off = [101, 1001, 10_001].map(|samples| (jerk(samples) - limit).abs());
    assert!(off[2] < 2.5e-4 && off[1] < off[0] / 8.0 && off[2] < off[1] / 8.0, "{off:?}");
}

#[test]
fn a_semicircle_is_as_straight_as_two_over_pi() {
    let case = Oracle::case("straightness_semicircle");
    let (segments, expected) = (case.input("segments"), case.expected_list("chord_over_path"));
    assert!(!segments.is_empty() && segments.len() == expected.len(), "{expected:?}");
    for (segments, expected) in segments.into_iter().zip(expected) {
        let turn = |i: usize| std::f64::consts::PI * i as f64 / segments;
        let points: Vec<f64> =
            (0..=segments as usize).flat_map(|i| [turn(i).cos(), turn(i).sin()]).collect();
        close(straightness(&points, 2).unwrap_or(f64::NAN), expected, 1e-12);
    }
}
