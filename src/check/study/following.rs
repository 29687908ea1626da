//! How the follower follows the leader: lag of each joint, and the error that is left when lag
//! and offset are taken out.

use super::basis::Basis;
use crate::num::lag::{Lag, NoLag, Search, lag};
use crate::num::quantile::{median_in_place, quantile_in_place, quantiles_in_place};
use crate::num::resample::Grid;

/// A joint must move this far before backlash and counts stop looking like lag: 10 degrees.
pub const LEAST_MOTION_RAD: f64 = 10.0 * std::f64::consts::PI / 180.0;
/// The same for a linear joint: 20 mm (engineering judgement, no source).
pub const LEAST_MOTION_M: f64 = 0.02;
/// A minimum wider than this, or three frames if that is more, names no lag.
const WIDEST_S: f64 = 0.1;
/// Distance of the parabola's lags: below this a frame is too small a step to see a curve.
const ARM_S: f64 = 0.01;
/// Longest blocks of the coarse search: well below a swing of the hand.
const BLOCK_S: f64 = 0.12;

/// One joint's lag and what remains when it is taken out.
#[derive(Debug, Clone)]
pub struct Aligned {
    /// Range of the leader's motion, in the joint's unit.
    pub motion: f64,
    /// The lag in seconds with the width of its minimum in seconds, or why there is none.
    pub lag_s: Result<(f64, f64), String>,
    /// Where actions are held: the lag that is left at the ends of the holds, in seconds.
    pub settled_s: Option<f64>,
    /// Median of follower minus leader after alignment.
    pub offset: f64,
    /// Median of the absolute error after alignment and without the offset.
    pub error_p50: f64,
    /// 95th percentile of the same.
    pub error_p95: f64,
    /// 95th percentile of the absolute difference of the same row, nothing taken out.
    pub raw_p95: f64,
}

impl Aligned {
    /// Median lag in seconds of several joints, weighted by their motion; `None` where none has one.
    pub fn overall_s<'a>(joints: impl Iterator<Item = &'a Self>) -> Option<f64> {
        weighted_median(joints)
    }
}

/// All joints of an episode; empty without a leader or a grid.
#[derive(Debug, Default)]
pub struct Following {
    /// One entry per joint; `None` for a gripper.
    pub joints: Vec<Option<Aligned>>,
    /// Median lag in seconds, weighted by each joint's motion, over the joints that have one.
    pub overall_s: Option<f64>,
}

impl Following {
    /// Works out lag and error of every joint but the grippers; nothing without a grid.
    pub(super) fn of(basis: &Basis<'_>, grid: Option<&Grid>, search_s: f64) -> Self {
        let Some(grid) = grid else { return Self::default() };
        let mut buffers = Buffers::default();
        let mut joints: Vec<Option<Aligned>> = (0..basis.joints().len())
            .map(|joint| buffers.lag_of(basis, grid, joint, search_s))
            .collect();
        let overall_s = weighted_median(joints.iter().flatten());
        // The error of a joint whose own lag is not known is taken at the lag of the others.
        if let Some(overall_s) = overall_s {
            for (joint, aligned) in joints.iter_mut().enumerate() {
                if let Some(aligned) = aligned {
                    let lag_s = aligned.lag_s.as_ref().map_or(overall_s, |(lag_s, _)| *lag_s);
                    let lag_s = aligned.settled_s.unwrap_or(lag_s);
                    buffers.errors_of(basis, grid, joint, lag_s / grid.step_s, aligned);
                }
            }
        }
        Self { joints, overall_s }
    }

    /// The lag at which the error of a joint is taken: as below, but at the ends of holds.
    pub(super) fn error_lag_s(&self, joint: usize) -> f64 {
        let own = self.joints.get(joint).and_then(Option::as_ref);
        own.and_then(|aligned| aligned.settled_s).unwrap_or_else(|| self.lag_s(joint))
    }

