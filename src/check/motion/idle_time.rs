//! Time in which nothing moves: a slow start, a slow stop, pauses.
//!
//! A policy that has seen long stillness at one pose learns to stay there.
//!
//! How: the arm is still where no joint of the follower covers more than 0.5 degrees (1 mm) or 3
//! counts within 0.5 s from the first frame to the last, in blocks of a tenth of a second (one frame
//! below 15 Hz), and where no declared base moves by 5 mm or 0.5 degrees. Read are the stillness at
//! the head and at the tail, the longest pause between, and the share of the episode spent in head and
//! tail (beyond 0.3 s of either) and in pauses of at least a second and a tenth of the episode.
//!
//! Traps: a pour or a hold is a pause that belongs to the task: the longest pause between head and
//! tail does not count in the share. Where actions are held for longer than the window, the arm waits
//! between updates, and this is not assessed. When trimming keep about 0.3 s at either end. Stillness of less than
//! 0.5 s (0.6 s at 5 Hz) is not seen at any rate; head and tail are read to 0.2 s, at 5 Hz to 0.4 s.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{Blocks, spread};
use crate::model::{
    ActionKind, CheckSpec, Extra, Family, FrameSpan, Metric, Param, Sheet, SpanList, TRIM, Trim,
    Unit,
};
use crate::num::runs::{Run, runs_where};

/// What is left of head and tail when they are trimmed.
const KEPT_S: f64 = Trim::KEPT_S;
/// A pause shorter than this, or than this share of the episode, is a breath.
const PAUSE_S: f64 = 1.0;
const PAUSE_SHARE: f64 = 0.1;
/// A base that goes farther than this within the window is not still.
const BASE_M: f32 = 0.005;
const BASE_RAD: f32 = 0.0087;

static IDLE_HEAD: Metric =
    Metric::of_episode("idle_head", Unit::Second, "time before anything moves")
        .above(Some(1.0), None)
        .recovery(TRIM);
static IDLE_TAIL: Metric =
    Metric::of_episode("idle_tail", Unit::Second, "time after the last motion")
        .above(Some(1.0), None)
        .recovery(TRIM);
static IDLE_SHARE: Metric = Metric::of_episode(
    "idle_share",
    Unit::Share,
    "share of the episode in head and tail beyond 0.3 s, and in long pauses but the longest",
)
.above(Some(0.25), None);
static LONGEST_PAUSE: Metric =
    Metric::of_episode("longest_pause", Unit::Second, "longest stillness between head and tail");

static WINDOW: Param = Param {
    id: "window_s",
    summary: "how long nothing must move to be called still",
    unit: Unit::Second,
    default: 0.5,
};

static SPEC: CheckSpec = CheckSpec {
    id: "idle-time",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("idle_time.rs"),
    cause: "the recording began too early, ended too late, or the operator paused",
    remedy: "trim head and tail to about 0.3 s; start and stop recording with the motion",
    reference: "common practice, no source; still frames get single-step policies stuck: arXiv 2303.04137",
    metrics: &[&IDLE_HEAD, &IDLE_TAIL, &IDLE_SHARE, &LONGEST_PAUSE],
    params: &[&WINDOW],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure).extras(&[Extra::Base]);

