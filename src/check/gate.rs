//! What a check is given of an episode: the dimensions of a kind that it applies to, and no others.
//!
//! On a plain arm every check is given the whole episode, and nothing is copied. Where a dimension
//! is of a kind that a check does not apply to, the check is given the episode without it, and one
//! line for each kind says so. Checks that leave out the same dimensions share one study.

use std::sync::Arc;

use super::definition::Check;
use super::params::Params;
use super::study::{Settings, Study};
use crate::model::{
    Channels, CheckSpec, Episode, Extras, Family, Joint, Relation, Rig, RotationTrack, Sheet,
    SignalKind,
};

/// Names shown before a list is cut.
const SHOWN: usize = 8;

/// Which dimensions of a rig a check is given, and what it is not given.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Gate {
    /// Places in the rig; none where it is given all.
    pub joints: Option<Vec<usize>>,
    /// For each kind that is left out: its first dimension and the reason in words.
    pub left_out: Vec<(usize, String)>,
}

impl Gate {
    /// The gate of a check on a rig.
    pub fn of(spec: &CheckSpec, rig: &Rig) -> Self {
        let applies = |joint: &Joint| spec.applies_to.contains(&joint.kind());
        let paired = |joint: &Joint| spec.needs == Relation::Nothing || joint.unpaired.is_none();
        // In one episode a parked joint is watched as the others are; of a session nothing is asked.
        let parked = |joint: &Joint| joint.parked && spec.family == Family::Session;
        let given = |joint: &Joint| applies(joint) && paired(joint) && !parked(joint);
        if rig.joints.iter().all(given) {
            return Self::default();
        }
        let those = |which: &dyn Fn(&Joint) -> bool| -> Vec<usize> {
            (0..rig.joints.len()).filter(|at| which(&rig.joints[*at])).collect()
        };
        let mut left_out: Vec<(usize, String)> = Vec::new();
        for kind in SignalKind::ALL.iter().filter(|kind| !spec.applies_to.contains(kind)) {
            let of_kind = those(&|joint| joint.kind() == *kind);
            if let Some(first) = of_kind.first() {
                left_out.push((*first, reason(*kind, &of_kind, rig)));
            }
        }
        let still = those(&|joint| applies(joint) && parked(joint));
        if let Some(first) = still.first() {
            left_out.push((*first, format!("{}: parked, as declared", names(&still, rig))));
        }
        let alone = those(&|joint| applies(joint) && !paired(joint) && !parked(joint));
        if let Some(first) = alone.first() {
            let why = rig.joints[*first].unpaired.clone().unwrap_or_default();
            let names = names(&alone, rig);
            left_out.push((*first, format!("{names}: no action to compare with ({why})")));
        }
        left_out.sort_by_key(|(first, _)| *first);
        Self { joints: Some(those(&given)), left_out }
    }

    /// Whether the check is given nothing at all.
    pub fn shut(&self) -> bool {
        self.joints.as_ref().is_some_and(Vec::is_empty)
    }
}

/// Why a check measures nothing of these dimensions.
fn reason(kind: SignalKind, joints: &[usize], rig: &Rig) -> String {
    let is = if joints.len() == 1 { "is" } else { "are each" };
    let names = names(joints, rig);
    format!("{names} {is} {}, which this check does not measure", kind.phrase())
}

fn names(joints: &[usize], rig: &Rig) -> String {
    let mut names: Vec<&str> =
        joints.iter().take(SHOWN).map(|at| rig.joints[*at].name.as_str()).collect();
    if joints.len() > SHOWN {
        names.push("...");
    }
    names.join(", ")
}

/// The parts of an episode that some checks are given instead of the whole.
#[derive(Debug, Default)]
pub struct Parts(Vec<(Vec<usize>, Episode)>);

impl Parts {
    /// The parts that these checks need, each once.
    pub fn of(episode: &Episode, checks: &[&'static Check]) -> Self {
        let mut parts: Vec<(Vec<usize>, Episode)> = Vec::new();
        for check in checks {
            let Some(joints) = Gate::of(check.spec, &episode.rig).joints else { continue };
            if !joints.is_empty() && parts.iter().all(|(known, _)| *known != joints) {
                let part = part(episode, &joints);
                parts.push((joints, part));
            }
        }
        Self(parts)
    }

    /// The studies of the whole episode and of its parts.
    pub fn studies<'a>(&'a self, episode: &'a Episode, settings: Settings) -> Studies<'a> {
        let of_part =
            |(joints, part): &'a (Vec<usize>, Episode)| (&joints[..], Study::new(part, settings));
        let parts = self.0.iter().map(of_part).collect();
        Studies { whole: Study::new(episode, settings), parts }
    }
}

/// The studies of an episode and of its parts.
#[derive(Debug)]
pub struct Studies<'a> {
    whole: Study<'a>,
    parts: Vec<(&'a [usize], Study<'a>)>,
}

impl Studies<'_> {
    /// Lets a check measure what it applies to, and notes what it does not.
    pub fn measure(&self, check: &Check, params: &Params, sheet: &mut Sheet) {
        let gate = Gate::of(check.spec, &self.whole.episode.rig);
        let Some(joints) = &gate.joints else { return check.measure(&self.whole, params, sheet) };
        if gate.shut() {
            let reasons: Vec<String> = gate.left_out.into_iter().map(|(_, why)| why).collect();
            return sheet.not_assessed(reasons.join("; "));
        }
        if let Some((joints, study)) = self.parts.iter().find(|(known, _)| known == joints) {
            let mut part = Sheet::new(check.spec);
            check.measure(study, params, &mut part);
            sheet.adopt(part, joints);
        }
        for (joint, why) in gate.left_out {
            sheet.not_assessed_joint(joint, why);
        }
    }
}

