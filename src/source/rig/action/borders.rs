//! Rows where the actions jump to another path, as they do where the next chunk of a policy begins.

use crate::source::rig::action::take::Take;

/// Rows to either side that a step is compared with.
const SIDE: usize = 4;
/// A jump is this much larger than any other departure around it.
const LARGER: f64 = 4.0;
/// In usual steps, it is at least this large.
const SMALLEST: f64 = 0.25;
/// More than half of the joints jump by more than so many steps of their grid.
const GRID: f64 = 3.0;
/// Fewer jumps in an episode, or in this many seconds, are no chunks.
const FEWEST: usize = 3;
const APART_S: f64 = 6.0;

/// Whether the actions of an episode jump as often as from chunk to chunk.
pub(super) fn jumps(take: &Take<'_>, most: usize, period_s: f64) -> bool {
    let frames = take.frames().min(most);
    let count = rows(take, frames).len();
    count >= FEWEST && count as f64 * APART_S >= frames as f64 * period_s
}

/// The rows of the jumps: one step out of line, sideways to the motion, since a frame that is lost or
/// held departs along it.
fn rows(take: &Take<'_>, frames: usize) -> Vec<usize> {
    let pairs = &take.pairs;
    let step = |joint: usize, t: usize| {
        let values = &pairs[joint].action;
        f64::from(values[t + 1]) - f64::from(values[t])
    };
    let usual: Vec<f64> = (0..pairs.len())
        .map(|joint| {
            let steps = (0..frames.saturating_sub(1)).map(|t| step(joint, t).abs());
            steps.sum::<f64>() / frames.max(1) as f64
        })
        .collect();
    if pairs.len() < 2 || usual.iter().any(|size| *size <= 0.0) {
        return Vec::new();
    }
    // On a sensor's grid a slow motion goes by single steps, each of which stands out.
    let grid: Vec<f64> = (0..pairs.len())
        .map(|joint| {
            let steps = (0..frames - 1).map(|t| step(joint, t).abs()).filter(|size| *size > 0.0);
            steps.fold(f64::INFINITY, f64::min) / usual[joint]
        })
        .collect();
    let mut found = Vec::new();
    let mut middle = vec![0.0; pairs.len()];
    for t in SIDE..frames.saturating_sub(SIDE + 1) {
        for (joint, middle) in middle.iter_mut().enumerate() {
            let mut around = [0.0; 2 * SIDE];
            for (n, value) in around.iter_mut().enumerate() {
                *value = step(joint, t - SIDE + n + usize::from(n >= SIDE)) / usual[joint];
            }
            around.sort_by(f64::total_cmp);
            *middle = f64::midpoint(around[SIDE - 1], around[SIDE]);
        }
        let square: f64 = middle.iter().map(|m| m * m).sum();
        let aside = |u: usize| {
            let off = |joint: usize| step(joint, u) / usual[joint] - middle[joint];
            let along: f64 = (0..pairs.len()).map(|joint| off(joint) * middle[joint]).sum();
            let share = if square > 0.0 { along / square } else { 0.0 };
            let side = |joint: usize| (off(joint) - share * middle[joint]).powi(2);
            (0..pairs.len()).map(side).sum::<f64>().sqrt()
        };
        let own = aside(t);
        let others = (t - SIDE..=t + SIDE).filter(|u| *u != t).map(aside).fold(0.0, f64::max);
        let far = |joint: &usize| {
            (step(*joint, t) / usual[*joint] - middle[*joint]).abs() > GRID * grid[*joint]
        };
        // Of a rest everything stands out: it must be a step of some size, too.
        let many = 2 * (0..pairs.len()).filter(far).count() > pairs.len();
        if own > LARGER * others && own > SMALLEST && many {
            found.push(t);
        }
    }
    found
}
