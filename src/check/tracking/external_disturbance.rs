//! The follower moves although the leader stands: a collision, or a hand on the arm.
//!
//! The state moves for a reason that no command and no past state holds: the policy cannot learn
//! it, and tries.
//!
//! How: stretches in which the leader stays within half a degree (1 mm), without their first
//! lag + 0.3 s, in which the follower may still settle. The reading is the range of the follower
//! in the rest of the stretch, over means of 0.12 s; the largest of the episode. Besides, how far the
//! leader went on while something held the follower: the largest departure from the usual
//! difference of the two, lag taken out, that is kept for 0.24 s; and the share of the time in contact,
//! where the follower stands and the error goes once the leader is back (see neutral offset). Nobody
//! judges them here, as contact may be the task: contact-outlier holds the first against the other
//! episodes. A push of a second is read in
//! full from 25 to 1,000 Hz; at 10 Hz three frames make a mean, and less is left of it.
//!
//! Traps: settling after a fast motion is waited for. A leader that shakes by more than half a
//! degree never stands, and then nothing is said. A hand that holds the arm against its motor
//! shows as tracking loss, not here. Grippers are left out.

use crate::check::prelude::{Check, Params};
use crate::check::study::{Hold, METRES_A_RADIAN, Study, Trace, Traced, range};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};
use crate::num::robust::median;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// A leader within this stands.
const STANDS: f64 = 0.5 * DEGREE;
/// After this and the lag the follower has settled.
const SETTLED_S: f64 = 0.3;
/// Points to a mean: 0.12 s.
const MEAN: usize = 3;

static PUSHED: Metric = Metric::of_joint(
    "pushed",
    Unit::Radian,
    "how far the follower moved while the leader was at rest",
)
.above(Some(1.5 * DEGREE), None);

/// Read here and judged by contact-outlier.
pub static BLOCKED: Metric = Metric::of_joint(
    "blocked",
    Unit::Radian,
    "how far the leader went on while something held the follower",
);

/// What is usual over a session explains a tracking error.
pub static CONTACT_SHARE: Metric = Metric::of_joint(
    "contact_share",
    Unit::Share,
    "share of the time in which something held the follower until the leader came back",
);

