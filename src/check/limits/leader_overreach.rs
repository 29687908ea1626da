//! A leader that goes where the follower cannot: the follower runs out of travel first.
//!
//! Commands beyond the stop cannot be carried out: the same state is shown with many actions, and
//! the motor heats against the stop.
//!
//! How: on joints with a declared limit, the leader's position with the usual offset of the two arms
//! taken out, beyond the follower's limit by more than 2 degrees (4 mm): share of the frames, and
//! the 99th percentile of how far it is beyond.
//!
//! Traps: without declared limits the range that the data shows says little of what the arm could
//! reach: not assessable; see limit-dwell. Grippers are left out: squeezing is how they hold.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::range;
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Pool, Sheet, SpanList, Unit};
use crate::num::quantile::quantile_in_place;
use crate::num::runs::runs_where;

const BEYOND_DEG: f64 = 2.0;

static OVERREACH_SHARE: Metric = Metric::of_joint(
    "overreach_share",
    Unit::Share,
    "share of frames with the leader beyond the follower's travel",
)
.above(Some(0.01), Some(0.05))
.pooled(Pool::Own);
static OVERREACH: Metric = Metric::of_joint(
    "overreach",
    Unit::Radian,
    "how far it is beyond, 99th percentile (read on joints that turn)",
)
.above(None, Some(10.0 * std::f64::consts::PI / 180.0))
.pooled(Pool::Own);

static SPEC: CheckSpec = CheckSpec {
    id: "leader-overreach",
    family: Family::Limits,
    advisory: false,
    source: include_str!("leader_overreach.rs"),
    cause: "the leader's range is larger than the follower's",
    remedy: "calibrate both arms to the same range",
    reference: "common practice, no source",
    metrics: &[&OVERREACH_SHARE, &OVERREACH],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if study.episode.action.is_none() {
        return sheet.not_assessed("no leader column");
    }
    let declared = |joint: &usize| {
        let described = &study.joints()[*joint];
        !described.gripper && (described.lower.is_some() || described.upper.is_some())
    };
    let joints: Vec<usize> = (0..study.joints().len()).filter(declared).collect();
    if joints.is_empty() {
        return sheet.not_assessed("no joint limit is declared (profile or --urdf)");
    }
    let following = study.following();
    for joint in joints {
        let described = &study.joints()[joint];
        let leader = study.action(joint).unwrap_or(&[]);
        let aligned = following.joints.get(joint).and_then(Option::as_ref);
        let offset = aligned.map_or(0.0, |a| if a.offset.is_finite() { a.offset } else { 0.0 });
        let beyond = study.size(joint, BEYOND_DEG);
        let upper = described.upper.map_or(f32::INFINITY, |v| (v - offset) as f32);
        let lower = described.lower.map_or(f32::NEG_INFINITY, |v| (v - offset) as f32);
        let over = |value: f32| (value - upper).max(lower - value);
        let (low, high) = range(leader);
        let at = Some(joint as JointId);
        let (mut share, mut most, mut spans) = (0.0, 0.0, SpanList::default());
        if f64::from(over(low).max(over(high))) > beyond {
            let mut sizes: Vec<f32> = leader.iter().map(|v| over(*v).max(0.0)).collect();
            let far = |size: &f32| f64::from(*size) > beyond;
            spans =
                SpanList::longest(runs_where(&sizes, far).map(|run| FrameSpan::new(run.0, run.1)));
            share = sizes.iter().filter(|s| far(s)).count() as f64 / sizes.len() as f64;
            most = quantile_in_place(&mut sizes, 0.99);
        }
        sheet.put_spans(&OVERREACH_SHARE, at, share, spans.clone());
        if !described.linear {
            sheet.put_spans(&OVERREACH, at, most, spans);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    fn limited(rate_hz: f64, upper_deg: f64, offset_deg: f64) -> Bench {
        let stop = move |joint: usize, t: f64| {
            let free = sway(joint, t - 0.08) + offset_deg.to_radians();
            if joint == 0 { free.min(upper_deg.to_radians()) } else { free }
        };
        Bench::at(rate_hz)
            .seconds(20.0)
            .follower(stop)
            .rig(move |rig| rig.joints[0].upper = Some(upper_deg.to_radians()))
    }

    #[test]
    fn the_share_beyond_the_follower_is_that_of_the_sine() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = limited(rate_hz, 22.0, 0.0).measure(&CHECK);
            // Beyond 24 of 30 degrees for acos(0.8) / pi of the time, by up to 8 degrees.
            let share = 0.8f64.acos() / std::f64::consts::PI;
            let read = bench.joint("overreach_share", 0);
            assert!((read - share).abs() < 0.02, "{rate_hz} Hz: {read} for {share}");
            assert!((bench.joint("overreach", 0).to_degrees() - 8.0).abs() < 0.1);
        }
    }

    #[test]
    fn a_stop_beyond_the_motion_and_an_offset_are_no_overreach() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let free = limited(rate_hz, 31.0, 0.0).measure(&CHECK);
            assert_eq!(free.joint("overreach_share", 0), 0.0);
            // The leader reads 30 where the follower reads 20 and has room to 21.
            let offset = limited(rate_hz, 21.0, -10.0).measure(&CHECK);
            assert_eq!(offset.joint("overreach_share", 0), 0.0, "{rate_hz} Hz");
        }
        assert!(Bench::at(30.0).measure(&CHECK).is_not_assessed("is declared"));
    }
}
