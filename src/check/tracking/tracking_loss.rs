//! The follower stops following: an overload trip, a brown-out, a reset.
//!
//! For that stretch the action has nothing to do with what the arm does, and what comes after it is
//! a jump.
//!
//! How: windows of 1 s, one every 0.12 s, over which the leader's path is more than 10 degrees (20
//! mm), taken in steps of 0.12 s so that tremor is no path. Lag taken out, the slope of the
//! follower on the leader within the window; below 0.2 it does not follow, if both path and slope
//! are such in means of 0.24 s too: what comes and goes faster is beyond a slow servo, and no loss.
//! A joint that sinks without torque need not wait for its leader: one that is off its usual error by
//! 20 degrees (40 mm) or more, for 0.2 s, by its own motion and not by its leader's, is lost too.
//! The reading is the longest stretch of such windows; and how many joints lost it within 0.2 s of
//! each other: three or more mean the power, not a servo. Where the table has them, load (effort,
//! torque, current) and voltage bear a trip out: a load of at least 95 % of the episode's largest
//! in the second before, or a voltage more than 10 % below its median.
//! It sees a loss of 1.6 s at 10 to 1,000 Hz alike; a shorter one where the leader is fast.
//!
//! Traps: a joint that is pushed against a stop does not follow either: windows in which it stands
//! at a limit, or at its own extreme, with the leader beyond are left to limit dwell. Where something
//! holds it until the leader comes back (see neutral offset), it is contact: a joint that follows on the
//! other points, or is led on them by less than 10 degrees, is not lost. A servo at
//! its speed limit is late, but goes. Grippers are left out: they hold.

use super::carried_off::carried_off;
use super::evidence::{Evidence, LOAD_BEFORE, VOLTAGE_DIP};
use super::stops::Stops;
use crate::check::prelude::{Check, Params};
use crate::check::study::{Hold, METRES_A_RADIAN, Study, Traced};
use crate::model::{
    CheckSpec, Extra, Family, FrameSpan, Joint, JointId, Metric, Sheet, SpanList, Unit,
};

const DEGREE: f64 = std::f64::consts::PI / 180.0;
const WINDOW_S: f64 = 1.0;
/// Points to a step of the path and of the windows: 0.12 s.
const STEP: usize = 3;
/// Length of a mean.
const MEAN_S: f64 = 0.24;
const LEAST_PATH: f64 = 10.0 * DEGREE;
const FOLLOWS: f64 = 0.2;
/// Joints that lose it within this are lost together.
const TOGETHER_S: f64 = 0.2;

static LOST: Metric =
    Metric::of_joint("lost", Unit::Second, "longest stretch in which the follower did not follow")
        .above(None, Some(0.0));
static JOINTS_LOST: Metric = Metric::of_episode(
    "joints_lost",
    Unit::Count,
    "most joints that stopped following within 0.2 s of each other",
);

static SPEC: CheckSpec = CheckSpec {
    id: "tracking-loss",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Motion,
    advisory: false,
    source: include_str!("tracking_loss.rs"),
    cause: "the servo tripped on overload, or something held the joint or threw it aside; on several \
            joints at once: the supply broke down",
    remedy: "let it rest, lighten the load; check supply, fuse and wires. Take the load off before \
             torque is enabled again: the arm jumps",
    reference: "common practice, no source",
    metrics: &[&LOST, &JOINTS_LOST, &LOAD_BEFORE, &VOLTAGE_DIP],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check =
    Check::of_episode(&SPEC, measure).extras(&[Extra::Effort, Extra::Voltage]);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let Some(grid) = study.grid() else { return };
    let mut starts = Vec::new();
    for (joint, traced) in study.traces().iter().enumerate() {
        let Some(traced @ Traced { trace, .. }) = traced else { continue };
        let described = &study.joints()[joint];
        let unit = if described.linear { METRES_A_RADIAN } else { 1.0 };
        let carried = carried_off(trace, unit);
        let mut lost = match lost(traced, described, 3.0 * study.count(joint)) {
            None if carried.is_empty() => {
                sheet.not_assessed_joint(
                    joint,
                    "the leader never went 10 degrees (20 mm) within a second",
                );
                continue;
            }
            lost => lost.unwrap_or_default(),
        };
        lost.extend(carried.iter().map(|one| (one.points.start, one.points.end)));
        let lost = joined(lost);
        starts.extend(lost.iter().map(|run| f64::from(trace.at[run.0]) * grid.step_s));
        let row = |place: usize| grid.row(trace.at[place] as usize);
        let longest = lost.iter().map(|run| run.1 - run.0).max().unwrap_or(0);
        let spans = lost.iter().map(|run| FrameSpan::new(row(run.0), row(run.1 - 1) + 1));
        let spans = SpanList::longest(spans);
        let at = Some(joint as JointId);
        sheet.put_spans(&LOST, at, longest as f64 * trace.step_s, spans);
        let rows = lost.iter().map(|run| row(run.0)..row(run.1 - 1) + 1);
        Evidence::of(study, joint, rows, grid.step_s).put(joint, sheet);
    }
    starts.sort_by(f64::total_cmp);
    let together =
        |from: &f64| starts.iter().filter(|s| (*from..=*from + TOGETHER_S).contains(*s)).count();
    sheet.put(&JOINTS_LOST, starts.iter().map(together).max().unwrap_or(0) as f64);
}

