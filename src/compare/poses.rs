//! Poses of both sides' episodes, to be compared: of the leader where both have one, so that
//! a follower that is off does not look like another way of doing the task.

use super::side::{Pair, Side, Tasks, thin};
use crate::compare::aspect::METRES_A_RADIAN;
use crate::model::LEADER_EVERY;

/// One episode of either side.
#[derive(Debug, Clone)]
pub(super) struct Track {
    /// Whether it is of B.
    pub second: bool,
    /// Index of its task among the common ones.
    pub task: usize,
    /// Poses one after the other, radians (linear joints scaled), without those that miss a value.
    pub poses: Vec<f32>,
    /// What it is sorted by, so that neither side comes first.
    key: (u64, u64),
}

/// The arm's joints of both sides, at these poses of [`LEADER_POSES`](crate::model::LEADER_POSES),
/// of at most `most` episodes a side.
pub(super) fn tracks(
    (a, b): (&Side, &Side),
    pairs: &[Pair],
    tasks: &Tasks,
    at: &[usize],
    most: usize,
) -> Vec<Track> {
    let leader = a.leader && b.leader;
    let mut tracks = Vec::new();
    for (side, second) in [(a, false), (b, true)] {
        let rows = tasks.rows(side);
        let rows =
            rows.iter().enumerate().flat_map(|(task, rows)| rows.iter().map(move |r| (task, *r)));
        for (task, row) in thin(&rows.collect::<Vec<_>>(), most) {
            let Some(motion) = side.ledger.motion(row) else { continue };
            let mut poses = Vec::with_capacity(at.len() * pairs.len());
            for &place in at {
                let before = poses.len();
                poses.extend(pairs.iter().map(|pair| {
                    let joint = if second { pair.b } else { pair.a };
                    let scale = if pair.linear { 1.0 / METRES_A_RADIAN } else { 1.0 };
                    let value = if leader {
                        motion.leader(joint, place)
                    } else {
                        motion.follower(joint, place * LEADER_EVERY)
                    };
                    value * scale as f32
                }));
                if poses[before..].iter().any(|v| !v.is_finite()) {
                    poses.truncate(before);
                }
            }
            if !poses.is_empty() {
                let key = (side.ledger.duration_s()[row].to_bits(), motion.content);
                tracks.push(Track { second, task, poses, key });
            }
        }
    }
    tracks.sort_by_key(|track| (track.task, track.key));
    tracks
}

/// The pairs that are of the arm.
pub(super) fn arm(pairs: &[Pair]) -> Vec<Pair> {
    pairs.iter().filter(|pair| !pair.gripper).cloned().collect()
}

/// Episodes of A and of B.
pub(super) fn counts(tracks: &[Track]) -> (usize, usize) {
    let second = tracks.iter().filter(|track| track.second).count();
    (tracks.len() - second, second)
}

/// Squared distance of two poses.
pub(super) fn squared(x: &[f32], y: &[f32]) -> f32 {
    x.iter().zip(y).map(|(x, y)| (x - y) * (x - y)).sum()
}
