//! Rows where the actions jump to another path, as they do where the next chunk of a policy begins.

use crate::source::rig::action::take::Take;

/// Rows to either side that a step is compared with.
const SIDE: usize = 5;
/// In the rows next to a jump no more than this share of it shows.
pub(super) const BESIDE: f64 = 0.75;
/// A jump is this much larger than any other departure around it.
const LARGER: f64 = 4.0;
/// In usual steps, it is at least this large.
const SMALLEST: f64 = 0.25;
/// More than half of the joints jump by more than so many steps of their grid.
const GRID: f64 = 3.0;
/// Fewer jumps in an episode, or in this many seconds, are no chunks.
const FEWEST: usize = 3;
const APART_S: f64 = 6.0;

/// Whether the actions of an episode jump as often as from chunk to chunk, and the state does not: a
/// turn that wraps jumps in both.
pub(super) fn jumps(take: &Take<'_>, most: usize, period_s: f64) -> bool {
    let frames = take.frames().min(most);
    let often = |signals: &[&[f32]]| {
        let count = rows(signals, frames).len();
        count >= FEWEST && count as f64 * APART_S >= frames as f64 * period_s
    };
    let actions: Vec<&[f32]> = take.pairs.iter().map(|pair| pair.action.as_ref()).collect();
    let states: Vec<&[f32]> = take.pairs.iter().map(|pair| pair.state.as_ref()).collect();
    often(&actions) && !often(&states)
}

/// A step is motion from this share of the largest one on.
const MOTION: f64 = 0.02;

/// Mean of the steps that are motion: an arm that waits for half of an episode is no slower for it.
fn moving(steps: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = steps.clone().fold(0.0, f64::max);
    let (sum, many) = steps
        .filter(|size| *size > MOTION * most)
        .fold((0.0, 0usize), |(sum, many), size| (sum + size, many + 1));
    sum / many.max(1) as f64
}

/// The rows of the jumps: one step out of line, sideways to the motion, since a frame that is lost or
/// held departs along it.
fn rows(signals: &[&[f32]], frames: usize) -> Vec<usize> {
    let step = |joint: usize, t: usize| {
        let values = signals[joint];
        f64::from(values[t + 1]) - f64::from(values[t])
    };
    let usual: Vec<f64> = (0..signals.len())
        .map(|joint| moving((0..frames.saturating_sub(1)).map(|t| step(joint, t).abs())))
        .collect();
    if signals.len() < 2 || usual.iter().any(|size| *size <= 0.0) {
        return Vec::new();
    }
    // On a sensor's grid a slow motion goes by single steps, each of which stands out.
    let grid: Vec<f64> = (0..signals.len())
        .map(|joint| {
            let steps = (0..frames - 1).map(|t| step(joint, t).abs()).filter(|size| *size > 0.0);
            steps.fold(f64::INFINITY, f64::min) / usual[joint]
        })
        .collect();
    // What a row's step departs by from the mean of its neighbours, sideways to them.
    let aside = |t: usize| -> (f64, bool) {
        let (mut square, mut along, mut all, mut many) = (0.0, 0.0, 0.0, 0);
        for joint in 0..signals.len() {
            let near = f64::midpoint(step(joint, t - 1), step(joint, t + 1)) / usual[joint];
            let off = step(joint, t) / usual[joint] - near;
            square += near * near;
            along += off * near;
            all += off * off;
            many += usize::from(off.abs() > GRID * grid[joint]);
        }
        let side = if square > 0.0 { all - along * along / square } else { all };
        (side.max(0.0).sqrt(), 2 * many > signals.len())
    };
    let asides: Vec<(f64, bool)> = (1..frames.saturating_sub(2)).map(aside).collect();
    let mut found = Vec::new();
    for t in SIDE..asides.len().saturating_sub(SIDE) {
        let (own, many) = asides[t];
        // Half of a jump shows in the rows next to it; a corner of the speed shows in two alike.
        let beside = asides[t - 1].0.max(asides[t + 1].0);
        let around = (2..=SIDE).flat_map(|by| [asides[t - by].0, asides[t + by].0]);
        let others = around.fold(0.0, f64::max);
        if many && own > SMALLEST && beside < BESIDE * own && own > LARGER * others {
            found.push(t + 1);
        }
    }
    found
}
