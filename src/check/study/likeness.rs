//! How like each joint of the leader is to each joint of the follower, at the overall lag.

use super::Study;
use super::following::{LEAST_MOTION_M, LEAST_MOTION_RAD};
use crate::num::lanes::dot;

/// Points of each joint that are compared.
const POINTS: usize = 240;
/// A motion of less than this is not compared at all: 0.2 degrees.
const LEAST: f64 = 0.0035;

/// One joint of both arms.
#[derive(Debug, Clone, Copy)]
pub struct Pair {
    /// The joint.
    pub joint: usize,
    /// Change of the follower with one unit of the leader, by the ratio of their deviations.
    pub slope: f64,
    /// Whether both moved far enough to name a joint by its motion.
    pub lively: bool,
}

/// Correlations of all leader joints with all follower joints.
#[derive(Debug, Default)]
pub struct Likeness {
    /// The joints that moved in either arm, grippers left out.
    pub pairs: Vec<Pair>,
    /// Correlation of leader `i` with follower `j`, in the order of `pairs`, row by row.
    correlation: Vec<f64>,
}

impl Likeness {
    pub(super) fn of(study: &Study<'_>, search_s: f64) -> Self {
        let period_s = study.episode.rig.period_s;
        let lag_s = study.following(search_s).overall_s.unwrap_or(0.0);
        let late = if period_s > 0.0 { (lag_s / period_s).round() as isize } else { 0 };
        let frames = study.episode.frames() as isize;
        let first = (-late).max(0);
        let end = frames - late.max(0);
        if end - first < 20 || study.no_leader().is_some() {
            return Self::default();
        }
        let stride = ((end - first) as usize / POINTS).max(1);
        let mut pairs = Vec::new();
        let (mut leaders, mut followers) = (Vec::new(), Vec::new());
        for (joint, described) in study.joints().iter().enumerate() {
            let Some(action) = study.action(joint).filter(|_| !described.gripper) else { continue };
            let state = study.state(joint);
            let width = |(low, high): (f32, f32)| f64::from(high - low);
            let leader = width(study.action_range(joint).unwrap_or_default());
            let follower = width(study.state_range(joint));
            let least = if described.linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
            if leader.max(follower) < least || leader.min(follower) < LEAST {
                continue;
            }
            let rows = || (first..end).step_by(stride);
            let (a, a_size) = normal(rows().map(|t| action[t as usize]));
            let (s, s_size) = normal(rows().map(|t| state[(t + late) as usize]));
            leaders.push(a);
            followers.push(s);
            let slope = if a_size > 0.0 { s_size / a_size } else { 1.0 };
            let lively = leader.min(follower) >= least;
            pairs.push(Pair { joint, slope, lively });
        }
        let with_each = |a: &'_ Vec<f32>| -> Vec<f64> {
            followers.iter().map(|s| f64::from(dot(a, s))).collect()
        };
        let correlation = leaders.iter().flat_map(with_each).collect();
        Self { pairs, correlation }
    }

    /// Correlation of leader `i` with follower `j`, by their places in `pairs`.
    pub fn between(&self, i: usize, j: usize) -> f64 {
        self.correlation[i * self.pairs.len() + j]
    }
}

/// Values about their mean, scaled to unit length, and the length they had.
fn normal(values: impl Iterator<Item = f32>) -> (Vec<f32>, f64) {
    let mut values: Vec<f32> = values.collect();
    let mean = values.iter().sum::<f32>() / values.len().max(1) as f32;
    for v in &mut values {
        *v -= mean;
    }
    let size = dot(&values, &values).sqrt();
    if size > 0.0 {
        for v in &mut values {
            *v /= size;
        }
    }
    (values, f64::from(size))
}
