//! How the lag goes over an episode: the arm's lag in windows of 5 s and more.
//!
//! Within a window, what is left between leader and follower when backlash and pose are taken out goes
//! with the speed as much as the lag there differs from that of the whole episode. All joints with
//! ample motion give one number together, so that a window needs no single joint to move much.

use crate::check::study::{Fit, Trace, Traced};
use crate::num::quantile::quantiles_in_place;
use crate::num::theil_sen::theil_sen;

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
    let mut point_s = step_s;
    for traced in traces.iter().flatten() {
        if let Traced { lag_without_play_s: Some(_), fit: Some(fit), .. } = traced
            && fit.range >= smallest
        {
            point_s = traced.free().step_s;
            gather(traced.free(), fit, points, &mut halves);
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

fn gather(trace: &Trace, fit: &Fit, points: usize, sums: &mut [Window]) {
    let (half, gain, pose) = (0.5 * fit.play.max(0.0) as f32, fit.gain as f32, fit.pose as f32);
    let (offset, bend) = (fit.offset as f32, fit.bend as f32);
    let wild = (5.0 * fit.left).max(0.004) as f32;
    // The window of a grid point is the point times the number of windows over that of points.
    let windows = sums.len().max(1);
    let beyond = |window: usize| ((window + 1) * points.max(1)).div_ceil(windows);
    let (mut now, mut end) = (0, beyond(0));
    for place in 0..trace.at.len() {
        while trace.at[place] as usize >= end {
            now += 1;
            end = beyond(now);
        }
        let speed = trace.speed[place];
        let left = trace.error[place] + half * trace.side[place]
            - gain * (trace.leader[place] - pose)
            - bend * trace.bend[place]
            - offset;
        // A drifting lag leaves much where the joint is fast: that is no reason to drop a point.
        if left.abs() > wild + 0.1 * speed.abs() {
            continue;
        }
        if let Some(window) = sums.get_mut(now) {
            window.both += f64::from(left * speed);
            window.square += f64::from(speed * speed);
        }
    }
}
