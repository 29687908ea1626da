//! The hand on the leader: minimum-jerk motions, tremor, wander.

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use std::f64::consts::TAU;

use super::plan::{Kind, Plan};
use super::recipe::Operator;

/// Tremor of a hand at rest, as a share of its tremor in motion.
const STILL_TREMOR: f64 = 0.25;
/// How often the three tremor sources are drawn, hertz: the band of physiological hand tremor,
/// 8 to 12 Hz (common textbook range, from memory).
const TREMOR_HZ: (f64, f64) = (8.0, 12.0);
/// Standard deviation of a tremor source's phase walk, radians per root second.
const PHASE_WALK: f64 = 1.5;

/// The three sources of tremor in hand and forearm, each a narrow band.
struct Tremor {
    phase: [f64; 3],
    rate: [f64; 3],
}

impl Tremor {
    fn new(rng: &mut ChaCha8Rng) -> Self {
        let phase = std::array::from_fn(|_| rng.random_range(0.0..TAU));
        let rate = std::array::from_fn(|_| TAU * rng.random_range(TREMOR_HZ.0..TREMOR_HZ.1));
        Self { phase, rate }
    }

    fn advance(&mut self, dt_s: f64, rng: &mut ChaCha8Rng) -> [f64; 3] {
        let walk = PHASE_WALK * dt_s.max(0.0).sqrt();
        for (phase, rate) in self.phase.iter_mut().zip(self.rate) {
            *phase = (*phase + rate * dt_s + walk * rng.sample::<f64, _>(StandardNormal)) % TAU;
        }
        self.phase.map(f64::sin)
    }
}

/// A joint's share in tremor and wander.
struct Share {
    tremor: [f64; 3],
    wander: [(f64, f64, f64); 2],
}

/// Angles of the leader's joints, joint-major, at the given moments.
pub(super) fn leader(
    plan: &Plan,
    moments_s: &[f64],
    joints: usize,
    operator: &Operator,
    rng: &mut ChaCha8Rng,
) -> Vec<Vec<f64>> {
    let shares: Vec<Share> = (0..joints).map(|j| share(operator, j + 1 == joints, rng)).collect();
    let mut tremor = Tremor::new(rng);
    let mut angles = vec![vec![0.0; moments_s.len()]; joints];
    let mut at = 0;
    let mut before_s = moments_s.first().copied().unwrap_or(0.0);
    for (frame, &now_s) in moments_s.iter().enumerate() {
        while at + 1 < plan.segments.len() && now_s >= plan.segments[at].end_s() {
            at += 1;
        }
        let segment = &plan.segments[at];
        let sources = tremor.advance(now_s - before_s, rng);
        before_s = now_s;
        let u = ((now_s - segment.start_s) / segment.duration_s).clamp(0.0, 1.0).powf(segment.skew);
        let progress = u * u * u * (10.0 + u * (6.0 * u - 15.0));
        let (liveliness, held) = match segment.kind {
            Kind::Move => {
                (STILL_TREMOR + (1.0 - STILL_TREMOR) * 16.0 * (u * (1.0 - u)).powi(2), 1.0)
            }
            Kind::Grip => (1.6 * STILL_TREMOR, 1.0),
            Kind::Dwell => (STILL_TREMOR, 1.0),
            Kind::Parked => (0.0, 0.0),
        };
        for (joint, share) in shares.iter().enumerate() {
            let shake: f64 = share.tremor.iter().zip(sources).map(|(w, s)| w * s).sum();
            let drift: f64 = share
                .wander
                .iter()
                .map(|(size, rate, phase)| size * (rate * now_s + phase).sin())
                .sum();
            let aim = segment.from[joint] + progress * (segment.to[joint] - segment.from[joint]);
            angles[joint][frame] = aim + liveliness * shake + held * drift;
        }
    }
    angles
}

/// Draws a joint's share; the trigger finger shakes less than the arm.
fn share(operator: &Operator, gripper: bool, rng: &mut ChaCha8Rng) -> Share {
    let scale = if gripper { 0.4 } else { 1.0 };
    // Three sources of equal weight w have a root mean square of w * sqrt(3/2).
    let size = scale * operator.tremor_deg.to_radians() / 3f64.sqrt();
    let tremor = std::array::from_fn(|_| size * rng.random_range(-1.4..1.4));
    let wander = std::array::from_fn(|_| {
        let size = scale * operator.wander_deg.to_radians() * rng.random_range(0.3..1.0);
        (size, TAU * rng.random_range(0.05..0.3), rng.random_range(0.0..TAU))
    });
    Share { tremor, wander }
}
