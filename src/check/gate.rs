//! What a check is given of an episode: the dimensions of a kind that it applies to, and no others.
//!
//! On a plain arm every check is given the whole episode, and nothing is copied. Where a dimension
//! is of a kind that a check does not apply to, the check is given the episode without it, and one
//! line for each kind says so. Checks that leave out the same dimensions share one study.

use std::sync::Arc;

use super::definition::Check;
use super::params::Params;
use super::study::Study;
use crate::model::{Channels, CheckSpec, Episode, Extras, Rig, Sheet, SignalKind};

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
        let applies = |kind: SignalKind| spec.applies_to.contains(&kind);
        if rig.joints.iter().all(|joint| applies(joint.kind())) {
            return Self::default();
        }
        let places = 0..rig.joints.len();
        let joints = places.filter(|joint| applies(rig.joints[*joint].kind())).collect();
        let mut left_out: Vec<(usize, String)> = Vec::new();
        for kind in SignalKind::ALL.iter().filter(|kind| !applies(**kind)) {
            let of_kind = || (0..rig.joints.len()).filter(|at| rig.joints[*at].kind() == *kind);
            if let Some(first) = of_kind().next() {
                left_out.push((first, reason(*kind, &of_kind().collect::<Vec<_>>(), rig)));
            }
        }
        left_out.sort_by_key(|(first, _)| *first);
        Self { joints: Some(joints), left_out }
    }

    /// Whether the check is given nothing at all.
    pub fn shut(&self) -> bool {
        self.joints.as_ref().is_some_and(Vec::is_empty)
    }
}

/// Why a check measures nothing of these dimensions.
fn reason(kind: SignalKind, joints: &[usize], rig: &Rig) -> String {
    let mut names: Vec<&str> =
        joints.iter().take(SHOWN).map(|at| rig.joints[*at].name.as_str()).collect();
    if joints.len() > SHOWN {
        names.push("...");
    }
    let is = if joints.len() == 1 { "is" } else { "are each" };
    format!("{} {is} {}, which this check does not measure", names.join(", "), kind.phrase())
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
    pub fn studies<'a>(&'a self, episode: &'a Episode) -> Studies<'a> {
        let of_part = |(joints, part): &'a (Vec<usize>, Episode)| (&joints[..], Study::new(part));
        Studies { whole: Study::new(episode), parts: self.0.iter().map(of_part).collect() }
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
    fn a_check_that_is_given_nothing_says_so_for_the_whole_episode() {
        let all = |rig: &mut Rig| rig.joints.iter_mut().for_each(|j| j.kind = SignalKind::Velocity);
        let lag = Measured::of(&tracking_lag::CHECK, &Bench::at(30.0).rig(all).episode());
        assert!(lag.readings.is_empty() && lag.not_assessed.len() == 1);
        assert!(lag.not_assessed[0].joint.is_none());
        let why = "waist, elbow are each a velocity, which this check does not measure";
        assert_eq!(lag.not_assessed[0].reason, why);
    }
}
