//! The follower's neutral point is not the leader's.
//!
//! A policy trained on such data asks for poses that are off by as much; a horn that slipped one
//! tooth is off by 14.4 degrees.
//!
//! How: follower minus leader, lag taken out, on frames where the leader has been slower than 2
//! degrees a second for 0.3 s and nothing holds the follower; minus what backlash and pose account for
//! (fitted where nothing holds it), so that it is the difference at the pose nearest to zero that the
//! episode reached; the median. Contact is where the follower stands while the leader goes on by more
//! than 2.5 degrees (5 mm), the error is on one side, and gone once the leader is back. A joint whose
//! error draws the curve of a cosine over its poses sags: then it is the difference without the sag; no
//! more than the difference in the middle of the poses, unless the curve leaves next to nothing.
//! Beyond 5 degrees and within 1 of a multiple of 14.4 degrees the number of teeth of a 25-tooth
//! horn is given as well.
//!
//! Traps: a joint that droops under its load looks the same where the poses are all alike. Where
//! the leader moved less than 15 degrees (30 mm), or a sag is not known to a quarter of a degree, the
//! reading is called offset or sag. Resting on the object or the table is contact, and no offset. Grippers are left out.

use crate::check::prelude::{Check, Params};
use crate::check::study::{Fit, METRES_A_RADIAN, Study, Traced, in_contact};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit};
use crate::num::quantile::median_in_place;
use crate::num::runs::runs_where;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// One tooth of a horn with 25 (common practice, no source).
const TOOTH: f64 = 14.4 * DEGREE;
/// Below this speed the leader stands.
const STILL: f64 = 2.0 * DEGREE;
const STILL_S: f64 = 0.3;
/// From this range of poses on an offset is distinguished from sag.
const POSES: f64 = 15.0 * DEGREE;

/// The measurement `offset`, which is distinguished from sag.
pub static OFFSET: Metric = Metric::of_joint(
    "offset",
    Unit::Radian,
    "size of follower minus leader at rest, backlash and pose taken out",
)
.above(Some(2.0 * DEGREE), Some(5.0 * DEGREE))
.pooled(Pool::About { signed: &OFFSET_SIGNED, neutral: 0.0 })
.recovery("as it is, alone, while the calibration stays: do not merge it with other sessions");
static OFFSET_OR_SAG: Metric = Metric::of_joint(
    "offset_or_sag",
    Unit::Radian,
    "size of follower minus leader at rest, where the poses are too alike to tell it from sag",
)
.above(Some(2.0 * DEGREE), Some(5.0 * DEGREE))
.pooled(Pool::About { signed: &OFFSET_SIGNED, neutral: 0.0 });
/// The measurement `offset_signed`.
pub static OFFSET_SIGNED: Metric =
    Metric::of_joint("offset_signed", Unit::Radian, "the same with its sign").feature();
static HORN_TEETH: Metric = Metric::of_joint(
    "horn_teeth",
    Unit::Count,
    "teeth of a 25-tooth horn that the offset is near to",
);

static SPEC: CheckSpec = CheckSpec {
    id: "neutral-offset",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::AXES,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("neutral_offset.rs"),
    cause: "the neutral points of the two sides differ, or a horn or coupling slipped",
    remedy: "put both sides into the same jig pose and calibrate again; re-seat the horn",
    reference: "common practice, no source",
    metrics: &[&OFFSET, &OFFSET_OR_SAG, &OFFSET_SIGNED, &HORN_TEETH],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    for (joint, traced) in study.traces().iter().enumerate() {
        let Some(traced) = traced else { continue };
        let unit = if study.joints()[joint].linear { METRES_A_RADIAN } else { 1.0 };
        let Some(offset) = at_rest(traced, unit) else {
            if traced.holds.is_empty() {
                sheet.not_assessed_joint(joint, "the leader was never at rest for 0.3 s");
            } else {
                sheet.not_assessed_joint(joint, in_contact(traced));
            }
            continue;
        };
        let sag = traced.fit.and_then(|fit| fit.sag);
        let told = traced
            .fit
            .is_some_and(|fit| fit.range >= POSES * unit && sag.is_none_or(|sag| sag.is_exact()));
        sheet.put_joint(if told { &OFFSET } else { &OFFSET_OR_SAG }, joint, offset.abs());
        sheet.put_joint(&OFFSET_SIGNED, joint, offset);
        let teeth = (offset.abs() / TOOTH).round();
        if unit == 1.0 && teeth >= 1.0 && (offset.abs() - teeth * TOOTH).abs() < DEGREE {
            sheet.put_joint(&HORN_TEETH, joint, teeth);
        }
    }
}

