//! The dimensions of the rig out of the stored numbers of both sides.

use crate::model::{Joint, JointId, SignalKind, Stored, StoredEntry, Take};
use crate::num::rotation::{IDENTITY, angle, mean};
use crate::source::declared::Declared;
use crate::source::rig::grippers::gripper;
use crate::source::rig::kinds::Pair;
use crate::source::rig::naming::{Names, groups, key};
use crate::source::rig::notice::Notice;
use crate::source::rig::pairing::Pairing;
use crate::source::rig::rotations::{Rotation, find};
use crate::source::rig::scale::Scale;
use crate::source::rig::survey::Sample;
use crate::source::shard::convert::{Side, convert, quaternion};

/// Rows of each sample that a mean rotation is taken of.
const ROWS: usize = 200;
/// An action further from the state than this, in the median, is no pose to go to.
const FAR: f64 = 1.0;
/// Metres that no arm reaches.
const FAR_M: f32 = 20.0;

/// What is known of the stored numbers before their unit is.
#[derive(Debug)]
pub(in crate::source) struct Signals<'a> {
    pub state: &'a Names,
    pub action: Option<&'a Names>,
    pub samples: &'a [Sample],
    pairing: Pairing,
    rotations: Vec<(Rotation, Option<Rotation>)>,
    notices: Vec<Notice>,
}

/// The dimensions of a rig.
#[derive(Debug)]
pub(in crate::source) struct Assembled {
    pub joints: Vec<Joint>,
    /// How stored numbers become these, where that is not one to one.
    pub stored: Option<Stored>,
    pub notices: Vec<Notice>,
    /// The samples in these dimensions, where stored numbers become others.
    pub samples: Option<Vec<Sample>>,
}

impl<'a> Signals<'a> {
    /// Pairs both sides, finds the rotations and gives each number of the state its kind.
    pub fn of(
        joints: &mut [Joint],
        (state, action): (&'a Names, Option<&'a Names>),
        samples: &'a [Sample],
        declared: &Declared,
    ) -> Self {
        let listed = !declared.state.is_empty() && !declared.action.is_empty();
        let listed =
            listed && declared.state.iter().chain(&declared.action).all(|c| !c.contains('*'));
        let pairing = action.map_or_else(
            || Pairing { partner: vec![None; joints.len()], ..Pairing::default() },
            |action| Pairing::of(state, action, listed),
        );
        let mut signals =
            Self { state, action, samples, pairing, rotations: Vec::new(), notices: Vec::new() };
        signals.find_rotations(declared);
        signals.guess_gripper(joints, declared);
        signals.name_kinds(joints, declared);
        signals
    }

    fn find_rotations(&mut self, declared: &Declared) {
        let (state, samples) = (self.state, self.samples);
        let width = state.names.len();
        let mut found = find(state, &declared.state_signals, samples, false, width);
        let Some(action) = self.action else {
            self.rotations = found.into_iter().map(|rotation| (rotation, None)).collect();
            return;
        };
        let mut led = find(action, &declared.action_signals, samples, true, action.names.len());
        let in_order = self.pairing.partner.iter().enumerate().all(|(at, p)| *p == Some(at));
        if in_order {
            // What one side shows holds for the other in the same place.
            let free = |all: &[Rotation], own: &Rotation| {
                all.iter().all(|r| r.from.iter().all(|at| !own.from.contains(at)))
            };
            let more: Vec<Rotation> = led.iter().filter(|own| free(&found, own)).cloned().collect();
            found.extend(more);
            let more: Vec<Rotation> = found.iter().filter(|own| free(&led, own)).cloned().collect();
            led.extend(more);
        }
        found.sort_by_key(|rotation| rotation.from.iter().min().copied());
        for rotation in found {
            let same = |other: &Rotation| {
                let at_same_place =
                    in_order && other.from.iter().min() == rotation.from.iter().min();
                let both = state.given && action.given;
                let named = both && key(&other.front) == key(&rotation.front);
                at_same_place || named
            };
            let partner = led.iter().find(|other| same(other)).cloned();
            let partner = partner.filter(|other| self.near(&rotation, other));
            self.rotations.push((rotation, partner));
        }
    }

    /// Whether the action's rotation is one that the state goes to.
    fn near(&self, state: &Rotation, action: &Rotation) -> bool {
        let mut apart: Vec<f64> = Vec::new();
        for sample in self.samples {
            let here = rows(sample, false, state);
            let there = rows(sample, true, action);
            apart.extend(here.zip(there).filter_map(|(a, b)| Some(angle(a?, b?))));
        }
        let middle = apart.len() / 2;
        apart.is_empty() || *apart.select_nth_unstable_by(middle, f64::total_cmp).1 < FAR
    }

    /// Where nobody named the numbers and one after the rotation is left, it is the gripper.
    fn guess_gripper(&self, joints: &mut [Joint], declared: &Declared) {
        let Some((rotation, _)) = self.rotations.last() else { return };
        let end = rotation.from.iter().max().map_or(0, |last| last + 1);
        if !self.state.given && declared.joints.is_empty() && end + 1 == joints.len() {
            joints[end].gripper = true;
            joints[end].gripper_by_place = true;
        }
    }

