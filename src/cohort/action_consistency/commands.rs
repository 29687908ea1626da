//! What is commanded in the episodes of one task, and in which state.

use crate::model::{LEADER_EVERY, Ledger, Motion, POSES};

/// What is commanded in the episodes of one task.
pub(super) struct Commands<'a> {
    pub rows: Vec<usize>,
    motions: Vec<(Motion<'a>, f64)>,
    pub joints: Vec<usize>,
}

impl<'a> Commands<'a> {
    /// Of the episodes with a leader. A joint that most of them never read has no part in it.
    pub fn of(ledger: &'a Ledger, rows: &[usize]) -> Self {
        let led = |row: &usize| ledger.motion(*row).filter(Motion::has_leader);
        let rows: Vec<usize> = rows.iter().copied().filter(|row| led(row).is_some()).collect();
        let duration = |row: &usize| ledger.duration_s().get(*row).copied().unwrap_or(0.0);
        let motions: Vec<_> =
            rows.iter().filter_map(|row| Some((led(row)?, duration(row)))).collect();
        let all = motions.first().map_or(0, |(motion, _)| motion.joints);
        let read = |joint: usize| {
            let both = |motion: &Motion<'_>| {
                let at = |at: usize| motion.moments[at].mean.is_finite();
                at(joint) && at(motion.joints + joint)
            };
            motions.iter().filter(|(motion, _)| both(motion)).count()
        };
        let joints = (0..all).filter(|joint| 2 * read(*joint) > motions.len()).collect();
        Self { rows, motions, joints }
    }

    /// Positions, speeds and commands of all joints at one moment; `None` if any is missing.
    pub fn at(&self, episode: usize, moment: usize, into: &mut Vec<f32>) -> Option<()> {
        let (motion, duration_s) = &self.motions[episode];
        let pose = moment * LEADER_EVERY;
        let (before, after) = (pose.saturating_sub(1), (pose + 1).min(POSES - 1));
        let span_s = duration_s * (after - before) as f64 / (POSES - 1) as f64;
        into.clear();
        into.extend(self.joints.iter().map(|joint| motion.follower(*joint, pose)));
        into.extend(self.joints.iter().map(|joint| {
            let way = motion.follower(*joint, after) - motion.follower(*joint, before);
            way / span_s as f32
        }));
        into.extend(
            self.joints
                .iter()
                .map(|joint| motion.leader(*joint, moment) - motion.follower(*joint, pose)),
        );
        into.iter().all(|value| value.is_finite()).then_some(())
    }
}
