//! The logger's loop: when each cycle really runs.

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::fault::Fault;
use super::planted::{Mark, Mine};
use super::recipe::Recipe;

/// For evenly distributed latencies in `[0, w]` the 95th percentile of the difference of two is
/// `w * (1 - sqrt(0.05))`.
const EVEN_P95: f64 = 0.776_4;
/// The loop has deadlines to keep: a cycle never runs so late that it would lose its order.
const LATEST: f64 = 0.85;

/// Moments in seconds from the start of the episode at which the loop runs, up to `end_s`.
pub(super) fn cycles(
    recipe: &Recipe,
    mine: &Mine<'_>,
    end_s: f64,
    rng: &mut ChaCha8Rng,
    marks: &mut Vec<Mark>,
) -> Vec<f64> {
    let mut rate_hz = recipe.rate_hz;
    let mut uneven = 0.0;
    for (planted, fault, _) in mine.iter() {
        match *fault {
            Fault::SlowLoop { rate_hz: true_rate } => rate_hz = true_rate,
            Fault::Jitter { share } => uneven = share.min(0.38) / EVEN_P95,
            _ => continue,
        }
        marks.push(Mark { planted, spans_s: vec![[0.0, end_s]], count: 1 });
    }
    let period_s = 1.0 / rate_hz;
    let frames = (end_s / period_s).floor() as usize + 1;
    let mut late_before = false;
    (0..frames)
        .map(|cycle| {
            let mut latency = recipe.logger.jitter * rng.sample::<f64, _>(StandardNormal);
            let draw: f64 = rng.random();
            let delay = rng.random_range(0.3..0.8);
            late_before = cycle > 0 && !late_before && draw < recipe.logger.late_share;
            if uneven > 0.0 {
                latency = uneven * rng.random::<f64>();
            } else if late_before {
                latency += delay;
            }
            (cycle as f64 + latency.clamp(-0.4, LATEST)) * period_s
        })
        .collect()
}
