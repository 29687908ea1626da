//! How often the gripper held something.
//!
//! Whether something was held is what most tasks are about, and the table does not say so in any
//! column.
//!
//! How: on gripper joints, stretches of 0.2 s and more in which the measured position stays
//! within three counts while the command is beyond it by more than a twentieth of the command's
//! range in the episode. From that gap the smallest gap of any standing stretch is taken off first,
//! so that jaws whose neutral points differ do not seem to hold all the time.
//!
//! Traps: many tasks have no grasp, so nothing is judged here; an episode without one where most
//! have one is judged over the session (missing grasp).

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::range;
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};

const HELD_S: f64 = 0.2;
/// Share of the command's range by which it must be beyond.
const BEYOND: f32 = 0.05;
/// Share of it within which command and jaws are calm.
const CALM: f32 = 0.025;

static GRASPS: Metric =
    Metric::of_joint("grasps", Unit::Count, "stretches in which the gripper held something");
static HELD_SHARE: Metric =
    Metric::of_joint("held_share", Unit::Share, "share of frames in which it did");

static WIDEST_GAP: Metric = Metric::of_joint(
    "widest_gap",
    Unit::Share,
    "farthest that the command is from calm jaws, over the command's range",
);

static SPEC: CheckSpec = CheckSpec {
    id: "grasp",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Target,
    advisory: true,
    source: include_str!("grasp.rs"),
    cause: "the gripper closed on nothing, or not at all",
    remedy: "look at the episode and record it again",
    reference: "common practice, no source",
    metrics: &[&GRASPS, &HELD_SHARE, &WIDEST_GAP],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let smallest = (HELD_S / study.episode.rig.period_s).ceil().max(3.0) as usize;
    let mut seen = false;
    for (joint, described) in study.joints().iter().enumerate() {
        let Some(action) = study.action(joint).filter(|_| described.gripper) else { continue };
        seen = true;
        let near = 3.0 * study.count(joint) as f32;
        let held = held(study.state(joint), action, smallest, near);
        let frames: usize = held.iter().map(|span| span.frames()).sum();
        let share = frames as f64 / study.episode.frames().max(1) as f64;
        let count = held.len() as f64;
        let spans = SpanList::longest(held);
        sheet.put_spans(&GRASPS, Some(joint as JointId), count, spans);
        sheet.put_joint(&HELD_SHARE, joint, share);
        sheet.put_joint(&WIDEST_GAP, joint, widest(study.state(joint), action, smallest));
    }
    if !seen {
        sheet.not_assessed("no joint is known to be a gripper");
    }
}

/// The widest gap between command and jaws while both keep within a fortieth of the command's range, as a
/// share of it: also where noise of more than three counts leaves no stretch that stands.
fn widest(state: &[f32], action: &[f32], smallest: usize) -> f64 {
    let (low, high) = range(action);
    let calm = |values: &[f32]| {
        let (first, last) = range(values);
        last - first <= CALM * (high - low)
    };
    let both = state.chunks_exact(smallest).zip(action.chunks_exact(smallest));
    let gaps = both.filter(|(state, action)| calm(state) && calm(action)).map(|(state, action)| {
        let gap = action.iter().zip(state).map(|(a, s)| a - s).sum::<f32>();
        (gap / smallest as f32).abs()
    });
    let widest = gaps.fold(0.0, f32::max);
    if high > low { f64::from(widest / (high - low)) } else { 0.0 }
}

/// Stretches in which the jaws stand and the command is beyond them.
fn held(state: &[f32], action: &[f32], smallest: usize, near: f32) -> Vec<FrameSpan> {
    let (low, high) = range(action);
    let beyond = (BEYOND * (high - low)).max(near);
    let mut standing = Vec::new();
    let mut start = 0;
    while start < state.len() {
        let (mut low, mut high) = (state[start], state[start]);
        let mut end = start + 1;
        while end < state.len() && high.max(state[end]) - low.min(state[end]) <= near {
            (low, high) = (low.min(state[end]), high.max(state[end]));
            end += 1;
        }
        if end - start >= smallest {
            let gap = action[start..end].iter().zip(&state[start..end]).map(|(a, s)| a - s);
            standing.push((start, end, gap.sum::<f32>() / (end - start) as f32));
        }
        start = end;
    }
    let usual = standing.iter().map(|s| s.2).min_by(|x, y| x.abs().total_cmp(&y.abs()));
    let usual = usual.filter(|_| standing.len() > 1).unwrap_or(0.0);
    let mut held: Vec<FrameSpan> = Vec::new();
    let mut last = 0;
    for (start, end, gap) in standing {
        if (gap - usual).abs() <= beyond {
            continue;
        }
        // One grasp may creep by a few counts.
        match held.last_mut() {
            Some(span) if start <= last + smallest => {
                *span = FrameSpan::new(span.start as usize, end);
            }
            _ => held.push(FrameSpan::new(start, end)),
        }
        last = end;
    }
    held
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    /// Open at 0.7, closed at 0.1 from 3 s to 3 s + `seconds`.
    fn jaw(seconds: f64) -> impl Fn(usize, f64) -> f64 {
        move |joint, t| {
            let closing =
                ((t - 3.0) / 0.4).clamp(0.0, 1.0) - ((t - 3.0 - seconds) / 0.4).clamp(0.0, 1.0);
            if joint == 1 { 0.7 - 0.6 * closing } else { sway(joint, t) }
        }
    }

    fn bench(rate_hz: f64, seconds: f64, plug: f64) -> Bench {
        let command = jaw(seconds);
        let measured = move |joint: usize, t: f64| {
            command(joint, t - 0.08).max(if joint == 1 { plug } else { -9.0 })
        };
        Bench::at(rate_hz)
            .seconds(12.0)
            .leader(jaw(seconds))
            .follower(measured)
            .rig(|rig| rig.joints[1].gripper = true)
    }

    #[test]
    fn one_grasp_is_one_however_long() {
        for rate_hz in [25.0, 30.0, 50.0, 200.0] {
            for seconds in [1.0, 8.0] {
                let held = bench(rate_hz, seconds, 0.3).measure(&CHECK);
                assert_eq!(held.joint("grasps", 1), 1.0, "{rate_hz} Hz, {seconds} s");
                let share = held.joint("held_share", 1);
                assert!((share - seconds / 12.0).abs() < 0.05, "{rate_hz} Hz: {share}");
            }
        }
    }

    /// The widest gap is read where noise of more than three counts leaves nothing that stands.
    #[test]
    fn noisy_jaws_are_held_apart_all_the_same() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let command = jaw(3.0);
            let noisy = move |joint: usize, t: f64| {
                let noise = 0.004 * (977.0 * t).sin();
                command(joint, t - 0.08).max(if joint == 1 { 0.2 } else { -9.0 }) + noise
            };
            let bench = bench(rate_hz, 3.0, 0.2).follower(noisy).measure(&CHECK);
            // Held at 0.2 while 0.1 is asked for, over a range of 0.6.
            let gap = bench.joint("widest_gap", 1);
            assert!((gap - 0.1 / 0.6).abs() < 0.02, "{rate_hz} Hz: {gap}");
        }
    }

    #[test]
    fn jaws_that_close_on_nothing_hold_nothing() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let empty = bench(rate_hz, 2.0, -1.0).measure(&CHECK);
            assert_eq!(empty.joint("grasps", 1), 0.0, "{rate_hz} Hz");
        }
        assert!(Bench::at(30.0).measure(&CHECK).is_not_assessed("known to be a gripper"));
    }
}