    /// The lag to align a joint by: its own, else that of the others, else none.
    pub fn lag_s(&self, joint: usize) -> f64 {
        let own = self.joints.get(joint).and_then(Option::as_ref);
        let own = own.and_then(|aligned| aligned.lag_s.as_ref().ok()).map(|(lag_s, _)| *lag_s);
        own.or(self.overall_s).unwrap_or(0.0)
    }
}

fn weighted_median<'a>(joints: impl Iterator<Item = &'a Aligned>) -> Option<f64> {
    let known = |a: &Aligned| a.lag_s.as_ref().ok().map(|(lag_s, _)| (*lag_s, a.motion));
    let mut lags: Vec<(f64, f64)> = joints.filter_map(known).collect();
    lags.sort_by(|x, y| x.0.total_cmp(&y.0));
    let half = lags.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    lags.iter().find_map(|(lag_s, weight)| {
        sum += weight;
        (sum >= half).then_some(*lag_s)
    })
}

/// Buffers used for one joint after the other.
#[derive(Default)]
pub(super) struct Buffers {
    follower: Vec<f32>,
    leader: Vec<f32>,
    errors: Vec<f32>,
}

impl Buffers {
    /// Puts a joint's signals on the grid, as they are at the ends of holds: the slices themselves
    /// where the rows are the grid.
    pub(super) fn settled<'s>(
        &'s mut self,
        basis: &'s Basis<'_>,
        grid: &Grid,
        joint: usize,
    ) -> (&'s [f32], &'s [f32], &'s mut Vec<f32>) {
        let plain = || (basis.state(joint), basis.action(joint).unwrap_or(&[]));
        let (state, action) = basis.settled(joint).unwrap_or_else(plain);
        self.put(state, action, grid)
    }

    /// The same, as they are in every row.
    fn signals<'s>(
        &'s mut self,
        basis: &'s Basis<'_>,
        grid: &Grid,
        joint: usize,
    ) -> (&'s [f32], &'s [f32], &'s mut Vec<f32>) {
        self.put(basis.state(joint), basis.action(joint).unwrap_or(&[]), grid)
    }

    fn put<'s>(
        &'s mut self,
        state: &'s [f32],
        action: &'s [f32],
        grid: &Grid,
    ) -> (&'s [f32], &'s [f32], &'s mut Vec<f32>) {
        if grid.is_identity() {
            return (state, action, &mut self.errors);
        }
        self.follower.clear();
        self.leader.clear();
        grid.apply(state, &mut self.follower);
        grid.apply(action, &mut self.leader);
        (&self.follower, &self.leader, &mut self.errors)
    }

    fn lag_of(
        &mut self,
        basis: &Basis<'_>,
        grid: &Grid,
        joint: usize,
        search_s: f64,
    ) -> Option<Aligned> {
        let described = &basis.joints()[joint];
        if described.gripper {
            return None;
        }
        let motion = basis.action_range(joint).map_or(0.0, |(low, high)| f64::from(high - low));
        let least = if described.linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
        let per_step = |seconds: f64| (seconds / grid.step_s).round().max(1.0) as usize;
        let search = Search {
            reach: per_step(search_s),
            halvings: per_step(BLOCK_S).ilog2(),
            arm: per_step(ARM_S),
        };
        let (follower, leader, _) = self.signals(basis, grid, joint);
        let lag_s = if motion < least {
            Err(too_little(motion, least, described.linear))
        } else {
            judge_width(lag(follower, leader, &grid.segments, search), grid.step_s)
        };
        let settled_s = basis.settled(joint).and_then(|_| {
            let (follower, leader, _) = self.settled(basis, grid, joint);
            let found = lag(follower, leader, &grid.segments, search).ok()?;
            (motion >= least).then_some(found.samples * grid.step_s)
        });
        let nothing = Aligned {
            motion,
            lag_s,
            settled_s,
            offset: f64::NAN,
            error_p50: f64::NAN,
            error_p95: f64::NAN,
            raw_p95: f64::NAN,
        };
        Some(nothing)
    }

    fn errors_of(
        &mut self,
        basis: &Basis<'_>,
        grid: &Grid,
        joint: usize,
        lag_steps: f64,
        aligned: &mut Aligned,
    ) {
        let (follower, leader, errors) = self.settled(basis, grid, joint);
        errors.clear();
        for segment in &grid.segments {
            shifted_difference(
                &follower[segment.clone()],
                &leader[segment.clone()],
                lag_steps,
                errors,
            );
        }
        if errors.is_empty() {
            return;
        }
        aligned.offset = median_in_place(errors);
        let offset = aligned.offset as f32;
        for error in errors.iter_mut() {
            *error = (*error - offset).abs();
        }
        [aligned.error_p50, aligned.error_p95] = quantiles_in_place(errors, [0.5, 0.95]);
        errors.clear();
        // Every fourth will do for a number that nobody judges.
        let pairs = follower.iter().zip(leader).step_by(4);
        errors.extend(pairs.map(|(s, a)| (s - a).abs()));
        aligned.raw_p95 = quantile_in_place(errors, 0.95);
    }
}

