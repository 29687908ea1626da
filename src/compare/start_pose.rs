//! Where episodes begin: the energy distance of both sides' first poses, with episodes permuted.

use super::aspect::{Aspect, min_std};
use super::poses::{arm, counts, squared, tracks};
use super::row::Draft;
use super::scalar::too_few;
use super::side::{Pair, Side, Tasks};
use crate::num::permutation::{energy_statistic, permutation_p};
use crate::num::shift::{Shift, Stratum};

/// Episodes of a side looked at.
const MOST: usize = 60;

/// Compares the start poses.
pub(super) fn start_pose(a: &Side, b: &Side, pairs: &[Pair], tasks: &Tasks) -> Draft {
    let limits = Aspect::StartPose.limits(0.0, false);
    let mut draft = Draft::empty(Aspect::StartPose, None, limits);
    let arm = arm(pairs);
    let tracks = tracks((a, b), &arm, tasks, &[0], MOST);
    draft.row.episodes = counts(&tracks);
    let (m, n) = draft.row.episodes;
    if m.min(n) < 3 {
        return draft.noted(too_few(m, n));
    }
    let mut distances = Vec::with_capacity(tracks.len() * tracks.len());
    for one in &tracks {
        distances.extend(tracks.iter().map(|o| f64::from(squared(&one.poses, &o.poses).sqrt())));
    }
    let labels: Vec<bool> = tracks.iter().map(|track| track.second).collect();
    let strata: Vec<usize> = tracks.iter().map(|track| track.task).collect();
    let mut statistic = |labels: &[bool]| energy_statistic(&distances, &strata, labels);
    draft.row.p_value = Some(permutation_p(&labels, &strata, 2, &mut statistic));
    // All joints are compared with the limit at once, so each interval is wider.
    let confidence = 1.0 - 0.05 / arm.len() as f64;
    let mut within = true;
    let mut most: Option<(Shift, usize)> = None;
    for joint in 0..arm.len() {
        let mut samples = vec![Stratum::default(); tasks.common.len()];
        for track in &tracks {
            let into = &mut samples[track.task];
            let side = if track.second { &mut into.y } else { &mut into.x };
            side.push(f64::from(track.poses[joint]));
        }
        samples.retain(|s| !s.x.is_empty() && !s.y.is_empty());
        let Some(shift) = Shift::of(&samples, confidence, min_std(limits)) else {
            within = false;
            continue;
        };
        within &= shift.interval.0 >= -limits.warn && shift.interval.1 <= limits.warn;
        if most.is_none_or(|(known, _)| shift.estimate.abs() > known.estimate.abs()) {
            most = Some((shift, joint));
        }
    }
    if let Some((shift, joint)) = most {
        let p_value = draft.row.p_value;
        draft.put(&shift);
        draft.row.p_value = p_value;
        draft = draft.noted(format!("most in {}", arm[joint].name));
    }
    draft.within = within;
    draft
}