/// The rig without the other dimensions.
pub fn rig_of(rig: &Rig, joints: &[usize]) -> Rig {
    let kept = joints.iter().filter_map(|joint| rig.joints.get(*joint)).cloned().collect();
    Rig { joints: kept, ..rig.clone() }
}

/// The episode without the other dimensions.
fn part(episode: &Episode, joints: &[usize]) -> Episode {
    let all = episode.rig.joints.len();
    let channels = |whole: &Channels| {
        // A voltage of the whole arm is of every part of it.
        if whole.joints() < all { whole.clone() } else { some_of(whole, joints) }
    };
    let optional = |whole: &Option<Channels>| whole.as_ref().map(channels);
    let extras = &episode.extras;
    let rotations = extras.rotations.iter().filter_map(|track| {
        let joint = joints.iter().position(|joint| *joint == track.joint)?;
        Some(RotationTrack { joint, ..track.clone() })
    });
    Episode {
        key: episode.key.clone(),
        rig: Arc::new(rig_of(&episode.rig, joints)),
        time_s: episode.time_s.clone(),
        state: some_of(&episode.state, joints),
        action: episode.action.as_ref().map(|action| some_of(action, joints)),
        ragged_rows: episode.ragged_rows,
        extras: Extras {
            velocity: optional(&extras.velocity),
            effort: optional(&extras.effort),
            voltage: optional(&extras.voltage),
            temperature: optional(&extras.temperature),
            cameras: extras.cameras.clone(),
            base: extras.base.clone(),
            rotations: rotations.collect(),
        },
    }
}

fn some_of(whole: &Channels, joints: &[usize]) -> Channels {
    let mut values = Vec::with_capacity(whole.frames() * joints.len());
    for joint in joints {
        values.extend_from_slice(whole.joint(*joint));
    }
    Channels::new(values, whole.frames(), joints.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::signal::{dead_joint, spikes};
    use crate::check::testing::{Bench, Measured};
    use crate::check::timing::dropped_frames;
    use crate::check::tracking::tracking_lag;

    #[test]
    fn a_plain_arm_is_given_whole() {
        let rig = Rig { joints: Bench::at(30.0).episode().rig.joints.clone(), ..Rig::default() };
        for check in [&dead_joint::CHECK, &tracking_lag::CHECK, &dropped_frames::CHECK] {
            assert_eq!(Gate::of(check.spec, &rig), Gate::default());
        }
        assert!(Parts::of(&Bench::at(30.0).episode(), &[&spikes::CHECK]).0.is_empty());
    }

    #[test]
    fn what_a_check_does_not_apply_to_is_not_given_and_named_once() {
        let bench = Bench::at(30.0).rig(|rig| rig.joints[0].kind = SignalKind::Discrete);
        let lag = bench.measure(&tracking_lag::CHECK);
        // The readings of the second joint carry its place in the whole rig.
        assert!(lag.joint("lag", 1).is_finite() && lag.joint("lag", 0).is_nan());
        let told: Vec<_> =
            lag.not_assessed.iter().map(|hole| (hole.joint, &*hole.reason)).collect();
        let why = "waist is a discrete signal, which this check does not measure";
        assert_eq!(told, [(Some(0), why)]);
        assert!(bench.measure(&dropped_frames::CHECK).not_assessed.is_empty());
    }

    #[test]
    fn what_has_no_partner_is_compared_with_nothing() {
        let alone = |rig: &mut Rig| rig.joints[1].unpaired = Some("no such name".into());
        let bench = Bench::at(30.0).rig(alone);
        let lag = bench.measure(&tracking_lag::CHECK);
        assert!(lag.joint("lag", 0).is_finite() && lag.joint("lag", 1).is_nan());
        let why = "elbow: no action to compare with (no such name)";
        assert!(lag.is_not_assessed(why), "{lag:?}");
        // A check that looks at the state alone is given it all.
        assert!(bench.measure(&spikes::CHECK).not_assessed.is_empty());
    }

    #[test]
    fn a_parked_joint_is_left_out_of_the_session() {
        let mut rig = Bench::at(30.0).episode().rig.as_ref().clone();
        rig.joints[0].parked = true;
        let of_session = CheckSpec {
            id: "of-session",
            family: Family::Session,
            applies_to: SignalKind::ALL,
            needs: Relation::Nothing,
            advisory: true,
            source: "",
            cause: "",
            remedy: "",
            reference: "",
            metrics: &[],
            params: &[],
        };
        let gate = Gate::of(&of_session, &rig);
        assert_eq!(gate.joints, Some(vec![1]));
        assert_eq!(gate.left_out, [(0, "waist: parked, as declared".to_owned())]);
        assert_eq!(Gate::of(dead_joint::CHECK.spec, &rig), Gate::default());
    }

    #[test]
    fn a_check_that_is_given_nothing_says_so_for_the_whole_episode() {
        let all = |rig: &mut Rig| rig.joints.iter_mut().for_each(|j| j.kind = SignalKind::Velocity);
        let lag = Measured::of(&tracking_lag::CHECK, &Bench::at(30.0).rig(all).episode());
        assert!(lag.readings.is_empty() && lag.not_assessed.len() == 1);
        assert!(lag.not_assessed[0].joint.is_none());
        let why = "waist, elbow are each a velocity, which this check does not measure";
        assert_eq!(lag.not_assessed[0].reason, why);
    }
}
