//! The state and the action of one episode, joint by joint, without gaps.

use std::borrow::Cow;

/// Frames looked at; more do not make a relation any plainer.
const FRAMES: usize = 4_000;
/// Of the joint that moves most, a joint that moves less than this share is not looked at.
const LIVELY: f64 = 0.03;

/// State and action of a joint.
#[derive(Debug)]
pub(in crate::source) struct Pair<'a> {
    pub state: Cow<'a, [f32]>,
    pub action: Cow<'a, [f32]>,
}

/// The joints of one episode that move on both sides.
#[derive(Debug)]
pub(in crate::source) struct Take<'a> {
    pub pairs: Vec<Pair<'a>>,
}

impl<'a> Take<'a> {
    /// Takes the joints that move. Each comes with what a unit of its motion counts for.
    pub fn of(joints: impl Iterator<Item = (&'a [f32], &'a [f32], f64)>) -> Self {
        let mut all: Vec<(Pair<'a>, f64)> = Vec::new();
        for (state, action, weight) in joints {
            let pair = Pair { state: whole(state), action: whole(action) };
            let moves = deviation(&pair.state) * weight;
            let told = deviation(&pair.action) > 0.0;
            if moves > 0.0 && told {
                all.push((pair, moves));
            }
        }
        let most = all.iter().map(|(_, moves)| *moves).fold(0.0, f64::max);
        let pairs = all.into_iter().filter(|(_, moves)| *moves >= LIVELY * most);
        Self { pairs: pairs.map(|(pair, _)| pair).collect() }
    }

    /// Frames of each signal.
    pub fn frames(&self) -> usize {
        self.pairs.first().map_or(0, |pair| pair.action.len())
    }
}

/// The first frames; what is missing among them takes the value before, or the first that is there.
fn whole(values: &[f32]) -> Cow<'_, [f32]> {
    let values = &values[..values.len().min(FRAMES)];
    if values.iter().all(|v| v.is_finite()) {
        return values.into();
    }
    let mut last = values.iter().copied().find(|v| v.is_finite()).unwrap_or(0.0);
    let held = values.iter().map(|v| {
        last = if v.is_finite() { *v } else { last };
        last
    });
    held.collect::<Vec<f32>>().into()
}

fn deviation(values: &[f32]) -> f64 {
    let n = values.len().max(1) as f64;
    let zero = values.first().copied().unwrap_or(0.0);
    let off = || values.iter().map(|v| f64::from(v - zero));
    let mean = off().sum::<f64>() / n;
    (off().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n).sqrt()
}