    fn grouped(&self, at: usize) -> bool {
        self.rotations.iter().any(|(rotation, _)| rotation.from.contains(&at))
    }

    /// Numbers that are a place: declared, named, or three in front of a rotation that nobody named.
    fn places(&self, joints: &[Joint]) -> Vec<(usize, String)> {
        let mut places = Vec::new();
        if self.state.given {
            for group in groups(&self.state.names).into_iter().filter(|g| g.axes.form().is_none()) {
                places.extend(group.from.into_iter().map(|at| (at, "named x, y, z".to_owned())));
            }
            return places;
        }
        for (rotation, _) in &self.rotations {
            let first = rotation.from.iter().min().copied().unwrap_or(0);
            let plain = |at: usize| !self.grouped(at) && !joints[at].gripper;
            let begins = first >= 3 && (first == 3 || !plain(first - 4));
            if begins && (first - 3..first).all(plain) {
                let why = "three numbers in front of a rotation".to_owned();
                places.extend((first - 3..first).map(|at| (at, why.clone())));
            }
        }
        places
    }

    fn name_kinds(&self, joints: &mut [Joint], declared: &Declared) {
        for (at, why) in self.places(joints) {
            // A rail that is declared linear is what it is declared to be.
            if !joints[at].linear && !joints[at].gripper {
                (joints[at].kind, joints[at].kind_why) = (SignalKind::Position, why);
                joints[at].linear = true;
            }
        }
        for (at, joint) in joints.iter_mut().enumerate() {
            if self.grouped(at) {
                joint.kind = SignalKind::Orientation;
                continue;
            }
            let stored = self.state.names.get(at).map_or("", String::as_str);
            let said = declared.state_signals.kind(&joint.name);
            if let Some(kind) = said.or_else(|| declared.state_signals.kind(stored)) {
                joint.kind = kind;
                "declared in the profile".clone_into(&mut joint.kind_why);
                joint.linear |= matches!(kind, SignalKind::Prismatic | SignalKind::Position);
                joint.gripper = kind.grips();
                joint.gripper_by_place &= kind.grips();
                continue;
            }
            let pair = self.pair(at);
            let name = self.state.given.then_some(stored);
            if let Some((kind, why)) = pair.kind(name, joint.gripper) {
                (joint.kind, joint.kind_why) = (kind, why);
            }
        }
    }