/// The median difference over the frames at rest and free, backlash and pose taken out.
fn at_rest(traced: &Traced, unit: f64) -> Option<f64> {
    let trace = traced.free();
    let fit = traced.fit.filter(|fit| fit.range >= POSES * unit);
    let half = fit.map_or(0.0, |fit| 0.5 * fit.play.max(0.0) as f32);
    let by_pose = |leader: f32| match fit {
        Some(Fit { sag: Some(sag), .. }) => sag.beyond_middle(f64::from(leader)) as f32,
        Some(fit) => fit.gain as f32 * (leader - fit.pose as f32),
        None => 0.0,
    };
    let smallest = ((STILL_S / trace.step_s).round() as usize).max(2);
    let still = (STILL * unit) as f32;
    let mut rest = Vec::new();
    for segment in &trace.segments {
        let speeds = &trace.speed[segment.clone()];
        for (start, end) in
            runs_where(speeds, |v| v.abs() < still).filter(|r| r.1 - r.0 >= smallest)
        {
            // The follower has come to rest a while after the leader.
            rest.extend((segment.start + start + smallest / 2..segment.start + end).map(|at| {
                trace.error[at] + half * trace.side.get(at).copied().unwrap_or(0.0)
                    - by_pose(trace.leader[at])
            }));
        }
    }
    let offset = (rest.len() >= smallest).then(|| median_in_place(&mut rest))?;
    let sag = fit.and_then(|fit| fit.sag);
    Some(sag.map_or(offset, |sag| sag.leaves(offset)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    /// Four seconds of motion, two of rest.
    fn paused(joint: usize, t: f64) -> f64 {
        sway(joint, if t % 6.0 < 5.0 { t % 6.0 } else { 5.0 })
    }

    #[test]
    fn a_planted_offset_is_read_with_its_teeth() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for offset_deg in [-14.4f64, -3.0, 0.0, 1.0, 4.2] {
                let moved = move |joint: usize, t: f64| {
                    paused(joint, t - 0.08) + if joint == 0 { offset_deg.to_radians() } else { 0.0 }
                };
                let bench =
                    Bench::at(rate_hz).seconds(18.0).leader(paused).follower(moved).measure(&CHECK);
                let read = bench.joint("offset_signed", 0).to_degrees();
                assert!((read - offset_deg).abs() < 0.1, "{rate_hz} Hz {offset_deg}: {read}");
                assert!(bench.joint("offset", 1).to_degrees() < 0.1);
                assert_eq!(!bench.missing("horn_teeth"), offset_deg == -14.4);
            }
        }
    }

    #[test]
    fn a_wrong_range_is_no_offset_and_one_pose_may_be_sag() {
        let wide = |joint: usize, t: f64| 1.1 * paused(joint, t - 0.08);
        let at = || Bench::at(50.0).seconds(18.0);
        let bench = at().leader(paused).follower(wide).measure(&CHECK);
        assert!(bench.joint("offset", 0).to_degrees() < 0.2, "{:?}", bench.readings.len());
        let still = at().leader(|_, _| 0.5).follower(|_, _| 0.55).measure(&CHECK);
        assert!((still.joint("offset_or_sag", 0) - 0.05).abs() < 1e-4 && still.missing("offset"));
    }

    #[test]
    fn a_leader_that_never_stands_is_not_assessable() {
        let bench = Bench::at(50.0).seconds(10.0).measure(&CHECK);
        assert!(bench.missing("offset") && bench.is_not_assessed("never at rest"));
    }
}
