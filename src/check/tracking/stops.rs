//! Where a follower was at rest at the end of its way.

use crate::check::study::Trace;
use crate::model::Joint;

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// A follower is held by no stop that stands there with its leader back inside by more than this, for
/// this long.
const INSIDE: f64 = 8.0 * DEGREE;
const STAYS_S: f64 = 0.1;

/// Where the follower can go no farther.
pub(super) struct Stops {
    low: f32,
    high: f32,
}

impl Stops {
    pub(super) fn of(trace: &Trace, joint: &Joint, near: f64) -> Self {
        let follower = trace.leader.iter().zip(&trace.error).map(|(a, e)| a + e);
        let (low, high) = follower
            .fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), s| (low.min(s), high.max(s)));
        let low = f64::from(low).max(joint.lower.unwrap_or(f64::NEG_INFINITY)) + near;
        let high = f64::from(high).min(joint.upper.unwrap_or(f64::INFINITY)) - near;
        Self { low: low as f32, high: high as f32 }
    }

    /// Whether the follower stands at a stop with the leader beyond, for most of these points.
    pub(super) fn held(&self, trace: &Trace, start: usize, end: usize, unit: f64) -> bool {
        let beyond = 2 * (start..end).filter(|at| self.is_at(trace, *at)).count() > end - start;
        beyond && !self.stays_for(trace, start, end, unit)
    }

    /// Whether it stays there within these points though its leader has come back.
    pub(super) fn stays_for(&self, trace: &Trace, start: usize, end: usize, unit: f64) -> bool {
        let inside = (INSIDE * unit) as f32;
        let points = (start..end).filter(|at| self.stays(trace, *at, inside)).count();
        points as f64 * trace.step_s >= STAYS_S
    }

    /// Whether it stands there though its leader has come back by this much: no stop does that.
    fn stays(&self, trace: &Trace, at: usize, inside: f32) -> bool {
        let error = trace.error[at];
        let follower = trace.leader[at] + error;
        (follower >= self.high && error > inside) || (follower <= self.low && -error > inside)
    }

    /// Whether it does at this point.
    pub(super) fn is_at(&self, trace: &Trace, at: usize) -> bool {
        let error = trace.error[at];
        let follower = trace.leader[at] + error;
        (follower >= self.high && error < 0.0) || (follower <= self.low && error > 0.0)
    }
}
