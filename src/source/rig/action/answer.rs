//! How the state of one episode answers its action: as to a position, or as to a rate.

use crate::num::explain::explain;
use crate::num::robust::median;
use crate::source::rig::action::take::{Pair, Take};

/// Largest lag of a follower, and of a leader whose columns are exchanged, looked for at first ...
const NEAR_S: (f64, f64) = (-0.2, 0.5);
/// ... and where that decides nothing.
const FAR_S: (f64, f64) = (-0.6, 1.2);
/// Distance of the lags.
const STEP_S: f64 = 0.01;
/// Rates are compared over windows of this length, of three frames at least: the change of the state
/// over one frame is mostly noise.
const WINDOW_S: f64 = 0.3;
/// Most of the variance that positions may leave; a few joints may be wired wrongly.
const POSITION_LEFT: f64 = 0.2;
/// Most that rates may leave. In a task that repeats, all dimensions go with its course: a velocity of
/// the hand then looks a little like that of a joint.
const RATE_LEFT: f64 = 0.1;
/// Share of the joints that must go the way of their rates: others are of another space.
const ALONG: f64 = 0.75;
/// By how much the second must be worse.
const WORSE: f64 = 4.0;

/// To what the state of one episode answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Means {
    /// Positions.
    Position,
    /// Rates.
    Rate,
}

/// What one episode says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Answer {
    /// To what the state answers, if that is clear.
    pub means: Option<Means>,
    /// Share of the action's variance that positions leave: median of the joints.
    pub position_left: f64,
    /// Share that rates leave.
    pub rate_left: f64,
    /// Sum of the actions to one unit of the state's change.
    pub gain: f64,
    /// Share of the joints that go the way of their rates.
    pub along: f64,
}

impl Answer {
    /// `None` where nothing moves.
    pub fn of(take: &Take<'_>, period_s: f64) -> Option<Self> {
        let near = Self::within(take, period_s, NEAR_S)?;
        if near.means.is_some() {
            return Some(near);
        }
        // A slow follower; its rates are looked for no farther than before, lest a slow swing of
        // positions, a quarter of its period later, look like a rate.
        let far = Self::within(take, period_s, FAR_S)?;
        let both = Self { position_left: far.position_left, ..near };
        Some(Self { means: both.decide(), ..both })
    }

    fn within(take: &Take<'_>, period_s: f64, lags_s: (f64, f64)) -> Option<Self> {
        let step = (STEP_S / period_s).max(0.5);
        let step = if step > 0.5 { step.round().max(1.0) } else { step };
        let lags = ((lags_s.0 / period_s / step).floor() * step, lags_s.1 / period_s);
        let window = ((WINDOW_S / period_s).round() as usize).max(3);
        let mut found = Vec::new();
        for pair in &take.pairs {
            let position = explain(&pair.action, &pair.state, lags, step);
            let rate =
                rates(pair, window).and_then(|(sum, change)| explain(&sum, &change, lags, step));
            found.extend(position.zip(rate));
        }
        if found.is_empty() {
            return None;
        }
        let middle =
            |of: &dyn Fn(usize) -> f64| median(&(0..found.len()).map(of).collect::<Vec<f64>>());
        let answer = Self {
            means: None,
            position_left: middle(&|n| found[n].0.left),
            rate_left: middle(&|n| found[n].1.left),
            gain: middle(&|n| found[n].1.slope.abs()),
            along: found.iter().filter(|(_, rate)| rate.slope > 0.0).count() as f64
                / found.len() as f64,
        };
        Some(Self { means: answer.decide(), ..answer })
    }

    fn decide(&self) -> Option<Means> {
        let (position, rate) = (self.position_left, self.rate_left);
        if position <= POSITION_LEFT && WORSE * position <= rate {
            Some(Means::Position)
        } else if rate <= RATE_LEFT && WORSE * rate <= position && self.along >= ALONG {
            Some(Means::Rate)
        } else {
            None
        }
    }
}

/// Sums of the action and changes of the state over windows of so many frames.
fn rates(pair: &Pair<'_>, window: usize) -> Option<(Vec<f32>, Vec<f32>)> {
    let later = pair.state.get(window..)?;
    let change = pair.state.iter().zip(later).map(|(now, then)| then - now).collect();
    let mut sum: f64 = pair.action[..window].iter().map(|v| f64::from(*v)).sum();
    let mut sums = Vec::with_capacity(later.len());
    for (old, new) in pair.action.iter().zip(&pair.action[window..]) {
        sums.push(sum as f32);
        sum += f64::from(*new) - f64::from(*old);
    }
    Some((sums, change))
}
