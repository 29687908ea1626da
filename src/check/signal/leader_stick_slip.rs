//! A leader that chatters: stick-slip, a sticky bearing, a loose handle.
//!
//! Commands that rattle are learnt as such, and drive the follower's gears at its resonance.
//!
//! How: per joint and stretch of motion (0.5 to 20 s, at least 5 degrees or 10 mm of it), the share
//! of the energy of the leader's velocity that lies between 8 and 25 Hz; read is the median over
//! the stretches.
//!
//! Traps: tremor is normal, and so is the noise of counts, which grows with the rate: the share
//! says something only compared with that of the dataset's other episodes, so it is not judged by itself.
//! Below 20 frames a second such motion cannot be seen: not assessable.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::range;
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};
use crate::num::quantile::median_in_place;
use crate::num::spectrum::Spectrum;

const BAND_HZ: (f64, f64) = (8.0, 25.0);
const LEAST_DEG: f64 = 5.0;
const STRETCH_S: (f64, f64) = (0.5, 20.0);

/// The measurement `chatter`.
pub static CHATTER: Metric = Metric::of_joint(
    "chatter",
    Unit::Ratio,
    "share of the leader's velocity energy between 8 and 25 Hz, median over stretches of motion",
);

static SPEC: CheckSpec = CheckSpec {
    id: "leader-stick-slip",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Path,
    advisory: true,
    source: include_str!("leader_stick_slip.rs"),
    cause: "stick-slip, a sticky bearing or a loose handle of the leader",
    remedy: "grease the joint, tighten the handle",
    reference: "common practice, no source",
    metrics: &[&CHATTER],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if study.episode.action.is_none() {
        return sheet.not_assessed("no leader column");
    }
    let (Some(motion), Some(period_s)) = (study.motion(), study.period_s()) else {
        return sheet.not_assessed("too few frames, or no frame period");
    };
    if period_s > 1.0 / 20.0 {
        return sheet.not_assessed(format!("{:.1} frames a second, needs 20", 1.0 / period_s));
    }
    let mut spectrum = Spectrum::default();
    for &joint in &motion.joints {
        let leader = study.action(joint).unwrap_or(&[]);
        let smallest = study.size(joint, LEAST_DEG) as f32;
        let mut shares: Vec<f64> = Vec::new();
        for stretch in motion.between(STRETCH_S.0, STRETCH_S.1) {
            let values = &leader[motion.frames(&stretch)];
            let (low, high) = range(values);
            if high - low > smallest {
                shares.extend(share(&mut spectrum, values, period_s));
            }
        }
        if shares.is_empty() {
            sheet.not_assessed_joint(joint, "no stretch of motion of 5 degrees and half a second");
        } else {
            sheet.put_joint(&CHATTER, joint, median_in_place(&mut shares));
        }
    }
}

/// Share of the velocity's energy that lies in the band.
fn share(spectrum: &mut Spectrum, values: &[f32], period_s: f64) -> Option<f64> {
    let steps = values[1..].iter().zip(values).map(|(b, a)| f64::from(b - a));
    let lines = spectrum.amplitudes(steps, 0);
    let step_hz = 1.0 / (period_s * (2 * (lines.len().max(2) - 1)) as f64);
    let energy = |low: f64, high: f64| -> f64 {
        let from = (low / step_hz).ceil() as usize;
        let end = (((high / step_hz).floor() as usize) + 1).min(lines.len());
        let squares: f64 = lines.get(from..end).unwrap_or(&[]).iter().map(|a| a * a).sum();
        // Every line but the mean stands for two, at plus and minus its frequency.
        if from == 0 { 2.0 * squares - lines.first().map_or(0.0, |a| a * a) } else { 2.0 * squares }
    };
    let whole = energy(0.0, BAND_HZ.1);
    (whole > 0.0).then(|| energy(BAND_HZ.0, BAND_HZ.1) / whole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::Bench;
    use std::f64::consts::TAU;

    /// A sway of 20 degrees at 0.5 Hz with a chatter of `deg` at 10 Hz.
    fn chattering(rate_hz: f64, deg: f64) -> Bench {
        Bench::at(rate_hz).seconds(16.0).leader(move |_, t| {
            (20.0 * (TAU * 0.5 * t).sin() + deg * (TAU * 10.0 * t).sin()).to_radians()
        })
    }

    #[test]
    fn chatter_shows_as_its_share_of_the_energy() {
        for rate_hz in [30.0, 50.0, 100.0, 200.0] {
            // Velocity amplitudes 20 * 0.5 and 0.5 * 10: a fifth of the energy, before what
            // differences between frames take off the faster one.
            let bench = chattering(rate_hz, 0.5).measure(&CHECK);
            let taken = |hertz: f64| {
                let half = std::f64::consts::PI * hertz / rate_hz;
                (half.sin() / half).powi(2)
            };
            let (fast, slow) = (25.0 * taken(10.0), 100.0 * taken(0.5));
            let want = fast / (fast + slow);
            let read = bench.joint("chatter", 0);
            assert!((read / want - 1.0).abs() < 0.15, "{rate_hz} Hz: {read} for {want}");
        }
    }

    #[test]
    fn a_quiet_hand_has_next_to_none() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let read = chattering(rate_hz, 0.0).measure(&CHECK).joint("chatter", 0);
            assert!(read < 0.01, "{rate_hz} Hz: {read}");
        }
        let slow = chattering(10.0, 0.0).measure(&CHECK);
        assert!(slow.is_not_assessed("needs 20"));
    }
}