/// Stretches in order, those that meet as one.
fn joined(mut runs: Vec<(usize, usize)>) -> Vec<(usize, usize)> {
    runs.sort_unstable();
    let mut joined: Vec<(usize, usize)> = Vec::with_capacity(runs.len());
    for run in runs {
        match joined.last_mut() {
            Some(last) if last.1 >= run.0 => last.1 = last.1.max(run.1),
            _ => joined.push(run),
        }
    }
    joined
}

/// Stretches of points in which the follower did not follow; `None` if the leader never moved far
/// enough to tell.
fn lost(traced: &Traced, joint: &Joint, near: f64) -> Option<Vec<(usize, usize)>> {
    let trace = &traced.trace;
    let unit = if joint.linear { METRES_A_RADIAN } else { 1.0 };
    let block = ((MEAN_S / trace.step_s).round() as usize).max(1);
    let window = ((WINDOW_S / trace.step_s).round() as usize).max(3 * block);
    let (mut leader_means, mut error_means) = (Vec::new(), Vec::new());
    let smallest = (LEAST_PATH * unit) as f32;
    // Few joints ever stop following.
    let mut stops = None;
    let mut assessed = false;
    let mut runs: Vec<(usize, usize)> = Vec::new();
    let (mut sums, mut steps) = (Vec::new(), Vec::new());
    let in_window = window.div_ceil(STEP) - 1;
    for segment in &trace.segments {
        running_sums(&trace.leader[segment.clone()], &trace.error[segment.clone()], &mut sums);
        // Windows begin at every so many-th point, so they share the steps of their paths.
        steps.clear();
        steps.extend(path_steps(&trace.leader[segment.clone()], STEP));
        let last = segment.end.saturating_sub(window);
        for start in
            (segment.start..=last).step_by(STEP).filter(|start| start + window <= segment.end)
        {
            let end = start + window;
            let (leader, error) = (&trace.leader[start..end], &trace.error[start..end]);
            let first = (start - segment.start) / STEP;
            if steps[first..first + in_window].iter().sum::<f32>() <= smallest {
                continue;
            }
            assessed = true;
            let (from, to) = (sums[start - segment.start], sums[end - segment.start]);
            if slope_between(&from, &to, window) >= FOLLOWS {
                continue;
            }
            let stops = stops.get_or_insert_with(|| Stops::of(trace, joint, near));
            if stops.held(trace, start, end, unit) {
                continue;
            }
            let stays = stops.stays_for(trace, start, end, unit);
            let held = |at: &usize| {
                let held = |hold: &Hold| hold.let_go && hold.points.contains(at);
                (!stays && stops.is_at(trace, *at)) || traced.holds.iter().any(held)
            };
            if (start..end).any(|at| held(&at)) {
                let free = (start..end).filter(|at| !held(at));
                let (leader, error): (Vec<f32>, Vec<f32>) =
                    free.map(|at| (trace.leader[at], trace.error[at])).unzip();
                let path: f32 = path_steps(&leader, STEP).sum();
                if path <= smallest || slope(&leader, &error) >= FOLLOWS {
                    continue;
                }
            }
            means(leader, block, &mut leader_means);
            means(error, block, &mut error_means);
            let path: f32 = path_steps(&leader_means, 1).sum();
            if path <= smallest || slope(&leader_means, &error_means) >= FOLLOWS {
                continue;
            }
            match runs.last_mut() {
                Some(run) if run.1 >= start => run.1 = end,
                _ => runs.push((start, end)),
            }
        }
    }
    assessed.then_some(runs)
}