/// Appends `s(t + lag) − a(t)` for every `t` that has a partner; between samples `s` is a line.
fn shifted_difference(s: &[f32], a: &[f32], lag_steps: f64, out: &mut Vec<f32>) {
    let whole = lag_steps.floor();
    let part = (lag_steps - whole) as f32;
    let shift = whole as isize;
    let start = (-shift).max(0) as usize;
    let end = (a.len() as isize).min(s.len() as isize - 1 - shift).max(0) as usize;
    if start >= end {
        return;
    }
    let first = (start as isize + shift) as usize;
    let now = &s[first..first + (end - start)];
    let next = &s[first + 1..=first + (end - start)];
    let pairs = now.iter().zip(next).zip(&a[start..end]);
    out.extend(pairs.map(|((s0, s1), a)| s0 + part * (s1 - s0) - a));
}

fn judge_width(found: Result<Lag, NoLag>, step_s: f64) -> Result<(f64, f64), String> {
    let found = found.map_err(|why| match why {
        NoLag::TooShort => "too few frames without a gap".to_owned(),
        NoLag::AtEdge => "the best lag lies at the edge of the search".to_owned(),
        NoLag::Flat => "the follower does not answer to the leader's motion".to_owned(),
    })?;
    let (lag_s, width_s) = (found.samples * step_s, found.width * step_s);
    let widest_s = WIDEST_S.max(3.0 * step_s);
    if width_s > widest_s {
        return Err(format!(
            "any lag within {:.0} ms fits as well (widest allowed {:.0} ms)",
            width_s * 1e3,
            widest_s * 1e3
        ));
    }
    Ok((lag_s, width_s))
}

/// How a person says that a joint did not move enough.
pub(super) fn too_little(motion: f64, smallest: f64, linear: bool) -> String {
    if linear {
        format!("the leader moved it {:.1} mm, needs {:.0} mm", motion * 1e3, smallest * 1e3)
    } else {
        let (moved, needed) = (motion.to_degrees(), smallest.to_degrees());
        format!("the leader moved it {moved:.1} deg, needs {needed:.0} deg")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shifted_ramp_differs_by_nothing() {
        let a: Vec<f32> = (0..20).map(|i| i as f32).collect();
        for lag in [-3.25, 0.0, 0.5, 2.0, 2.75] {
            let s: Vec<f32> = a.iter().map(|v| v - lag as f32).collect();
            let mut out = Vec::new();
            shifted_difference(&s, &a, lag, &mut out);
            assert!(out.len() >= 15, "{lag}: {}", out.len());
            assert!(out.iter().all(|e| e.abs() < 1e-5), "{lag}: {out:?}");
        }
    }
}
