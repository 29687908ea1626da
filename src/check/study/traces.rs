//! The joints' traces and fits: dearer than the lags, so only for the checks that need them.

use super::basis::Basis;
use super::following::{Aligned, Buffers, Following};
use super::range::range;
use super::trace::{Fit, Hold, Trace};
use crate::model::METRES_A_RADIAN;

/// Most that backlash is taken to add to a lag: what 0.9 degrees do to a slow motion of 10.
const MOST_PLAY_S: f64 = 0.06;

/// Leader and follower of one joint side by side, and what is fitted through what is left.
#[derive(Debug)]
pub struct Traced {
    /// Range of the leader's motion, in the joint's unit.
    pub motion: f64,
    /// The two side by side at the lag that leaves the smallest difference between them.
    pub trace: Trace,
    /// Where something held the follower.
    pub holds: Vec<Hold>,
    /// What is fitted through what is left where nothing held it; `None` where nothing can be.
    pub fit: Option<Fit>,
    /// The lag in seconds without what backlash adds to it, where there is a lag.
    pub lag_without_play_s: Option<f64>,
    /// The trace without the holds, where there are any.
    free: Option<Trace>,
}

impl Traced {
    /// The two side by side where nothing held the follower.
    pub fn free(&self) -> &Trace {
        self.free.as_ref().unwrap_or(&self.trace)
    }

    /// Share of the points at which something held the follower.
    pub fn held_share(&self) -> f64 {
        let held: usize = self.holds.iter().map(|hold| hold.points.len()).sum();
        held as f64 / self.trace.at.len().max(1) as f64
    }

    /// How far the leader moved where nothing held the follower.
    pub fn free_motion(&self) -> f64 {
        let Some(free) = &self.free else { return self.motion };
        let (low, high) = range(&free.leader);
        f64::from(high - low)
    }
}

/// Works out the traces of every joint but the grippers, each at its own lag, or at that of the
/// others.
pub(super) fn traces(basis: &Basis<'_>, following: &Following) -> Vec<Option<Traced>> {
    let Some(grid) = basis.grid() else { return Vec::new() };
    let mut buffers = Buffers::default();
    let one = |(joint, aligned): (usize, &Option<Aligned>)| {
        let aligned = aligned.as_ref()?;
        let (follower, leader, scratch) = buffers.settled(basis, grid, joint);
        let lag = following.error_lag_s(joint) / grid.step_s;
        let mut trace = Trace::of(follower, leader, &grid.segments, grid.step_s, lag);
        let linear = basis.joints()[joint].linear;
        let unit = if linear { METRES_A_RADIAN } else { 1.0 };
        let holds = trace.holds(unit);
        let mut free = (!holds.is_empty()).then(|| trace.without(&holds));
        let fit = free.as_mut().unwrap_or(&mut trace).fit(unit, !linear, scratch);
        let known = aligned.lag_s.as_ref().ok();
        let lag_without_play_s = known.map(|(lag_s, width_s)| {
            let most_s = MOST_PLAY_S.max(*width_s);
            lag_s + fit.map_or(0.0, |fit| fit.lag_more_s.clamp(-most_s, most_s))
        });
        Some(Traced { motion: aligned.motion, trace, holds, fit, lag_without_play_s, free })
    };
    following.joints.iter().enumerate().map(one).collect()
}
