//! How smoothly the operator moves.
//!
//! Rough demonstrations take more of them to learn from; a session that grows rougher tells of a
//! tired hand or a sticky leader.
//!
//! How: per stretch of motion (0.5 to 10 s) of the leader, all arm joints together: the spectral arc
//! length of the speed (SPARC; up to 10 Hz or half the rate, amplitudes from 5 % up) and its log
//! dimensionless jerk; read are the medians over the stretches. Nearer to zero is smoother: a
//! single smooth motion reads about -1.4 and -5.3. The mean speed in motion is read too.
//!
//! Traps: both measure length if taken over a whole episode: the same skill reads worse the longer
//! it lasts. Differences of SPARC below 0.02 are discretisation. Neither says whether an episode is
//! good; compare within one task, one rate and one rig. Speed is taken over chords of a tenth of a
//! second, at least four frames, which makes every stretch a little longer: a hand 1.25 times as fast
//! reads 1.23, and 20 Hz read 4 % less than 100 Hz. Not judged by itself.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};
use crate::num::path::log_dimensionless_jerk;
use crate::num::quantile::median_in_place;
use crate::num::spectrum::{Cut, PUBLISHED, Spectrum};

const STRETCH_S: (f64, f64) = (0.5, 10.0);

/// The measurement `sparc`.
pub static SPARC: Metric = Metric::of_episode(
    "sparc",
    Unit::Ratio,
    "spectral arc length of the speed, median over stretches of motion",
);
/// The measurement `log_jerk`.
pub static JERK: Metric = Metric::of_episode(
    "log_jerk",
    Unit::Ratio,
    "log dimensionless jerk of the speed, median over stretches of motion",
);

/// The measurement `moving_speed`.
pub static MOVING_SPEED: Metric = Metric::of_episode(
    "moving_speed",
    Unit::RadianPerSecond,
    "mean speed of all arm joints together (root of the sum of squares) while the hand moves",
);

static SPEC: CheckSpec = CheckSpec {
    id: "smoothness",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("smoothness.rs"),
    cause: "an unpractised or tired operator",
    remedy: "practise; rest; look at the leader's friction",
    reference: "Balasubramanian et al. 2015, doi 10.1186/s12984-015-0090-9",
    metrics: &[&SPARC, &JERK, &MOVING_SPEED],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(motion) = study.motion() else {
        return sheet.not_assessed("too few frames, or no frame period");
    };
    let moving = || motion.segments.iter().flat_map(|s| &motion.speed[s.clone()]);
    if moving().next().is_some() {
        let sum: f64 = moving().map(|v| f64::from(*v)).sum();
        sheet.put(&MOVING_SPEED, sum / moving().count() as f64);
    }
    let rate_hz = 1.0 / motion.hop_s;
    // Two doublings instead of four cost a quarter, and stay within what must not be judged.
    let cutoff_hz = PUBLISHED.cutoff_hz.min(0.5 * rate_hz);
    let cut = Cut { doublings: 2, cutoff_hz, ..PUBLISHED };
    let mut spectrum = Spectrum::default();
    let (mut arcs, mut jerks, mut speed) = (Vec::new(), Vec::new(), Vec::new());
    for stretch in motion.between(STRETCH_S.0, STRETCH_S.1) {
        speed.clear();
        speed.extend(motion.speed[stretch].iter().map(|v| f64::from(*v)));
        arcs.extend(spectrum.arc_length(speed.iter().copied(), rate_hz, cut));
        jerks.extend(log_dimensionless_jerk(&speed, motion.hop_s));
    }
    if arcs.is_empty() || jerks.is_empty() {
        return sheet.not_assessed("no stretch of motion of 0.5 to 10 s");
    }
    sheet.put(&SPARC, median_in_place(&mut arcs));
    sheet.put(&JERK, median_in_place(&mut jerks));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::Bench;
    use std::f64::consts::TAU;

    /// Smooth ways of 40 degrees in 1 s, a second of rest after each; `deg` of 4 Hz on top.
    fn ways(rate_hz: f64, repeats: f64, deg: f64) -> Bench {
        Bench::at(rate_hz).seconds(2.0 * repeats).leader(move |_, t| {
            let u = t.rem_euclid(2.0).min(1.0);
            let way = u * u * u * (10.0 + u * (6.0 * u - 15.0));
            let there = if t.rem_euclid(4.0) < 2.0 { way } else { 1.0 - way };
            let shake = deg * (TAU * 4.0 * t).sin() * (u * (1.0 - u) * 4.0);
            (40.0 * there + shake).to_radians()
        })
    }

    #[test]
    fn smooth_ways_read_as_one_smooth_motion_however_many() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let few = ways(rate_hz, 4.0, 0.0).measure(&CHECK).value("sparc");
            let many = ways(rate_hz, 20.0, 0.0).measure(&CHECK).value("sparc");
            assert!((few + 1.42).abs() < 0.06, "{rate_hz} Hz: {few}");
            assert!((few - many).abs() < 0.02, "{rate_hz} Hz: {few} and {many}");
        }
    }

    #[test]
    fn the_speed_is_that_of_the_ways_without_the_rests() {
        for rate_hz in [25.0, 50.0, 200.0] {
            // Two joints, 40 degrees in a second; chords of a tenth smear a little into the rest.
            let read = ways(rate_hz, 6.0, 0.0).measure(&CHECK).value("moving_speed");
            let want = 40f64.to_radians() * 2f64.sqrt();
            assert!((0.8..1.1).contains(&(read / want)), "{rate_hz} Hz: {read} for {want}");
        }
        let at = |rate_hz| ways(rate_hz, 6.0, 0.0).measure(&CHECK).value("moving_speed");
        let (slow, fast) = (at(20.0), at(100.0));
        assert!((0.94..0.98).contains(&(slow / fast)), "{slow} at 20 Hz, {fast} at 100 Hz");
    }

    #[test]
    fn a_shaking_hand_reads_worse_on_both() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let smooth = ways(rate_hz, 6.0, 0.0).measure(&CHECK);
            let shaking = ways(rate_hz, 6.0, 2.0).measure(&CHECK);
            assert!(shaking.value("sparc") < smooth.value("sparc") - 0.1, "{rate_hz} Hz");
            assert!(shaking.value("log_jerk") < smooth.value("log_jerk") - 0.5, "{rate_hz} Hz");
        }
    }
}
