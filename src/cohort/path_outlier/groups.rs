//! Into how many groups do paths fall?

use super::super::paths::{Neighbours, Paths, some_of};
use crate::model::{CheckSpec, Metric, Reading, SessionReading, SpanList};
use crate::num::quantile::median_in_place;

/// Most paths looked at: every one of them is held against every other.
const MOST: usize = 300;
/// A step from path to path this many times the usual one parts two groups.
const GAP: f64 = 3.0;
/// A smaller share of the paths is no group, nor is a single one.
const SHARE: f64 = 0.1;

/// Sizes of the groups, largest first, in paths looked at; one group where nothing parts them.
///
/// The shortest tree that connects all paths is cut where a step is far longer than is usual.
pub(super) fn sizes(paths: &Paths<'_>, smallest: f64) -> Vec<usize> {
    let some = paths.neighbours(some_of(paths.len(), MOST));
    let count = some.places.len();
    let mut tree = tree(&some, count);
    let mut lengths: Vec<f64> = tree.iter().map(|step| f64::from(step.0)).collect();
    let gap = GAP * median_in_place(&mut lengths).max(smallest);
    tree.retain(|step| f64::from(step.0) <= gap);
    let mut group: Vec<usize> = (0..count).collect();
    for (_, a, b) in tree {
        let (from, to) = (group[a].max(group[b]), group[a].min(group[b]));
        group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
    }
    let fewest = ((SHARE * count as f64).ceil() as usize).max(2);
    let mut sizes: Vec<usize> =
        (0..count).map(|g| group.iter().filter(|of| **of == g).count()).collect();
    sizes.retain(|size| *size >= fewest);
    sizes.sort_unstable_by(|a, b| b.cmp(a));
    sizes
}

/// The number of groups of so many paths, with their sizes.
pub(super) fn reading(
    check: &'static CheckSpec,
    metric: &'static Metric,
    sizes: &[usize],
    of: usize,
) -> SessionReading {
    let looked = if of > MOST { format!(" of {MOST} looked at") } else { String::new() };
    let listed = sizes.iter().map(usize::to_string).collect::<Vec<_>>().join(" and ");
    let groups = sizes.len();
    let text = || format!("demonstrations fall into {groups} groups, of {listed} episodes{looked}");
    let note = (groups > 1).then(|| text().into());
    let (value, spans) = (sizes.len() as f64, SpanList::default());
    let reading = Reading { check, metric, joint: None, value, spans, note };
    SessionReading { reading, from: None, episodes: of as u64, of: of as u64 }
}

/// Shortest tree through all, as steps with their lengths (Prim 1957).
fn tree(paths: &Neighbours, count: usize) -> Vec<(f32, usize, usize)> {
    let mut steps = Vec::with_capacity(count);
    let mut nearest: Vec<(f32, usize)> = vec![(f32::INFINITY, 0); count];
    let mut outside: Vec<usize> = (1..count).collect();
    let mut last = 0;
    while !outside.is_empty() {
        for &at in &outside {
            let distance = paths.distance(at, last);
            if distance < nearest[at].0 {
                nearest[at] = (distance, last);
            }
        }
        let near = |a: &&usize, b: &&usize| nearest[**a].0.total_cmp(&nearest[**b].0);
        let Some(&next) = outside.iter().min_by(near) else { break };
        outside.retain(|at| *at != next);
        steps.push((nearest[next].0, next, nearest[next].1));
        last = next;
    }
    steps
}
