//! Readings that are older than their frame: the servo bus timed out and the last value was handed
//! out again.
//!
//! The policy sees an arm that stands for one frame and jumps in the next.
//!
//! How: a repeat counts only in brackets: a run of equal readings with at least 3 counts and 0.25
//! degrees (0.5 mm) of motion in the step before and in the step after, above 25 Hz 6 degrees (12
//! mm) a second of it, in the same direction, the step after at least 0.6 times what the run missed
//! at the speed before, and three steps on either side that keep the direction and 0.4 of that
//! speed; and, of one joint alone, three standard deviations or more of the noise in its steps
//! (there or in the whole episode, whichever is more) missed there, 4.5 where it repeats only once.
//! From 50 Hz on, a run of 40 ms and more counts too if motion goes on over 40 ms and the 40 ms
//! before that, on both sides, and the reading jumps by what the run missed, 4 counts and 0.4 degrees.
//! Frames in such runs, over the frames in which the joint moves as far (never taken as fewer than
//! 100); once for the row as a whole, where every joint repeats at once and at least two had been
//! moving, and once per joint for the rest.
//!
//! Traps: exact repeats alone mean nothing: a quarter to a half of healthy rows repeat, because
//! joints rest and counts are coarse; at 25 Hz the tremor of a hand stops a slow joint in every
//! third frame, which is why the motion must be steady on both sides; and a frame that follows a
//! late one too soon (0.7 of a period) may well repeat. Runs longer than 0.5 s are left to
//! frozen-follower. On frames in which a joint moves less than that nothing can be said: one that
//! never moves as far is not assessable. Where actions are held for more than 0.2 s the arm comes to rest
//! between updates: a run that an update ends is none of these. Below 12 Hz it is not assessed: a hand may
//! pause for one frame. It sees one stale frame from 12 to 50 Hz, at 100 Hz one in fast
//! motion and 40 ms in slow motion, at 500 and 1,000 Hz 40 ms.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{
    ActionKind, CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit,
};
use crate::num::bracket::{held_before_step, is_bracketed, is_long, noise, stands_out};

#[cfg(test)]
mod tests;

const LEAST_COUNTS: f64 = 3.0;
/// Counts of a fine sensor are small compared with the pauses between two motions: no less than this.
const LEAST_DEG: f64 = 0.25;
const LONGEST_S: f64 = 0.5;
/// At longer periods a hand may well stop for one frame and go on.
const SLOWEST_S: f64 = 1.0 / 12.0;
/// Where frames come fast a run may as well be bracketed by motion over this long, on both sides ...
const BASE_S: f64 = 0.04;
/// ... and a jump at its end of so many counts and degrees.
const LONG_COUNTS: f64 = 4.0;
const LONG_DEG: f64 = 0.4;
const FEWEST_MOVING: usize = 100;
/// Of one joint a repeat must have missed so many standard deviations of the noise in its steps ...
const DEVIATIONS: f64 = 3.0;
/// ... or so many where it is the episode's only one: among millions of noisy steps one repeats.
const DEVIATIONS_ALONE: f64 = 4.5;

static STALE_ROWS: Metric = Metric::of_episode(
    "stale_rows",
    Unit::Ratio,
    "share of the moving rows that repeat the row before as a whole",
)
.above(Some(0.002), Some(0.01));
static STALE_SHARE: Metric = Metric::of_joint(
    "stale_share",
    Unit::Share,
    "share of the joint's moving frames that repeat the reading before",
)
.above(Some(0.002), Some(0.01));