/// Path of the leader, step by step of so many points.
fn path_steps(leader: &[f32], step: usize) -> impl Iterator<Item = f32> + '_ {
    let steps = leader.iter().step_by(step).zip(leader.iter().skip(step).step_by(step));
    steps.map(|(a, b)| (b - a).abs())
}

/// Means of whole blocks.
fn means(values: &[f32], block: usize, out: &mut Vec<f32>) {
    out.clear();
    out.extend(values.chunks_exact(block).map(|part| part.iter().sum::<f32>() / block as f32));
}

/// Sums up to each point of the leader, the error, the leader squared and the product of both,
/// about the first point's: windows overlap ninefold, so each is a difference of two.
fn running_sums(leader: &[f32], error: &[f32], out: &mut Vec<[f64; 4]>) {
    out.clear();
    let zero = (leader.first().copied().unwrap_or(0.0), error.first().copied().unwrap_or(0.0));
    let mut sums = [0.0; 4];
    out.push(sums);
    out.extend(leader.iter().zip(error).map(|(a, e)| {
        let (a, e) = (f64::from(a - zero.0), f64::from(e - zero.1));
        sums = [sums[0] + a, sums[1] + e, sums[2] + a * a, sums[3] + a * e];
        sums
    }));
}

/// Change of the follower with one unit of the leader between two points.
fn slope_between(from: &[f64; 4], to: &[f64; 4], points: usize) -> f64 {
    let n = points as f64;
    let [a, e, square, both] = [0, 1, 2, 3].map(|i| to[i] - from[i]);
    let square = square - a * a / n;
    if square > 0.0 { 1.0 + (both - a * e / n) / square } else { 1.0 }
}

