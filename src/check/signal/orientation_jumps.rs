//! Do the stored numbers of an orientation jump where the orientation does not?
//!
//! A quaternion and its negative are one rotation, a rotation vector wraps at half a turn, and an
//! Euler angle at a full one. The arm does not move there, but a network sees a jump: two neighbouring
//! frames have far-apart inputs or targets, and the mean of both is no rotation at all.
//!
//! How: frames at which the stored numbers change sides (a quaternion's sign, a step above pi of a
//! rotation vector or an Euler angle) while the rotation turns by less than 40 degrees. They are
//! counted before the orientation is brought to coordinates without jumps, which all other checks
//! look at. The session reports it where more than half of its episodes have such a frame.
//!
//! Traps: one that turns by more than that in one frame is not counted: nobody knows what it is. The
//! jumps are no fault of the rig, and no other check sees them.

use crate::check::{Check, Params, Study};
use crate::model::{
    Bound, CheckSpec, Family, FrameSpan, JointId, Limit, Metric, Pool, Rig, Sheet, SignalKind,
    SpanList, Unit,
};

/// Frames at which the stored numbers jump.
pub static JUMPS: Metric = Metric::of_joint(
    "jumps",
    Unit::Count,
    "frames at which the stored numbers jump and the orientation does not",
)
.pooled(Pool::Session(Bound::Above(Limit::new(Some(0.5), None))))
.recovery(
    "change the sign of each quaternion to that of the row before it, or store six numbers: exact",
);

static SPEC: CheckSpec = CheckSpec {
    id: "orientation-jumps",
    family: Family::Signal,
    applies_to: SignalKind::ORIENTATION,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("orientation_jumps.rs"),
    cause: "the orientation is stored in numbers that jump: a network sees far-apart values",
    remedy: "store quaternions with a continuous sign, or the first two columns of the matrix (6D)",
    reference: "Zhou and others 2019, On the continuity of rotation representations in neural \
                networks, arXiv 1812.07035; limits: engineering judgement",
    metrics: &[&JUMPS],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure).of_storage().without(|rig: &Rig| {
    let turns = rig.joints.iter().any(|joint| joint.kind() == SignalKind::Orientation);
    (!turns).then_some("no orientation")
});

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let tracks = &study.episode.extras.rotations;
    for joint in 0..study.joints().len() {
        let mut own: Vec<u32> = tracks
            .iter()
            .filter(|track| track.joint == joint)
            .flat_map(|track| track.jumps.iter().copied())
            .collect();
        if tracks.iter().all(|track| track.joint != joint) {
            continue;
        }
        own.sort_unstable();
        own.dedup();
        let span = |frame: &u32| FrameSpan::new(*frame as usize, *frame as usize + 1);
        let spans = SpanList::longest(own.iter().map(span));
        sheet.put_spans(&JUMPS, Some(joint as JointId), own.len() as f64, spans);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured};
    use crate::model::RotationTrack;

    fn measured(jumps: &[u32]) -> Measured {
        let turns = |rig: &mut Rig| rig.joints[1].kind = SignalKind::Orientation;
        let mut episode = Bench::at(30.0).rig(turns).episode();
        let track = |leader| RotationTrack { joint: 1, leader, jumps: jumps.to_vec() };
        episode.extras.rotations = vec![track(false), track(true)];
        Measured::of(&CHECK, &episode)
    }

    #[test]
    fn each_frame_counts_once_for_both_sides() {
        let found = measured(&[7, 30]);
        assert_eq!(found.joint("jumps", 1), 2.0);
        assert_eq!(found.joint_spans("jumps", 1), [(7, 8), (30, 31)]);
        assert_eq!(measured(&[]).joint("jumps", 1), 0.0);
    }

    #[test]
    fn an_arm_without_orientation_is_left_out() {
        assert_eq!(CHECK.left_out(&Bench::at(30.0).episode().rig), Some("no orientation"));
    }
}