static SPEC: CheckSpec = CheckSpec {
    id: "external-disturbance",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Motion,
    advisory: true,
    source: include_str!("external_disturbance.rs"),
    cause: "the follower hit something, or somebody moved it by hand",
    remedy: "keep hands and things off the follower; look at the frames and record again",
    reference: "common practice, no source",
    metrics: &[&PUSHED, &BLOCKED, &CONTACT_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let Some(grid) = study.grid() else { return };
    let following = study.following();
    for (joint, traced) in study.traces().iter().enumerate() {
        let Some(traced @ Traced { trace, .. }) = traced else { continue };
        let unit = if study.joints()[joint].linear { METRES_A_RADIAN } else { 1.0 };
        let usual = following.joints[joint].as_ref().map_or(f64::NAN, |aligned| aligned.offset);
        if usual.is_finite() && !study.joints()[joint].linear {
            sheet.put_joint(&BLOCKED, joint, blocked(trace, usual as f32));
        }
        let row = |place: usize| grid.row(trace.at[place] as usize);
        let span =
            |hold: &Hold| FrameSpan::new(row(hold.points.start), row(hold.points.end - 1) + 1);
        let spans = SpanList::longest(traced.holds.iter().map(span));
        sheet.put_spans(&CONTACT_SHARE, Some(joint as JointId), traced.held_share(), spans);
        let wait_s = SETTLED_S + following.lag_s(joint).max(0.0);
        let Some((range, (start, end))) = pushed(trace, unit, wait_s) else {
            sheet.not_assessed_joint(joint, "the leader was never at rest long enough");
            continue;
        };
        let spans = if range > STANDS * unit {
            FrameSpan::new(row(start), row(end - 1) + 1).into()
        } else {
            SpanList::default()
        };
        sheet.put_spans(&PUSHED, Some(joint as JointId), range, spans);
    }
}

/// Largest range of the follower while the leader was at rest, and the points over which it moved.
fn pushed(trace: &Trace, unit: f64, wait_s: f64) -> Option<(f64, (usize, usize))> {
    let wait = (wait_s / trace.step_s).ceil() as usize;
    let most = (STANDS * unit) as f32;
    let mut worst: Option<(f64, (usize, usize))> = None;
    for segment in &trace.segments {
        let mut start = segment.start;
        while start < segment.end {
            let (mut low, mut high) = (trace.leader[start], trace.leader[start]);
            // Positions are finite here: plain comparisons are one instruction each.
            let leaves = |leader: &f32| {
                low = lesser(*leader, low);
                high = greater(*leader, high);
                high - low > most
            };
            let behind = &trace.leader[start + 1..segment.end];
            let stays = behind.iter().position(leaves).unwrap_or(behind.len());
            let end = start + 1 + stays;
            if end - start > wait + 2 * MEAN {
                let found = moved(trace, start + wait, end);
                if worst.as_ref().is_none_or(|(range, _)| found.0 > *range) {
                    worst = Some(found);
                }
            }
            start = end;
        }
    }
    worst
}

/// The largest departure of the error from the usual one that two means' lengths in a row keep, on one
/// side.
fn blocked(trace: &Trace, usual: f32) -> f64 {
    let mut most = 0.0f32;
    for segment in &trace.segments {
        let mut last = (0.0f32, 0.0f32);
        for part in trace.error[segment.clone()].as_chunks::<MEAN>().0 {
            // Three points: a dispatch to wide instructions would take longer than the work.
            let low = part.iter().fold(part[0], |low, v| lesser(*v, low));
            let high = part.iter().fold(part[0], |high, v| greater(*v, high));
            let now = (greater(low - usual, 0.0), greater(usual - high, 0.0));
            most = greater(greater(lesser(last.0, now.0), most), lesser(last.1, now.1));
            last = now;
        }
    }
    f64::from(most)
}

/// The lesser of two finite numbers: one instruction, where one for any numbers takes five.
fn lesser(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

fn greater(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// Range of the follower's means between two points, and where it was away from its place.
fn moved(trace: &Trace, start: usize, end: usize) -> (f64, (usize, usize)) {
    let sum = |values: &[f32], first: usize| values[first..first + MEAN].iter().sum::<f32>();
    let means: Vec<f32> = (start..=end - MEAN)
        .step_by(MEAN)
        .map(|at| (sum(&trace.leader, at) + sum(&trace.error, at)) / MEAN as f32)
        .collect();
    let (low, high) = range(&means);
    let place = median(&means) as f32;
    let away = |mean: &f32| (mean - place).abs() > 0.25 * (high - low);
    let first = means.iter().position(away).unwrap_or(0);
    let last = means.iter().rposition(away).unwrap_or(0);
    (f64::from(high - low), (start + first * MEAN, start + (last + 1) * MEAN))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    fn paused(joint: usize, t: f64) -> f64 {
        sway(joint, if t < 5.0 { t } else { 5.0 + 1e-4 * (t - 5.0) })
    }

    #[test]
    fn a_push_is_read_at_its_size_and_place() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0, 500.0, 1000.0] {
            let pushed = |joint: usize, t: f64| {
                let push = ((t - 7.0) * std::f64::consts::PI).sin().max(0.0);
                let here = joint == 1 && (7.0..8.0).contains(&t);
                paused(joint, t - 0.08) + if here { 6f64.to_radians() * push } else { 0.0 }
            };
            let bench =
                Bench::at(rate_hz).seconds(10.0).leader(paused).follower(pushed).measure(&CHECK);
            let read_deg = bench.joint("pushed", 1).to_degrees();
            assert!((read_deg - 6.0).abs() < 0.3, "{rate_hz} Hz: {read_deg}");
            assert!(bench.joint("pushed", 0).to_degrees() < 0.2);
            let spans = bench.joint_spans("pushed", 1);
            let (start, end) = (f64::from(spans[0].0) / rate_hz, f64::from(spans[0].1) / rate_hz);
            assert!(
                start < 7.6 && end > 7.4 && end - start < 1.6,
                "{rate_hz} Hz: {start} to {end}"
            );
        }
    }

    /// Something stops the joint at 15 degrees; the leader goes on to 30. Its tip is kept for less than
    /// 0.24 s beyond 28.
    #[test]
    fn what_holds_the_follower_is_read_with_how_far_the_leader_went_on() {
        for rate_hz in [25.0, 30.0, 50.0, 200.0, 1000.0] {
            let stopped = |joint: usize, t: f64| {
                let free = sway(joint, t - 0.08);
                let here = joint == 0 && (4.0..7.0).contains(&t);
                if here { free.min(15f64.to_radians()) } else { free }
            };
            let bench = Bench::at(rate_hz).seconds(20.0).follower(stopped).measure(&CHECK);
            let read_deg = bench.joint("blocked", 0).to_degrees();
            assert!((12.0..15.0).contains(&read_deg), "{rate_hz} Hz: {read_deg}");
            assert!(bench.joint("blocked", 1).to_degrees() < 1.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn settling_is_no_push_and_shaking_says_nothing() {
        let shaking = |joint: usize, t: f64| paused(joint, t) + 0.006 * (57.0 * t).sin();
        let bench = Bench::at(50.0).seconds(10.0).leader(paused).measure(&CHECK);
        assert!(bench.joint("pushed", 0).to_degrees() < 0.2);
        let bench = Bench::at(50.0).seconds(10.0).leader(shaking).measure(&CHECK);
        assert!(bench.missing("pushed") && bench.is_not_assessed("never at rest"));
    }
}