    fn pair(&self, at: usize) -> Pair<'a> {
        let action = self.pairing.partner.get(at).copied().flatten();
        Pair { samples: self.samples, state: at, action }
    }

    /// The dimensions, once the unit of the numbers is known by their scales; and how the stored
    /// numbers become these, where that is not one to one.
    pub fn assemble(
        mut self,
        mut joints: Vec<Joint>,
        scales: &[Scale],
        declared: &Declared,
    ) -> Assembled {
        let mut plain = self.action.is_none_or(|a| a.names.len() == joints.len());
        let pose = joints.iter().any(|j| j.kind == SignalKind::Position);
        let (mut made, mut entries): (Vec<Joint>, Vec<StoredEntry>) = (Vec::new(), Vec::new());
        for at in 0..joints.len() {
            let joint = made.len() as JointId;
            let place = |r: &&(Rotation, Option<Rotation>)| r.0.from.iter().min() == Some(&at);
            if let Some((state, action)) = self.rotations.iter().find(place) {
                plain = false;
                made.extend(self.rotation_joints(&joints, state, action.as_ref(), &made));
                entries.push(self.rotation_entry(joint, state, action.as_ref()));
            } else if !self.grouped(at) {
                let entry = self.entry(at, joint, &mut joints[at], scales[at], declared, pose);
                let own = |take: &Take| *take == one(at, scales[at], false);
                let led = self.action.is_none() || own(&entry.action);
                plain &= own(&entry.state) && led;
                self.unpaired(at, &mut joints[at]);
                made.push(joints[at].clone());
                entries.push(entry);
            }
        }
        self.notices.extend(self.action.and_then(|action| self.pairing.notice(self.state, action)));
        if plain {
            return Assembled { joints: made, stored: None, notices: self.notices, samples: None };
        }
        let action = self.action.map_or_else(Vec::new, |action| action.names.clone());
        let stored = Stored { state: self.state.names.clone(), action, entries };
        let samples: Vec<Sample> = self.samples.iter().map(|s| converted(s, &stored)).collect();
        observe(&mut made, &samples);
        let (notices, samples) = (self.notices, Some(samples));
        Assembled { joints: made, stored: Some(stored), notices, samples }
    }

    fn unpaired(&self, at: usize, joint: &mut Joint) {
        if self.action.is_some() && self.pairing.partner[at].is_none() {
            joint.unpaired = self.pairing.why.get(at).cloned();
        }
    }

    /// A number by itself.
    fn entry(
        &mut self,
        at: usize,
        joint: JointId,
        described: &mut Joint,
        scale: Scale,
        declared: &Declared,
        pose: bool,
    ) -> StoredEntry {
        let pair = self.pair(at);
        let (mut state, mut action, mut unwrap) = (scale, scale, false);
        match described.kind() {
            SignalKind::GripperContinuous => {
                let own = declared.joints.get(at);
                let said = own.is_some_and(|j| j.linear || j.lower.is_some() || j.range.is_some());
                if let Some(read) = gripper(pair, scale, said, pose) {
                    described.count *= read.state.factor / scale.factor;
                    described.linear |= read.linear;
                    (state, action) = (read.state, read.action);
                    let name = &described.name;
                    let what = format!("{name} is {}", read.guess.unwrap_or_default());
                    let line =
                        format!("[[rig.joints]] with name = \"{name}\" and its lower and upper");
                    self.notices.push(Notice::Guessed { what, line });
                }
            }
            SignalKind::Continuous => unwrap = true,
            // What is declared stands.
            SignalKind::Revolute if described.kind_why.is_empty() => {
                if let Some(why) = pair.endless(scale.factor) {
                    (described.kind, described.kind_why) = (SignalKind::Continuous, why);
                    unwrap = true;
                }
            }
            SignalKind::Position => {
                let all = self.samples.iter().flat_map(|s| s.joint(at));
                if all.into_iter().any(|v| v.abs() > FAR_M) {
                    state.factor *= 1e-3;
                    action.factor *= 1e-3;
                    let what = format!("{} is taken for millimetres", described.name);
                    let line = "store metres".to_owned();
                    self.notices.push(Notice::Guessed { what, line });
                }
            }
            _ => {}
        }
        let led = self.pairing.partner.get(at).copied().flatten();
        let action = led.map_or(Take::Nothing, |from| one(from, action, unwrap));
        StoredEntry { joint, state: one(at, state, unwrap), action, reference: IDENTITY }
    }

    fn rotation_entry(
        &self,
        joint: JointId,
        state: &Rotation,
        action: Option<&Rotation>,
    ) -> StoredEntry {
        let all = self.samples.iter().flat_map(|sample| rows(sample, false, state).flatten());
        let reference = mean(all).unwrap_or(IDENTITY);
        let take =
            |r: &Rotation| Take::Rotation { from: r.from.clone(), form: r.form, factor: r.factor };
        let action = action.map_or(Take::Nothing, take);
        StoredEntry { joint, state: take(state), action, reference }
    }

    fn rotation_joints(
        &self,
        joints: &[Joint],
        state: &Rotation,
        action: Option<&Rotation>,
        before: &[Joint],
    ) -> Vec<Joint> {
        let first = state.from.iter().min().copied().unwrap_or(0);
        let front =
            if state.front.is_empty() { String::new() } else { format!("{}_", state.front) };
        let named = |axis: &str| {
            let name = format!("{front}r{axis}");
            let taken = before.iter().any(|joint| joint.name == name);
            if taken { format!("{name}{first}") } else { name }
        };
        let unpaired = (self.action.is_some() && action.is_none())
            .then(|| "the action holds no rotation for it".to_owned());
        let joint = |axis: &str| Joint {
            kind: SignalKind::Orientation,
            kind_why: format!("{}: {}", state.form.word(), state.why),
            unpaired: unpaired.clone(),
            arm: joints[first].arm.clone(),
            ..Joint::named(named(axis))
        };
        ["x", "y", "z"].map(joint).to_vec()
    }
}

fn one(from: usize, scale: Scale, unwrap: bool) -> Take {
    Take::One { from, factor: scale.factor, offset: scale.offset, unwrap }
}

/// Rotations of some rows of a sample.
fn rows<'a>(
    sample: &'a Sample,
    leader: bool,
    rotation: &'a Rotation,
) -> impl Iterator<Item = Option<[f64; 4]>> + 'a {
    let columns: Vec<&[f32]> = rotation.from.iter().map(|at| sample.stored(leader, *at)).collect();
    let frames = columns.first().map_or(0, |column| column.len());
    let step = (frames / ROWS).max(1);
    (0..frames).step_by(step).map(move |frame| {
        let row: Vec<f64> =
            columns.iter().map(|column| f64::from(column[frame]) * rotation.factor).collect();
        quaternion(&row, rotation.form)
    })
}

/// A sample in the dimensions of the rig.
fn converted(sample: &Sample, stored: &Stored) -> Sample {
    let frames = sample.time.len();
    let side = |leader, follower| Side { values: sample.side(leader), frames, follower };
    let (state, _) = convert(stored, side(false, None));
    let action = match sample.side(true) {
        [] => Vec::new(),
        _ => convert(stored, side(true, Some(&state))).0,
    };
    Sample::of(sample.time.clone(), state, action)
}

/// The range of what was converted.
fn observe(joints: &mut [Joint], samples: &[Sample]) {
    for (at, joint) in joints.iter_mut().enumerate() {
        let all = samples.iter().flat_map(|s| s.joint(at)).filter(|v| v.is_finite());
        joint.observed = all.map(|v| f64::from(*v)).fold(None, |range, value| {
            let (low, high) = range.unwrap_or((value, value));
            Some((low.min(value), high.max(value)))
        });
    }
}
