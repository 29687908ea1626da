//! Healthy rigs of every kind, for tests and benchmarks of false alarms.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::recipe::{Logger, Operator, Recipe, Servo, StoredUnit};

/// A session in which nothing is wrong: hand, layout and rig are drawn from the seed within what
/// sound rigs of this kind show, so that a check that reports here is a false alarm.
pub fn healthy(rate_hz: f64, joints: usize, unit: StoredUnit, episodes: u64, seed: u64) -> Recipe {
    let mut rng = ChaCha8Rng::seed_from_u64(seed ^ 0x5eed_1195);
    // What slow motion is late by in all stays below 95 ms: backlash of 0.9 degrees adds up to 60
    // ms to it where a joint moves slowly by little more than 10 degrees.
    let hold_ms = 500.0 / rate_hz;
    let dead_time_ms = rng.random_range(10.0..28.0);
    let most_ms = (95.0 - hold_ms - dead_time_ms).min(75.0);
    let shortest = rng.random_range(0.08..0.2);
    Recipe {
        seed,
        episodes,
        rate_hz,
        joints,
        unit,
        counts_per_turn: if rng.random_bool(0.75) { 4096.0 } else { 16384.0 },
        operator: Operator {
            pace: rng.random_range(0.7..1.35),
            spread: rng.random_range(0.45..1.25),
            tremor_deg: rng.random_range(0.05..0.15),
            wander_deg: rng.random_range(0.04..0.15),
            dwell_s: [shortest, shortest + rng.random_range(0.15..0.35)],
            variation: rng.random_range(0.08..0.16),
            wait_s: 0.0,
        },
        servo: Servo {
            dead_time_ms,
            time_constant_ms: rng.random_range(40.0..most_ms.max(41.0)),
            speed_limit_deg_s: rng.random_range(220.0..360.0),
            acceleration_limit_deg_s2: rng
                .random_bool(0.3)
                .then(|| rng.random_range(2500.0..6000.0)),
            backlash_deg: rng.random_range(0.5..0.9),
            sag_deg: rng.random_range(0.5..1.3),
            noise_counts: rng.random_range(0.01..0.06),
            between_joints: rng.random_range(0.0..0.05),
        },
        logger: Logger {
            jitter: rng.random_range(0.01..0.025),
            late_share: rng.random_range(0.0..0.005),
            clock_start_s: rng.random_range(100.0..90_000.0),
        },
        faults: Vec::new(),
    }
}
