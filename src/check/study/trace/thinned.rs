//! Leader and follower of one joint side by side, thinned.

use std::ops::Range;

/// Leader and follower of one joint at some 25 points a second.
#[derive(Debug, Clone, Default)]
pub struct Trace {
    /// Seconds from point to point.
    pub step_s: f64,
    /// Grid point of each point.
    pub at: Vec<u32>,
    /// Leader's position.
    pub leader: Vec<f32>,
    /// Follower, the lag taken out, minus leader.
    pub error: Vec<f32>,
    /// Leader's velocity in its unit per second.
    pub speed: Vec<f32>,
    /// Leader's acceleration in its unit per second squared.
    pub bend: Vec<f32>,
    /// Which side of the backlash the joint rests on: 1 after a motion upward, -1 after one downward.
    pub side: Vec<f32>,
    /// Stretches of points without a gap.
    pub segments: Vec<Range<usize>>,
}
