//! How the lag goes over an episode: the arm's lag in windows of 5 s and more.
//!
//! Within a window, what is left between leader and follower when backlash and pose are taken out goes
//! with the speed as much as the lag there differs from that of the whole episode. All joints with
//! ample motion give one number together, so that a window needs no single joint to move much.

use pulp::cast;

use crate::check::study::{Fit, Trace, Traced};
use crate::num::quantile::quantiles_in_place;
use crate::num::theil_sen::theil_sen;
use crate::num::wide::{eight_fn, eight_from};

/// Shortest window; the trend is seen in halves of them.
const WINDOW_S: f64 = 5.0;
/// Most windows; longer episodes have longer ones.
const MOST: usize = 24;
/// Motion a window must hold: the integral of speed squared, 20 degrees a second for half a
/// second.
const LEAST_MOTION: f64 = 0.061;
/// Fewest windows that show a course.
const ENOUGH: usize = 3;

/// The course of the lag.
#[derive(Debug, Clone, Copy)]
pub struct Course {
    /// Change of the lag from the first window to the last, in seconds; zero where the windows
    /// scatter too much to tell.
    pub drift_s: f64,
    /// Interquartile range of the windows' lags, in seconds.
    pub spread_s: f64,
}

/// What a window has gathered.
#[derive(Debug, Clone, Copy, Default)]
struct Window {
    both: f64,
    square: f64,
}

/// The course of the lag over an episode, from joints that moved at least `smallest` radians. `None`
/// if fewer than three windows hold enough motion.
pub fn course(
    traces: &[Option<Traced>],
    points: usize,
    step_s: f64,
    smallest: f64,
) -> Option<Course> {
    let duration_s = points as f64 * step_s;
    let windows = ((duration_s / WINDOW_S) as usize).min(MOST);
    if windows < ENOUGH {
        return None;
    }
    let mut halves = vec![Window::default(); 2 * windows];
    let (mut point_s, mut added) = (step_s, Added::default());
    for traced in traces.iter().flatten() {
        if let Traced { lag_without_play_s: Some(_), fit: Some(fit), .. } = traced
            && fit.range >= smallest
        {
            point_s = traced.free().step_s;
            gather(traced.free(), fit, points, &mut halves, &mut added);
        }
    }
    let both = |pair: &[Window]| Window {
        both: pair.iter().map(|window| window.both).sum(),
        square: pair.iter().map(|window| window.square).sum(),
    };
    let whole: Vec<Window> = halves.chunks(2).map(both).collect();
    let (_, mut lag_s) = lags(&whole, point_s, LEAST_MOTION);
    let (place, course_s) = lags(&halves, point_s, 0.5 * LEAST_MOTION);
    if lag_s.len() < ENOUGH || course_s.len() < ENOUGH {
        return None;
    }
    let trend = theil_sen(&place, &course_s, 0.95)?;
    let sure = course_s.len() > ENOUGH && trend.interval.0 * trend.interval.1 > 0.0;
    let span = place.last()? - place.first()?;
    let [low, high] = quantiles_in_place(&mut lag_s, [0.25, 0.75]);
    Some(Course { drift_s: if sure { trend.slope * span } else { 0.0 }, spread_s: high - low })
}

/// Place and lag of the windows that hold enough motion.
fn lags(windows: &[Window], point_s: f64, smallest: f64) -> (Vec<f64>, Vec<f64>) {
    let lively = windows.iter().enumerate().filter(|(_, w)| w.square * point_s >= smallest);
    lively.map(|(at, window)| (at as f64, -window.both / window.square)).unzip()
}

/// What each point adds to its window.
#[derive(Default)]
struct Added {
    both: Vec<[f32; 8]>,
    square: Vec<[f32; 8]>,
}

fn gather(trace: &Trace, fit: &Fit, points: usize, sums: &mut [Window], added: &mut Added) {
    let terms = [0.5 * fit.play.max(0.0), fit.gain, fit.pose, fit.bend, fit.offset];
    weigh(trace, terms.map(|term| term as f32), (5.0 * fit.left).max(0.004) as f32, added);
    let (both, square) = (added.both.as_flattened(), added.square.as_flattened());
    // The window of a grid point is the point times the number of windows over that of points.
    let windows = sums.len().max(1);
    let mut start = 0;
    for (now, window) in sums.iter_mut().enumerate() {
        let beyond = ((now + 1) * points.max(1)).div_ceil(windows);
        let end = trace.at.partition_point(|at| (*at as usize) < beyond);
        let mut sum = *window;
        for (both, square) in both[start..end].iter().zip(&square[start..end]) {
            sum.both += f64::from(*both);
            sum.square += f64::from(*square);
        }
        (*window, start) = (sum, end);
    }
}

eight_fn! {
    /// What each point has left times its speed, and its speed squared; zeros where it is wild.
    fn weigh<'a>(
        simd,
        trace: &'a Trace,
        terms: [f32; 5],
        wild: f32,
        added: &'a mut Added,
    ) -> () {
        let [half, gain, pose, bend, offset] = terms.map(|term| simd.splat_f32s(term));
        let (wild, tenth, zero) =
            (simd.splat_f32s(wild), simd.splat_f32s(0.1), simd.splat_f32s(0.0));
        added.both.clear();
        added.square.clear();
        for at in (0..trace.at.len()).step_by(8) {
            let speed = eight_from(&trace.speed, at);
            let error = eight_from(&trace.error, at);
            let left = simd.add_f32s(error, simd.mul_f32s(half, eight_from(&trace.side, at)));
            let from_pose = simd.sub_f32s(eight_from(&trace.leader, at), pose);
            let left = simd.sub_f32s(left, simd.mul_f32s(gain, from_pose));
            let left = simd.sub_f32s(left, simd.mul_f32s(bend, eight_from(&trace.bend, at)));
            let left = simd.sub_f32s(left, offset);
            // A drifting lag leaves much where the joint is fast: that is no reason to drop a point.
            let most = simd.add_f32s(wild, simd.mul_f32s(tenth, simd.abs_f32s(speed)));
            let is_wild = simd.greater_than_f32s(simd.abs_f32s(left), most);
            let both = simd.select_f32s(is_wild, zero, simd.mul_f32s(left, speed));
            let square = simd.select_f32s(is_wild, zero, simd.mul_f32s(speed, speed));
            added.both.push(cast(both));
            added.square.push(cast(square));
        }
    }
}
