//! Every kind of signal with every check: measured, or not assessed with its reason. None is
//! silently taken for a revolute joint.

use super::{all, of_episodes};
use crate::check::testing::{Bench, Measured};
use crate::check::{Check, Gate};
use crate::model::{Episode, Joint, RotationTrack, SignalKind};

/// What a gate says of a kind that a check does not apply to.
const REFUSED: &str = "which this check does not measure";

/// Two joints of these kinds, six seconds at 50 Hz.
fn episode(kinds: [SignalKind; 2]) -> Episode {
    let bench = Bench::at(50.0).seconds(6.0).declared(50.0).rig(move |rig| {
        let described = |(joint, kind): (&mut Joint, SignalKind)| {
            joint.kind = kind;
            joint.gripper = kind.grips();
            joint.linear = matches!(kind, SignalKind::Prismatic | SignalKind::Position);
            (joint.lower, joint.upper, joint.max_speed) = (Some(-2.0), Some(2.0), Some(5.0));
        };
        rig.joints.iter_mut().zip(kinds).for_each(described);
    });
    let mut episode = bench.episode();
    let turns = kinds.iter().enumerate().filter(|(_, kind)| **kind == SignalKind::Orientation);
    let track = |(joint, _)| RotationTrack { joint, leader: false, jumps: Vec::new() };
    episode.extras.rotations = turns.map(track).collect();
    episode
}

fn looks(check: &Check, episode: &Episode) -> bool {
    check.left_out(&episode.rig).is_none()
}

#[test]
fn a_rig_of_one_kind_is_measured_or_said_not_to_be() {
    for kind in SignalKind::ALL {
        let episode = episode([*kind; 2]);
        for check in of_episodes().filter(|check| looks(check, &episode)) {
            let Measured { readings, not_assessed } = Measured::of(check, &episode);
            let refused = not_assessed.iter().filter(|hole| hole.reason.contains(REFUSED)).count();
            let what = format!("{} on {}", check.spec.id, kind.word());
            if check.spec.applies_to.contains(kind) {
                assert_eq!(refused, 0, "{what}");
            } else {
                assert_eq!((readings.len(), refused, not_assessed.len()), (0, 1, 1), "{what}");
                assert!(not_assessed[0].joint.is_none(), "{what}");
            }
        }
    }
}

#[test]
fn next_to_a_revolute_joint_a_kind_gets_its_own_measurement_or_its_own_line() {
    for kind in SignalKind::ALL {
        let episode = episode([SignalKind::Revolute, *kind]);
        for check in of_episodes().filter(|check| looks(check, &episode)) {
            if !check.spec.applies_to.contains(&SignalKind::Revolute) {
                continue;
            }
            let Measured { readings, not_assessed } = Measured::of(check, &episode);
            let what = format!("{} on {}", check.spec.id, kind.word());
            let refused: Vec<_> =
                not_assessed.iter().filter(|hole| hole.reason.contains(REFUSED)).collect();
            if check.spec.applies_to.contains(kind) {
                assert!(refused.is_empty(), "{what}");
            } else {
                let joints: Vec<_> = refused.iter().map(|hole| hole.joint).collect();
                assert_eq!(joints, [Some(1)], "{what}");
                assert!(readings.iter().all(|read| read.joint != Some(1)), "{what}");
            }
        }
    }
}

#[test]
fn checks_of_sessions_are_gated_as_well() {
    for kind in SignalKind::ALL {
        let rig = episode([*kind; 2]).rig;
        for check in all() {
            let gate = Gate::of(check.spec, &rig);
            assert_eq!(gate.shut(), !check.spec.applies_to.contains(kind), "{}", check.spec.id);
            assert_eq!(gate.left_out.len(), usize::from(gate.shut()), "{}", check.spec.id);
        }
    }
}

#[test]
fn every_check_applies_to_something_and_all_that_move_to_joints() {
    for check in all() {
        let kinds = check.spec.applies_to;
        assert!(!kinds.is_empty(), "{}", check.spec.id);
        let own = kinds == SignalKind::ORIENTATION;
        assert!(own || kinds.contains(&SignalKind::Revolute), "{}", check.spec.id);
    }
}
