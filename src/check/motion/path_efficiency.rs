//! How straight the ways are: detours and searching make them longer.
//!
//! Searching is learnt as readily as going straight there.
//!
//! How: per stretch of motion (0.5 to 10 s) of the leader, in joint space without the grippers: the
//! straight distance between its ends over the length of its path, along points a tenth of a second
//! apart, where a joint that moved by no more than 2 counts has not moved. Read is the median.
//!
//! Traps: a way round an obstacle is longer and right. Compare within one task. Not judged by itself.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::weight;
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};
use crate::num::path::straightness;
use crate::num::quantile::median_in_place;

const STRETCH_S: (f64, f64) = (0.5, 10.0);
const DEAD_COUNTS: f64 = 2.0;

/// The measurement `straightness`.
pub static STRAIGHTNESS: Metric = Metric::of_episode(
    "straightness",
    Unit::Ratio,
    "straight distance over length of path, median over stretches of motion",
);

static SPEC: CheckSpec = CheckSpec {
    id: "path-efficiency",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("path_efficiency.rs"),
    cause: "detours, corrections, searching",
    remedy: "practise; look at the episode by eye",
    reference: "ratio as stated; common practice, no source",
    metrics: &[&STRAIGHTNESS],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(motion) = study.motion() else {
        return sheet.not_assessed("too few frames, or no frame period");
    };
    let joints = &motion.joints;
    let (mut points, mut found) = (Vec::new(), Vec::new());
    for stretch in motion.between(STRETCH_S.0, STRETCH_S.1) {
        let frames = motion.frames(&stretch);
        points.clear();
        let mut place: Vec<f64> = Vec::new();
        for frame in frames.clone().step_by(motion.chord).chain([frames.end - 1]) {
            for (at, &joint) in joints.iter().enumerate() {
                let values = study.hand(joint);
                let now = f64::from(values[frame]) * weight(study, joint);
                let dead = DEAD_COUNTS * study.count(joint) * weight(study, joint);
                match place.get_mut(at) {
                    None => place.push(now),
                    Some(held) if (now - *held).abs() > dead => *held = now,
                    Some(_) => {}
                }
            }
            points.extend_from_slice(&place);
        }
        found.extend(straightness(&points, joints.len()));
    }
    if found.is_empty() {
        return sheet.not_assessed("no stretch of motion of 0.5 to 10 s");
    }
    sheet.put(&STRAIGHTNESS, median_in_place(&mut found));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::Bench;

    /// Joints 0 and 1 on half a circle in 2 s, then rest for one, and back.
    fn arc(rate_hz: f64) -> Bench {
        Bench::at(rate_hz).seconds(12.0).leader(|joint, t| {
            let u = (t.rem_euclid(3.0) / 2.0).min(1.0);
            let way = u * u * u * (10.0 + u * (6.0 * u - 15.0));
            let there = if t.rem_euclid(6.0) < 3.0 { way } else { 1.0 - way };
            let turn = std::f64::consts::PI * there;
            if joint == 0 { 0.8 * turn.cos() } else { 0.8 * turn.sin() }
        })
    }

    #[test]
    fn a_semicircle_reads_two_over_pi() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let read = arc(rate_hz).measure(&CHECK).value("straightness");
            assert!((read - std::f64::consts::FRAC_2_PI).abs() < 0.01, "{rate_hz} Hz: {read}");
        }
    }

    #[test]
    fn joints_in_step_go_straight() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let straight = |joint: usize, t: f64| (joint as f64 + 1.0) * 0.3 * (1.5 * t).cos();
            let bench = Bench::at(rate_hz).seconds(12.0).leader(straight).measure(&CHECK);
            assert!(bench.value("straightness") > 0.99, "{rate_hz} Hz: {bench:?}");
        }
    }
}
