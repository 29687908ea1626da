//! Aspects that an episode has one number of: the rig's, and length and speed.

use super::aspect::{Aspect, Scale, min_std};
use super::row::{Draft, Sample, strata};
use super::side::{Pair, Side, Tasks};
use crate::num::robust::median;
use crate::num::shift::Shift;

/// Fewer episodes on a side have no usable standard deviation.
const FEWEST: usize = 3;

/// Aspects of each joint.
const OF_JOINTS: [Aspect; 5] =
    [Aspect::Offset, Aspect::Gain, Aspect::Lag, Aspect::Backlash, Aspect::Sag];

/// The rig: over all episodes of both sides.
pub(super) fn rig(a: &Side, b: &Side, pairs: &[Pair]) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for aspect in OF_JOINTS {
        let before = drafts.len();
        for (at, pair) in pairs.iter().enumerate().filter(|(_, pair)| !pair.gripper) {
            let sample = of(aspect, Some(pair), (a, &a.rows()), (b, &b.rows()));
            if !(sample.0.is_empty() && sample.1.is_empty()) {
                drafts.push(draft(aspect, Some((at, pair)), vec![sample], period_s(a, b)));
            }
        }
        if drafts.len() == before {
            drafts.push(draft(aspect, None, Vec::new(), period_s(a, b)));
        }
    }
    let rate = of(Aspect::Rate, None, (a, &a.rows()), (b, &b.rows()));
    drafts.push(draft(Aspect::Rate, None, vec![rate], period_s(a, b)));
    drafts
}

/// Length and speed, within each common task.
pub(super) fn behaviour(a: &Side, b: &Side, tasks: &Tasks) -> Vec<Draft> {
    let rows = || tasks.rows(a).into_iter().zip(tasks.rows(b));
    let of = |aspect| {
        let samples = rows().map(|(x, y)| of(aspect, None, (a, &x), (b, &y))).collect();
        draft(aspect, None, samples, period_s(a, b))
    };
    [Aspect::Length, Aspect::Speed].map(of).into()
}

/// The longer frame period.
pub(super) fn period_s(a: &Side, b: &Side) -> f64 {
    a.rig.period_s.max(b.rig.period_s)
}

fn of(
    aspect: Aspect,
    pair: Option<&Pair>,
    (a, rows_a): (&Side, &[usize]),
    (b, rows_b): (&Side, &[usize]),
) -> Sample {
    let Some(what) = aspect.source() else { return Sample::default() };
    (a.read(what, pair.map(|pair| pair.a), rows_a), b.read(what, pair.map(|pair| pair.b), rows_b))
}

/// Compares the values of both sides.
pub(super) fn draft(
    aspect: Aspect,
    joint: Option<(usize, &Pair)>,
    mut samples: Vec<Sample>,
    period_s: f64,
) -> Draft {
    let linear = joint.is_some_and(|(_, pair)| pair.linear);
    let mut draft = Draft::empty(aspect, joint.map(|(at, _)| at), aspect.limits(period_s, linear));
    if aspect.scale() == Scale::Ratio {
        for (x, y) in &mut samples {
            x.retain(|(_, v)| *v > 0.0);
            y.retain(|(_, v)| *v > 0.0);
        }
    }
    let count = |of: fn(&Sample) -> usize| samples.iter().map(of).sum::<usize>();
    draft.row.episodes = (count(|s| s.0.len()), count(|s| s.1.len()));
    let all = |of: fn(&Sample) -> &[(usize, f64)]| -> Vec<f64> {
        samples.iter().flat_map(|s| of(s).iter().map(|(_, v)| *v)).collect()
    };
    let (x, y) = (all(|s| &s.0), all(|s| &s.1));
    if !x.is_empty() && !y.is_empty() {
        draft.row.values = Some((median(&x), median(&y)));
    }
    if aspect.scale() == Scale::Ratio {
        for (x, y) in &mut samples {
            x.iter_mut().chain(y).for_each(|(_, v)| *v = v.ln());
        }
    }
    let (m, n) = draft.row.episodes;
    if m.min(n) < FEWEST {
        draft.samples = samples;
        return draft.noted(too_few(m, n));
    }
    match Shift::of(&strata(&samples), 0.95, min_std(draft.row.limits)) {
        Some(shift) => draft.put(&shift),
        None => draft = draft.noted("no task has two episodes on each side"),
    }
    draft.samples = samples;
    draft
}

/// Why too few episodes say nothing.
pub(super) fn too_few(m: usize, n: usize) -> String {
    match (m, n) {
        (0, 0) => "could not be measured on either side".to_owned(),
        (0, _) => "could not be measured on A".to_owned(),
        (_, 0) => "could not be measured on B".to_owned(),
        _ => format!("measured on {m} and {n} episodes, needs {FEWEST} of each"),
    }
}