static SPEC: CheckSpec = CheckSpec {
    id: "stale-readings",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("stale_readings.rs"),
    cause: "the servo bus timed out and the last value was handed out again",
    remedy: "look at connectors and return delay; log a failed read as missing, not as the old value",
    reference: "rule as stated; bracketed repeats were absent from simulated healthy data",
    metrics: &[&STALE_ROWS, &STALE_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

/// Equal readings from frame `start` (the first repeat) to before `end`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Repeat {
    start: usize,
    end: usize,
}

/// From this period on a step must be [`LEAST_DEG`] long; in shorter ones as much less.
const LONG_STEP_S: f64 = 0.04;
/// Why a stale reading could not show.
const TOO_SLOW: &str = "never moved 3 counts and 6 deg/s (12 mm/s) from one frame to the next";

impl Repeat {
    fn span(self) -> (FrameSpan, f64) {
        (FrameSpan::new(self.start, self.end), (self.end - self.start) as f64)
    }
}

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if study.episode.frames() < 5 {
        return sheet.not_assessed("fewer than 5 frames");
    }
    if study.period_s().is_some_and(|period_s| period_s > SLOWEST_S) {
        return sheet.not_assessed("at less than 12 Hz a pause of one frame looks the same");
    }
    let longest = study.period_s().map_or(1, |period_s| (LONGEST_S / period_s) as usize).max(1);
    let joints = study.joints().len();
    let found: Vec<Vec<Repeat>> =
        (0..joints).map(|joint| bracketed(study, joint, longest)).collect();
    let mut rows: Vec<Repeat> =
        found.iter().flatten().filter_map(|repeat| row(study, *repeat)).collect();
    rows.sort_unstable();
    rows.dedup_by_key(|repeat| repeat.end);
    let moving = if rows.is_empty() { 0 } else { moving_rows(study) };
    let fast = |joint: usize| study.steps().follower[joint] >= least(study, joint);
    if !(0..joints).any(fast) {
        return sheet.not_assessed(TOO_SLOW);
    }
    put(sheet, &STALE_ROWS, None, &rows, moving);
    for (joint, mut own) in found.into_iter().enumerate() {
        if !fast(joint) {
            sheet.not_assessed_joint(joint, TOO_SLOW);
            continue;
        }
        let values = study.state(joint);
        own.retain(|repeat| rows.iter().all(|row| row.end != repeat.end));
        // Asked of the few joints that repeat at all.
        let whole = if own.is_empty() { 0.0 } else { noise(&[values]) };
        own.retain(|repeat| stands_out(values, repeat.start, repeat.end, whole) >= DEVIATIONS);
        if let [alone] = own[..] {
            own.retain(|_| stands_out(values, alone.start, alone.end, whole) >= DEVIATIONS_ALONE);
        }
        let moving = if own.is_empty() { 0 } else { moving_frames(study, joint) };
        put(sheet, &STALE_SHARE, Some(joint as JointId), &own, moving);
    }
}

fn put(
    sheet: &mut Sheet,
    metric: &'static Metric,
    joint: Option<JointId>,
    repeats: &[Repeat],
    moving: usize,
) {
    let stale: usize = repeats.iter().map(|repeat| repeat.end - repeat.start).sum();
    let share = stale as f64 / (moving + stale).max(FEWEST_MOVING) as f64;
    let spans = SpanList::worst(repeats.iter().map(|repeat| repeat.span()));
    sheet.put_spans(metric, joint, share, spans);
}

/// The step that is motion, less the rounding of single precision.
fn least(study: &Study<'_>, joint: usize) -> f32 {
    // What tremor adds to a step is less the shorter the step.
    let share = study.period_s().map_or(1.0, |period_s| (period_s / LONG_STEP_S).min(1.0));
    (0.99 * study.at_least(joint, LEAST_COUNTS, LEAST_DEG * share)) as f32
}

/// An arm comes to rest between updates that are so far apart ...
const REST_S: f64 = 0.2;
/// ... and starts so soon after one.
const ANSWER_S: f64 = 0.1;

