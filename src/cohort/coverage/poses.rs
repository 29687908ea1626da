//! Poses of the arm at one moment of each episode.

use crate::model::{JointId, LEADER_EVERY, LEADER_POSES, Ledger, Motion, POSES};

/// A jaw stands if it moves by no more than this share of its range to the next pose.
const STANDS: f32 = 0.1;

/// Which moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    Start,
    Grasp,
    End,
}

/// Joints that are known to be grippers, and in which episodes they held something.
#[derive(Debug, Default)]
pub(super) struct Grippers {
    pub joints: Vec<JointId>,
    held: Vec<Vec<bool>>,
}

impl Grippers {
    /// By the readings of the check that looks for grasps.
    pub fn of(ledger: &Ledger) -> Self {
        let mut grippers = Self::default();
        for (check, metric, joint, values) in ledger.columns() {
            let Some(joint) = joint.filter(|_| check.id == "grasp" && metric.id == "grasps") else {
                continue;
            };
            grippers.joints.push(joint);
            grippers.held.push(values.iter().map(|grasps| *grasps > 0.0).collect());
        }
        grippers
    }

    /// Pose at which any gripper first holds something in an episode.
    fn first_hold(&self, row: usize, motion: &Motion<'_>) -> Option<usize> {
        let holds = self.joints.iter().zip(&self.held);
        let held = holds.filter(|(_, held)| held.get(row) == Some(&true));
        held.filter_map(|(joint, _)| first_hold(motion, usize::from(*joint))).min()
    }
}

/// Poses of some episodes, one after the other.
#[derive(Debug)]
pub(super) struct Poses {
    pub episodes: usize,
    pub joints: usize,
    pub values: Vec<f64>,
}

impl Poses {
    /// Of the arm's joints. A joint that most episodes lack there has no part in them; an episode
    /// that lacks one of the others is left out.
    pub fn of(ledger: &Ledger, rows: &[usize], place: Place, grippers: &Grippers) -> Self {
        let at = |row: usize, motion: &Motion<'_>| match place {
            Place::Start => Some(0),
            Place::Grasp => grippers.first_hold(row, motion),
            Place::End => Some(POSES - 1),
        };
        let motions = rows.iter().filter_map(|row| Some((*row, ledger.motion(*row)?)));
        let there: Vec<(Motion<'_>, usize)> =
            motions.filter_map(|(row, motion)| Some((motion, at(row, &motion)?))).collect();
        let read = |joint: usize| {
            there.iter().filter(|(motion, at)| motion.follower(joint, *at).is_finite()).count()
        };
        let all = there.first().map_or(0, |(motion, _)| motion.joints);
        let arm = |joint: &usize| !grippers.joints.iter().any(|g| usize::from(*g) == *joint);
        let joints: Vec<usize> =
            (0..all).filter(arm).filter(|joint| 2 * read(*joint) > there.len()).collect();
        let mut poses = Self { episodes: 0, joints: joints.len(), values: Vec::new() };
        for (motion, at) in &there {
            let pose = joints.iter().map(|joint| f64::from(motion.follower(*joint, *at)));
            let before = poses.values.len();
            poses.values.extend(pose);
            if poses.values[before..].iter().all(|v| v.is_finite()) {
                poses.episodes += 1;
            } else {
                poses.values.truncate(before);
            }
        }
        poses
    }
}

/// First pose at which the jaw stands and its leader is beyond it by half its largest gap or more;
/// the least gap of all is the two jaws' own, as where nothing is held.
fn first_hold(motion: &Motion<'_>, joint: usize) -> Option<usize> {
    let follower = |at: usize| motion.follower(joint, at);
    let gap = |at: usize| motion.leader(joint, at) - follower(at * LEADER_EVERY);
    let finite = || (0..LEADER_POSES).map(gap).filter(|gap| gap.is_finite());
    let usual = finite().min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    let largest = finite().map(|gap| (gap - usual).abs()).max_by(f32::total_cmp)?;
    let moments = motion.moments[joint];
    let still = STANDS * (moments.max - moments.min);
    // At the last pose there is only the one before.
    let next = |at: usize| if at + 1 < POSES { at + 1 } else { at - 1 };
    let stands = |at: usize| (follower(next(at)) - follower(at)).abs() <= still;
    let holds = |at: &usize| (gap(*at) - usual).abs() >= largest / 2.0;
    let first = (0..LEADER_POSES).filter(holds).map(|at| at * LEADER_EVERY).find(|at| stands(*at));
    first.filter(|_| largest > 0.0)
}