fn measure(study: &Study<'_>, params: &Params, sheet: &mut Sheet) {
    let Some(blocks) = study.blocks() else { return sheet.not_assessed("no frame period") };
    let window_s = params.get(&SPEC, &WINDOW);
    if let ActionKind::Held { frames } = study.kind_of_action() {
        let hold_s = f64::from(frames) * study.episode.rig.period_s;
        if hold_s > window_s {
            return sheet.not_assessed(format!(
                "actions change every {hold_s:.2} s, and the arm waits in between"
            ));
        }
    }
    // Where a block is one frame, a window of so many of them is one step short.
    let window = match blocks.frames {
        1 => (window_s / blocks.length_s - 1e-6).ceil() as usize + 1,
        _ => blocks.in_seconds(window_s),
    };
    if blocks.count < 2 * window {
        return sheet.not_assessed("shorter than two windows");
    }
    let still = still(study, blocks, window);
    let runs: Vec<Run> = runs_where(&still, |still| *still).collect();
    let seconds = |run: &Run| (run.1 - run.0) as f64 * blocks.length_s;
    let frames = study.episode.frames();
    let span =
        |run: &Run| FrameSpan::new(run.0 * blocks.frames, (run.1 * blocks.frames).min(frames));
    let mut middle = Vec::new();
    let (mut head, mut tail) = (None, None);
    for run in &runs {
        match (run.0 == 0, run.1 == blocks.count) {
            (true, _) => head = Some(run),
            (_, true) => tail = Some(run),
            _ => middle.push(run),
        }
    }
    for (metric, end) in [(&IDLE_HEAD, head), (&IDLE_TAIL, tail)] {
        let spans = end.map_or_else(SpanList::default, |run| span(run).into());
        sheet.put_spans(metric, None, end.map_or(0.0, seconds), spans);
    }
    middle.sort_by_key(|run| run.1 - run.0);
    let longest = middle.pop();
    let length_s = blocks.count as f64 * blocks.length_s;
    middle.retain(|run| seconds(run) >= PAUSE_S.max(PAUSE_SHARE * length_s));
    let ends = || head.into_iter().chain(tail);
    let counted = || ends().chain(middle.iter().copied());
    let idle_s = ends().map(|end| (seconds(end) - KEPT_S).max(0.0)).sum::<f64>()
        + middle.iter().copied().map(seconds).sum::<f64>();
    let share = idle_s / length_s;
    sheet.put_spans(&IDLE_SHARE, None, share, SpanList::longest(counted().map(span)));
    let spans = longest.map_or_else(SpanList::default, |run| span(run).into());
    sheet.put_spans(&LONGEST_PAUSE, None, longest.map_or(0.0, seconds), spans);
}

/// For each block whether it lies in a window in which no joint moves.
fn still(study: &Study<'_>, blocks: &Blocks, window: usize) -> Vec<bool> {
    let windows = blocks.count + 1 - window;
    let mut quiet = vec![true; windows];
    for joint in 0..study.joints().len() {
        let smallest = study.at_least(joint, 3.0, 0.5) as f32;
        let ranges = blocks.follower(joint).windows(window);
        for (quiet, ranges) in quiet.iter_mut().zip(ranges) {
            *quiet = *quiet && spread(ranges) <= smallest * 1.001;
        }
    }
    if let Some(base) = &study.episode.extras.base {
        let sizes = [BASE_M, BASE_M, BASE_RAD];
        for (channel, size) in sizes.into_iter().enumerate().take(base.pose.joints()) {
            let values = base.pose.joint(channel);
            for (at, quiet) in quiet.iter_mut().enumerate() {
                let from = at * blocks.frames;
                let to = (from + window * blocks.frames).min(values.len());
                *quiet = *quiet && moved(&values[from..to], channel == 2) <= size;
            }
        }
    }
    let mut still = vec![false; blocks.count];
    for (at, _) in quiet.iter().enumerate().filter(|(_, quiet)| **quiet) {
        still[at..at + window].fill(true);
    }
    still
}

