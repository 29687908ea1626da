//! What moves a joint of the follower in addition to its motor.

use std::f64::consts::TAU;

/// Hunting about the target, and loads that pull. Angles in radians.
#[derive(Debug, Clone, Default)]
pub(super) struct Disturbance {
    /// Stretches in which the leader rests, where the servo hunts there.
    pub rests_s: Vec<[f64; 2]>,
    /// Swing from peak to peak, and how often, hertz.
    pub hunting: (f64, f64),
    /// How far the joint yields to a load that varies.
    pub surges: f64,
}

/// How fast the swing builds up, seconds.
const BUILDS_S: f64 = 0.12;
/// How fast it dies down once the joint moves, seconds.
const DIES_S: f64 = 0.06;

impl Disturbance {
    /// How far the joint is off at a moment.
    pub fn at(&self, now_s: f64) -> f64 {
        self.swing(now_s) + self.surge(now_s)
    }

    /// A servo against friction swings in a triangle rather than a sine, and never quite evenly.
    fn swing(&self, now_s: f64) -> f64 {
        let (size, hertz) = self.hunting;
        let begun = self.rests_s.partition_point(|rest| rest[0] <= now_s);
        let Some([start_s, end_s]) = begun.checked_sub(1).map(|at| self.rests_s[at]) else {
            return 0.0;
        };
        let built = 1.0 - (-(now_s.min(end_s) - start_s) / BUILDS_S).exp();
        let left = (-(now_s - end_s).max(0.0) / DIES_S).exp();
        let phase = (hertz * now_s + 0.15 * (2.9 * now_s).sin()).rem_euclid(1.0);
        let triangle = 4.0 * (phase - 0.5).abs() - 1.0;
        0.5 * size * built * left * triangle
    }

    /// Two slow swings without a common measure.
    fn surge(&self, now_s: f64) -> f64 {
        let both = (TAU * 0.13 * now_s + 0.4).sin() + 0.6 * (TAU * 0.37 * now_s + 2.0).sin();
        self.surges * both / 1.3
    }
}