/// Whether the actions are held for long, and an update of any joint ends this run.
fn waits(study: &Study<'_>, start: usize, end: usize) -> bool {
    let (ActionKind::Held { frames }, Some(period_s)) = (study.kind_of_action(), study.period_s())
    else {
        return false;
    };
    if f64::from(frames) * period_s <= REST_S {
        return false;
    }
    let answer = (ANSWER_S / period_s).ceil() as usize;
    let from = start.min((end - 1).saturating_sub(answer)).max(1);
    let updated = |values: &[f32]| (from..=end).any(|t| values.get(t) != values.get(t - 1));
    let mut joints = (0..study.joints().len()).filter(|joint| !study.joints()[*joint].gripper);
    joints.any(|joint| study.stored_action(joint).is_some_and(updated))
}

/// Bracketed repeats of one joint.
fn bracketed(study: &Study<'_>, joint: usize, longest: usize) -> Vec<Repeat> {
    let values = study.state(joint);
    let smallest = least(study, joint);
    if study.steps().follower[joint] < smallest {
        return Vec::new();
    }
    let base = base(study);
    let jump = (0.99 * study.at_least(joint, LONG_COUNTS, LONG_DEG)) as f32;
    let mut found = Vec::new();
    // Few frames pass both comparisons, so what comes after them may take its time.
    for at in held_before_step(values, smallest) {
        let (held, end) = (values[at + 1], at + 2);
        let before = values[..end].iter().rev().take(longest + 2);
        let same = before.take_while(|v| **v == held).count();
        let start = end + 1 - same;
        if start < 2 || same > longest + 1 || is_hurried(study, start, end) {
            continue;
        }
        let long = base > 1 && end - start >= base && (values[end] - held).abs() >= jump;
        let told = is_bracketed(values, start, end, smallest)
            || (long && is_long(values, start, end, base));
        if told && !waits(study, start, end) {
            found.push(Repeat { start, end });
        }
    }
    found
}

/// Frames in [`BASE_S`].
fn base(study: &Study<'_>) -> usize {
    study.period_s().map_or(1, |period_s| (BASE_S / period_s) as usize).max(1)
}

/// Whether the frames of a run came so soon after the one before that nothing needed to have moved.
fn is_hurried(study: &Study<'_>, start: usize, end: usize) -> bool {
    let (clock, stamps) = (study.clock(), &study.episode.time_s);
    let measured = !clock.synthetic && !clock.too_coarse();
    let least_s = 0.7 * (end - start) as f64 * clock.period_s;
    measured && stamps[end - 1] - stamps[start - 1] < least_s
}

/// The repeat of the whole row that ends with this repeat, in which at least two joints had been moving.
/// At high rates a joint may repeat for a while before the row does.
fn row(study: &Study<'_>, Repeat { mut start, end }: Repeat) -> Option<Repeat> {
    let (base, joints) = (base(study), study.joints().len());
    let first = start;
    for joint in 0..joints {
        let values = study.state(joint);
        let held = values[end - 1];
        let same = values[start - 1..end].iter().rev().take_while(|v| **v == held).count();
        start = start.max(end + 1 - same);
    }
    if start >= end || 2 * (end - start) < end - first {
        return None;
    }
    let moved = |joint: &usize| {
        let values = study.state(*joint);
        let held = values[start - 1];
        let before = &values[start.saturating_sub(base + 1)..start - 1];
        values[end] != held && before.iter().any(|v| *v != held)
    };
    ((0..joints).filter(moved).count() >= 2).then_some(Repeat { start, end })
}

fn moving_frames(study: &Study<'_>, joint: usize) -> usize {
    let smallest = least(study, joint);
    let moves = |pair: &&[f32]| (pair[1] - pair[0]).abs() >= smallest;
    study.state(joint).windows(2).filter(moves).count()
}

fn moving_rows(study: &Study<'_>) -> usize {
    let mut moving = vec![false; study.episode.frames()];
    for joint in 0..study.joints().len() {
        let smallest = least(study, joint);
        let values = study.state(joint);
        for (flag, pair) in moving.iter_mut().skip(1).zip(values.windows(2)) {
            *flag |= (pair[1] - pair[0]).abs() >= smallest;
        }
    }
    moving.into_iter().filter(|moves| *moves).count()
}