/// How far a channel of the base's pose goes from its first value; a heading by the short way.
fn moved(values: &[f32], heading: bool) -> f32 {
    let mut finite = values.iter().copied().filter(|v| v.is_finite());
    let Some(first) = finite.next() else { return 0.0 };
    let away = |v: f32| {
        let off = (v - first).abs();
        if heading { off.min((std::f32::consts::TAU - off).abs()) } else { off }
    };
    finite.map(away).fold(0.0, f32::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured, sway};
    use crate::model::{BaseTrack, Channels};

    /// Still for `head` seconds, and after `stop`.
    fn resting(rate_hz: f64, head: f64, stop: f64) -> Bench {
        let motion = move |joint: usize, t: f64| sway(joint, (t.min(stop) - head).max(0.0));
        Bench::at(rate_hz).seconds(20.0).leader(motion).follower(motion)
    }

    #[test]
    fn head_and_tail_are_read_within_a_tenth_or_two() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = resting(rate_hz, 3.0, 17.5).measure(&CHECK);
            let (head, tail) = (bench.value("idle_head"), bench.value("idle_tail"));
            assert!((head - 3.0).abs() < 0.25, "{rate_hz} Hz: {head}");
            assert!((tail - 2.5).abs() < 0.25, "{rate_hz} Hz: {tail}");
            assert!((bench.value("idle_share") - 4.9 / 20.0).abs() < 0.02, "{bench:?}");
        }
    }

    #[test]
    fn a_pour_is_a_pause_that_is_not_counted() {
        for rate_hz in [25.0, 50.0, 200.0] {
            let pour =
                |joint: usize, t: f64| sway(joint, if t < 9.0 { t.min(5.0) } else { t - 4.0 });
            let bench =
                Bench::at(rate_hz).seconds(14.0).leader(pour).follower(pour).measure(&CHECK);
            assert!((bench.value("longest_pause") - 4.0).abs() < 0.3, "{bench:?}");
            assert_eq!(bench.value("idle_share"), 0.0);
        }
    }

    /// Slow motion of 1.1 degrees a second is motion: 0.55 degrees in half a second, not in 0.4 s.
    #[test]
    fn slow_logs_are_held_against_the_same_half_second() {
        for rate_hz in [5.0, 10.0, 15.0, 30.0] {
            let slow = |joint: usize, t: f64| {
                if joint == 0 { (1.1 * t).to_radians() } else { 0.2 }
            };
            let bench = Bench::at(rate_hz).seconds(12.0).leader(slow).follower(slow);
            let idle = bench.measure(&CHECK).value("idle_share");
            assert!(rate_hz > 20.0 || idle == 0.0, "{rate_hz} Hz: {idle}");
        }
    }

    /// What the manual states of head and tail.
    #[test]
    fn the_resolution_of_the_manual_holds() {
        for (rate_hz, within_s) in
            [(5.0, 0.4), (10.0, 0.2), (30.0, 0.2), (100.0, 0.2), (500.0, 0.2), (1000.0, 0.2)]
        {
            let bench = resting(rate_hz, 3.0, 17.5).measure(&CHECK);
            let (head, tail) = (bench.value("idle_head"), bench.value("idle_tail"));
            assert!((head - 3.0).abs() <= within_s, "{rate_hz} Hz: {head}");
            assert!((tail - 2.5).abs() <= within_s, "{rate_hz} Hz: {tail}");
        }
    }

    #[test]
    fn a_base_that_drives_is_not_idle() {
        for rate_hz in [10.0, 30.0, 100.0] {
            let mut episode = Bench::at(rate_hz).seconds(10.0).still().episode();
            assert!(Measured::of(&CHECK, &episode).value("idle_share") > 0.9);
            let frames = episode.frames();
            let way = episode.time_s.iter().map(|t| 0.2 * *t as f32);
            let pose = way.chain(vec![0.0; 2 * frames]).collect();
            let velocity = Channels::new(vec![0.2; 2 * frames], frames, 2);
            let pose = Channels::new(pose, frames, 3);
            episode.extras.base = Some(BaseTrack { velocity, pose });
            assert_eq!(Measured::of(&CHECK, &episode).value("idle_share"), 0.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn steady_motion_is_never_idle() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = Bench::at(rate_hz).seconds(3.0).measure(&CHECK);
            for metric in ["idle_head", "idle_tail", "idle_share", "longest_pause"] {
                assert_eq!(bench.value(metric), 0.0, "{rate_hz} Hz {metric}");
            }
        }
    }
}