/// Change of the follower with one unit of the leader.
fn slope(leader: &[f32], error: &[f32]) -> f64 {
    let n = leader.len() as f32;
    let (a, e) = (leader.iter().sum::<f32>() / n, error.iter().sum::<f32>() / n);
    let (mut both, mut square) = (0.0f32, 0.0f32);
    for (leader, error) in leader.iter().zip(error) {
        both += (leader - a) * (error - e);
        square += (leader - a) * (leader - a);
    }
    if square > 0.0 { 1.0 + f64::from(both / square) } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured, sway};
    use crate::model::{Channels, Episode};

    /// The elbow loses its torque from 4.2 s to 5.8 s.
    fn tripped(joint: usize, t: f64) -> f64 {
        let held = joint == 1 && (4.2..5.8).contains(&t);
        sway(joint, if held { 4.2 } else { t } - 0.08)
    }

    #[test]
    fn a_trip_is_found_with_its_place_and_length() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let bench = Bench::at(rate_hz).seconds(12.0).follower(tripped).measure(&CHECK);
            let lost_s = bench.joint("lost", 1);
            assert!((lost_s - 1.6).abs() < 0.4, "{rate_hz} Hz: {lost_s}");
            let spans = bench.joint_spans("lost", 1);
            let start_s = f64::from(spans[0].0) / rate_hz;
            assert!((start_s - 4.2).abs() < 0.4, "{rate_hz} Hz: {start_s}");
            assert_eq!(bench.joint("lost", 0), 0.0, "{rate_hz} Hz");
            assert_eq!(bench.value("joints_lost"), 1.0);
        }
    }

    #[test]
    fn it_sees_what_its_manual_says() {
        for rate_hz in [10.0, 30.0, 100.0, 500.0, 1000.0] {
            let read = Bench::at(rate_hz).seconds(12.0).follower(tripped).measure(&CHECK);
            assert!(read.joint("lost", 1) >= 1.0, "{rate_hz} Hz: {read:?}");
            assert_eq!(read.joint("lost", 0), 0.0, "{rate_hz} Hz");
        }
    }

    /// A leader that shakes at 3 Hz by more than it moves, behind a servo that is too slow for it.
    #[test]
    fn what_is_too_fast_for_the_servo_is_no_loss() {
        let shaken = |joint: usize, t: f64| 0.5 * sway(joint, t) + 0.06 * (18.85 * t).sin();
        for rate_hz in [25.0, 50.0, 200.0] {
            let slow = |joint: usize, t: f64| 0.5 * sway(joint, t - 0.08);
            let bench = Bench::at(rate_hz).seconds(12.0).leader(shaken).follower(slow);
            let read = bench.measure(&CHECK);
            assert_eq!((read.joint("lost", 0), read.joint("lost", 1)), (0.0, 0.0), "{rate_hz} Hz");
        }
    }

    #[test]
    fn load_and_voltage_bear_a_trip_out_or_do_not() {
        let mut episode = Bench::at(50.0).seconds(12.0).follower(tripped).episode();
        let frames = episode.frames();
        let told = |episode: &Episode| {
            let read = Measured::of(&CHECK, episode);
            let lost = read.readings.iter().find(|r| r.metric.id == "lost" && r.joint == Some(1));
            let note = lost.and_then(|r| r.note.as_deref()).unwrap_or_default().to_owned();
            (note, read.joint("load_before", 1), read.joint("voltage_dip", 1))
        };
        let (note, load, dip) = told(&episode);
        assert!(note.is_empty() && load.is_nan() && dip.is_nan());
        // The elbow's load climbs to the trip at 4.2 s and is gone with the torque.
        let load = |row: usize| {
            let t = row as f64 / 50.0;
            if (3.4..4.2).contains(&t) {
                -900.0
            } else if (4.2..5.8).contains(&t) {
                0.0
            } else {
                300.0
            }
        };
        let waist = (0..frames).map(|_| 200.0);
        let values = waist.chain((0..frames).map(load)).map(|v| v as f32).collect();
        episode.extras.effort = Some(Channels::new(values, frames, 2));
        episode.extras.voltage = Some(Channels::new(vec![12.0; frames], frames, 1));
        let (note, share, dip) = told(&episode);
        assert!(note.contains("bears it out") && note.contains("100 %"), "{note}");
        assert!(share == 1.0 && dip == 0.0, "{share} {dip}");
        // Full load elsewhere, none before the loss; then a supply that gives in.
        let late = |row: usize| if row > 400 { 900.0 } else { 100.0 };
        let values = (0..2).flat_map(|_| (0..frames).map(late)).collect();
        episode.extras.effort = Some(Channels::new(values, frames, 2));
        let (note, ..) = told(&episode);
        assert!(note.contains("neither load nor voltage"), "{note}");
        let volts = (0..frames).map(|row| if (205..240).contains(&row) { 9.0 } else { 12.0 });
        episode.extras.voltage = Some(Channels::new(volts.collect(), frames, 1));
        let (note, _, dip) = told(&episode);
        assert!(note.contains("voltage bears it out") && (dip - 0.25).abs() < 1e-6, "{note}");
    }

    #[test]
    fn a_stop_and_a_gripper_are_no_loss() {
        let stopped = |joint: usize, t: f64| {
            let free = sway(joint, t - 0.08);
            if joint == 0 { free.min(0.1) } else { 0.0 }
        };
        let bench = Bench::at(50.0)
            .seconds(12.0)
            .follower(stopped)
            .rig(|rig| rig.joints[1].gripper = true)
            .measure(&CHECK);
        assert_eq!(bench.joint("lost", 0), 0.0);
        assert!(bench.joint("lost", 1).is_nan());
    }

    /// It loses its torque on the way to its highest place: with the leader beyond, this looks like a
    /// stop, until the leader is back and the follower is not.
    #[test]
    fn a_stop_lets_go_as_the_leader_comes_back() {
        let hand = |t: f64| {
            let reach = if (2.0..7.236).contains(&t) { 0.6 } else { 0.2 };
            reach * (1.2 * (t - 2.0)).sin()
        };
        let (from_s, to_s) = (2.517, 4.583);
        let lost = move |_: usize, t: f64| {
            if (from_s..to_s).contains(&t) { hand(from_s) } else { hand(t) }
        };
        let stop = move |_: usize, t: f64| hand(t).min(hand(from_s));
        let read = |bench: Bench| bench.measure(&CHECK).joint("lost", 1);
        let bench = || Bench::at(50.0).seconds(12.0).leader(move |_, t| hand(t));
        let found_s = read(bench().follower(lost));
        assert!(found_s >= 1.0, "{found_s}");
        assert_eq!(read(bench().follower(stop)), 0.0);
    }

    #[test]
    fn little_motion_says_nothing() {
        let small = |joint: usize, t: f64| 0.05 * sway(joint, t);
        let bench = Bench::at(50.0).frames(500).leader(small).measure(&CHECK);
        assert!(bench.missing("lost") && bench.is_not_assessed("within a second"));
    }
}
