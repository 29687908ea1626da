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
//! Frames in such runs, over the frames in which the joint moves as far (never taken as fewer than
//! 100); once for the row as a whole, where every joint repeats at once and at least two had been
//! moving, and once per joint for the rest.
//!
//! Traps: exact repeats alone mean nothing: a quarter to a half of healthy rows repeat, because
//! joints rest and counts are coarse; at 25 Hz the tremor of a hand stops a slow joint in every
//! third frame, which is why the motion must be steady on both sides; and a frame that follows a
//! late one too soon (0.7 of a period) may well repeat. Runs longer than 0.5 s are left to
//! frozen-follower. On frames in which a joint moves less than that nothing can be said: one that
//! never moves as far is not assessable.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};
use crate::num::quantile::median_in_place;
use crate::num::robust::MAD_TO_SIGMA;

const LEAST_COUNTS: f64 = 3.0;
/// Counts of a fine sensor are small compared with the pauses between two motions: no less than this.
const LEAST_DEG: f64 = 0.25;
const LONGEST_S: f64 = 0.5;
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
    let longest = study.period_s().map_or(1, |period_s| (LONGEST_S / period_s) as usize).max(1);
    let joints = study.joints().len();
    let found: Vec<Vec<Repeat>> =
        (0..joints).map(|joint| bracketed(study, joint, longest)).collect();
    let mut rows: Vec<Repeat> =
        found.iter().flatten().copied().filter(|repeat| is_row(study, *repeat)).collect();
    rows.sort_unstable();
    rows.dedup_by_key(|repeat| repeat.start);
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
        own.retain(|repeat| !rows.contains(repeat));
        // Asked of the few joints that repeat at all.
        let whole = if own.is_empty() { 0.0 } else { noise(&[values]) };
        own.retain(|repeat| stands_out(values, *repeat, whole) >= DEVIATIONS);
        if let [alone] = own[..] {
            own.retain(|_| stands_out(values, alone, whole) >= DEVIATIONS_ALONE);
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

/// Bracketed repeats of one joint.
fn bracketed(study: &Study<'_>, joint: usize, longest: usize) -> Vec<Repeat> {
    let values = study.state(joint);
    let smallest = least(study, joint);
    if study.steps().follower[joint] < smallest {
        return Vec::new();
    }
    let mut found = Vec::new();
    // Few frames pass both comparisons, so what comes after them may take its time.
    for (at, frame) in values.windows(3).enumerate() {
        if frame[1] == frame[2] && (frame[1] - frame[0]).abs() >= smallest {
            let start = at + 2;
            let held = values[start];
            let Some(run) = values[start..].iter().take(longest + 1).position(|v| *v != held)
            else {
                continue;
            };
            let (before, after) = (frame[1] - frame[0], values[start + run] - held);
            let missed = 0.6 * (run + 1) as f32 * before.abs();
            let brackets = before * after > 0.0 && after.abs() >= smallest.max(missed);
            let speed = before.abs().min(after.abs() / (run + 1) as f32).copysign(before);
            let steady = || is_steady(values, start, start + run, speed);
            if run <= longest && brackets && steady() && !is_hurried(study, start, start + run) {
                found.push(Repeat { start, end: start + run });
            }
        }
    }
    found
}

/// Whether the frames of a run came so soon after the one before that nothing needed to have moved.
fn is_hurried(study: &Study<'_>, start: usize, end: usize) -> bool {
    let (clock, stamps) = (study.clock(), &study.episode.time_s);
    let measured = !clock.synthetic && !clock.too_coarse();
    let least_s = 0.7 * (end - start) as f64 * clock.period_s;
    measured && stamps[end - 1] - stamps[start - 1] < least_s
}

/// How many standard deviations of what noise does to a step the motion is that a joint's repeat
/// missed: a noisy reading repeats by chance. Noise is what steps differ by, there or in the `whole`
/// episode: two dozen of them alone may well look calm by chance.
fn stands_out(values: &[f32], Repeat { start, end }: Repeat, whole: f64) -> f64 {
    const AROUND: usize = 13;
    let before = &values[start.saturating_sub(AROUND)..start];
    let after = &values[end..(end + AROUND).min(values.len())];
    let noise = noise(&[before, after]).max(whole);
    let run = (end - start) as f64;
    let missed = f64::from((values[end] - values[start - 1]).abs()) * run / (run + 1.0);
    missed / noise.max(f64::MIN_POSITIVE)
}

/// Standard deviation of the noise in a step.
fn noise(parts: &[&[f32]]) -> f64 {
    let changes = parts.iter().flat_map(|part| part.windows(3));
    let mut changes: Vec<f32> = changes.map(|s| (s[2] - 2.0 * s[1] + s[0]).abs()).collect();
    // The difference of two steps holds the noise of three readings, a step that of two of them.
    MAD_TO_SIGMA * median_in_place(&mut changes) / 3f64.sqrt()
}

/// Whether the joint keeps its direction and 0.4 of its speed three steps before and after.
fn is_steady(values: &[f32], start: usize, end: usize, speed: f32) -> bool {
    const STEPS: usize = 3;
    let keeps = |part: &[f32]| {
        part.windows(2).all(|pair| (pair[1] - pair[0]) * speed.signum() >= 0.4 * speed.abs())
    };
    let before = &values[start.saturating_sub(STEPS + 1)..start];
    let after = &values[end - 1..(end + STEPS).min(values.len())];
    keeps(before) && keeps(after)
}

/// Whether the row repeats as a whole, of which at least two joints were moving before and after.
fn is_row(study: &Study<'_>, Repeat { start, end }: Repeat) -> bool {
    let mut moved = 0;
    for joint in 0..study.joints().len() {
        let values = study.state(joint);
        let held = values[start - 1];
        if values[start..end].iter().any(|v| *v != held) {
            return false;
        }
        moved += usize::from(values[start - 2] != held && values[end] != held);
    }
    moved >= 2
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured, sway};

    const COUNT: f64 = std::f64::consts::TAU / 4096.0;

    fn counted(rate_hz: f64) -> Bench {
        let round = |angle: f64| (angle / COUNT).round() * COUNT;
        Bench::at(rate_hz)
            .seconds(20.0)
            .leader(move |joint, t| round(2.0 * sway(joint, t)))
            .rig(|rig| rig.joints.iter_mut().for_each(|joint| joint.count = COUNT))
    }

    #[test]
    fn coarse_and_resting_joints_repeat_without_being_stale() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = counted(rate_hz).measure(&CHECK);
            assert_eq!(bench.value("stale_rows"), 0.0, "{rate_hz} Hz");
            assert_eq!(bench.joint("stale_share", 0), 0.0, "{rate_hz} Hz");
        }
    }

    /// Noise of a count on each reading, as some sensors have: steady motion then repeats by chance.
    #[test]
    fn noisy_readings_that_repeat_are_not_stale() {
        let mut state = 7u64;
        let mut noise = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let part = |shift: u32| ((state >> shift) & 0xffff) as f64 / 65_536.0 - 0.5;
            2.0 * (part(16) + part(32) + part(48))
        };
        for rate_hz in [25.0, 30.0, 50.0] {
            let mut repeats = 0;
            for _ in 0..20 {
                let mut episode = counted(rate_hz).episode();
                let frames = episode.frames();
                let mut values = episode.state.clone().into_values();
                for value in &mut values {
                    *value = ((f64::from(*value) / COUNT + noise()).round() * COUNT) as f32;
                }
                episode.state = crate::model::Channels::new(values, frames, 2);
                let read = Measured::of(&CHECK, &episode);
                repeats += (0..2).filter(|j| read.joint("stale_share", *j) > 0.002).count();
            }
            assert!(repeats <= 1, "{rate_hz} Hz: {repeats} of 40 joints");
        }
    }

    #[test]
    fn a_joint_too_slow_for_a_stale_reading_to_show_is_not_assessable() {
        let slow = counted(200.0).leader(|joint, t| 0.05 * sway(joint, t));
        let read = slow.measure(&CHECK);
        assert!(read.missing("stale_share") && read.is_not_assessed("never moved"), "{read:?}");
    }

    #[test]
    fn a_value_handed_out_again_is_counted_where_it_happened() {
        for rate_hz in [25.0, 30.0, 50.0] {
            let mut episode = counted(rate_hz).episode();
            let frames = episode.frames();
            let mut values = episode.state.clone().into_values();
            // Joint 0 crosses its middle every 1.25 s: it is fastest there.
            let middle = |k: usize| ((1.33 + 1.25 * k as f64) * rate_hz) as usize;
            let places: Vec<usize> = (0..10).map(middle).collect();
            for &at in &places {
                values[at] = values[at - 1];
            }
            episode.state = crate::model::Channels::new(values, frames, 2);
            let read = Measured::of(&CHECK, &episode);
            let spans = read.joint_spans("stale_share", 0);
            assert_eq!(spans.len(), 8, "{rate_hz} Hz");
            assert!(spans.iter().all(|s| places.contains(&(s.0 as usize)) && s.1 == s.0 + 1));
            assert!(read.joint("stale_share", 0) > 0.01, "{read:?}");
            assert_eq!((read.value("stale_rows"), read.joint("stale_share", 1)), (0.0, 0.0));
        }
    }

    /// A degree to each frame, on which noise makes every other reading too great, by `calm` within
    /// half a second of the repeats: steps differ by four times that.
    fn ramp(calm: f64, elsewhere: f64, stale: &'static [usize]) -> usize {
        let ramp = Bench::at(30.0).seconds(5.0).leader(|_, t| (30.0 * t).to_radians());
        let measured = ramp.follower(move |joint, t| {
            let at = (t * 30.0).round() as usize;
            let noise = if stale.iter().any(|s| s.abs_diff(at) < 16) { calm } else { elsewhere };
            let at = if joint == 0 && stale.contains(&at) { at - 1 } else { at };
            (at as f64 + [noise, -noise][at % 2]).to_radians()
        });
        measured.measure(&CHECK).joint_spans("stale_share", 0).len()
    }

    /// A repeat misses 5.8 standard deviations, or 3.9.
    #[test]
    fn a_lone_repeat_must_stand_out_more_than_several() {
        assert_eq!((ramp(0.05, 0.05, &[60]), ramp(0.05, 0.05, &[60, 90])), (1, 2));
        assert_eq!((ramp(0.075, 0.075, &[60]), ramp(0.075, 0.075, &[60, 92])), (0, 2));
    }

    /// Two dozen noisy readings look calm by chance now and then: 15 standard deviations there are 2.7 of all.
    #[test]
    fn a_repeat_must_stand_out_from_the_noise_of_the_whole_episode() {
        assert_eq!((ramp(0.02, 0.02, &[60]), ramp(0.02, 0.11, &[60])), (1, 0));
        // Noise that comes only where the repeat is counts as well.
        assert_eq!(ramp(0.11, 0.02, &[60]), 0);
    }
}
