//! A profile written out, to be edited by a person.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use toml::Spanned;

use super::contents::Profile;
use super::file::{
    AcceptSection, BaseSection, CameraSection, Checks, Columns, File, Key, Pair, RigSection,
};
use super::given::Given;
use super::joint_section::{self, JointSection};
use super::rig_section::{TIME_UNITS, si_per_limit};
use super::signals_section;
use crate::model::{
    Acceptance, AngleUnit, Bound, CheckSpec, ClockStorage, Extra, Joint, KnownBy, Limit, Rig,
    Severity, Take, Unit,
};
use crate::source::{Declared, DeclaredCamera, DeclaredJoint, Role, RoleChoice, TimeUnit};

const HEAD: &str = "\
# What teleassay should know of this dataset. Keep it next to the data as teleassay.toml.
# A number may have its unit: \"5 deg\", \"150 ms\", \"2 %\". Without one, limits of joints are in
# limit_unit (else the unit of [rig], else rad), of linear joints in metres; limits and parameters
# of checks in radians, metres, seconds and shares of 1. Unknown keys are refused.
";

impl Profile {
    /// What was understood of a dataset without being declared in full, as a profile to edit.
    pub fn understood(rig: &Rig, roles: &[RoleChoice]) -> Self {
        let columns =
            |role: Role| roles.iter().find(|r| r.role == role).map_or(&[][..], |r| &r.columns);
        let one = |role: Role| columns(role).first().cloned();
        let timestamp = roles
            .iter()
            .any(|r| r.role == Role::Time && r.shape.to_lowercase().contains("timestamp"));
        let counts_per_turn = match rig.unit {
            AngleUnit::Counts { per_turn } => Some(per_turn),
            _ => None,
        };
        let (state_signals, action_signals) = signals_section::understood(rig);
        let declared = Declared {
            rig: None,
            episode: one(Role::Episode),
            time: one(Role::Time),
            time_unit: if timestamp { None } else { time_unit(rig.clock) },
            state: columns(Role::State).to_vec(),
            action: columns(Role::Action).to_vec(),
            velocity: columns(Role::Extra(Extra::Velocity)).to_vec(),
            effort: columns(Role::Extra(Extra::Effort)).to_vec(),
            voltage: columns(Role::Extra(Extra::Voltage)).to_vec(),
            temperature: columns(Role::Extra(Extra::Temperature)).to_vec(),
            // Cameras are found by their names again; what was declared of them and of a base is
            // kept by whoever writes a profile over another one.
            cameras: Vec::new(),
            base: None,
            task: one(Role::Task),
            labels: columns(Role::Label).to_vec(),
            rate_hz: rig.rate_hz,
            unit: Some(rig.unit),
            counts_per_turn,
            // A normalised value is no angle, so its limits need a unit of their own.
            limit_unit: matches!(rig.unit, AngleUnit::Normalized { .. })
                .then_some(AngleUnit::Radian),
            urdf: None,
            joints: stored_joints(rig),
            state_signals,
            action_signals,
            clutch: None,
            mode: None,
            // What nobody declared and the data shows is written, to be seen and to be kept.
            action_kind: Some(rig.actions.kind)
                .filter(|_| !matches!(rig.actions.by, KnownBy::Assumed | KnownBy::Undecided(_))),
        };
        Self { declared, ..Self::default() }
    }

    /// This profile over what was understood of a dataset: limits, parameters, cameras and base are
    /// its own, the rest is as it was read.
    #[must_use]
    pub fn over(&self, rig: &Rig, roles: &[RoleChoice]) -> Self {
        let declared = Declared {
            cameras: self.declared.cameras.clone(),
            base: self.declared.base.clone(),
            action_kind: self.declared.action_kind,
            clutch: self.declared.clutch.clone(),
            mode: self.declared.mode.clone(),
            ..Self::understood(rig, roles).declared
        };
        Self { declared, ..self.clone() }
    }

    /// The profile as TOML with every limit and parameter that is in force, the defaults among
    /// them; reading it back gives the same verdicts.
    pub fn to_whole_toml(&self, checks: &[&'static CheckSpec]) -> String {
        let mut whole = self.clone();
        for check in checks {
            for metric in check.metrics.iter().filter(|m| !matches!(m.bound, Bound::Unjudged)) {
                whole.limits.set(check, metric, self.limits.get(check, metric));
            }
        }
        whole.written(checks, true)
    }

    /// The profile as TOML with its comments; reading it back gives the same profile. Parameters
    /// are written where they differ from the defaults of `checks`.
    pub fn to_toml(&self, checks: &[&'static CheckSpec]) -> String {
        self.written(checks, false)
    }

    fn written(&self, checks: &[&'static CheckSpec], every_param: bool) -> String {
        let mut text = String::from(HEAD);
        let file = self.file(checks, every_param);
        match toml::to_string(&file) {
            Ok(body) => text.push_str(&body),
            // Every type of the file is one that TOML can hold; should that ever change, the
            // person sees it in the file instead of losing the run.
            Err(error) => {
                let _ = writeln!(text, "# not written: {error}");
            }
        }
        text
    }

    fn file(&self, checks: &[&'static CheckSpec], every_param: bool) -> File {
        let declared = &self.declared;
        let unit_name = declared.unit.map(|unit| spanned(unit.name().to_owned()));
        let mut limits: BTreeMap<_, BTreeMap<_, _>> = BTreeMap::new();
        for (check, metric, limit) in self.limits.overrides() {
            let pairs = limits.entry(spanned(check.to_owned())).or_default();
            let unit = unit_of(checks, check, metric);
            pairs.insert(spanned(metric.to_owned()), spanned(pair(limit, unit)));
        }
        let mut params: BTreeMap<_, BTreeMap<_, _>> = BTreeMap::new();
        for check in checks {
            for param in check.params {
                let value = self.params.get(check, param);
                if every_param || value != param.default {
                    let values = params.entry(spanned(check.id.to_owned())).or_default();
                    let given = Given::written(value, param.unit);
                    values.insert(spanned(param.id.to_owned()), spanned(given));
                }
            }
        }
        let skip: Vec<_> = self.skip.iter().map(|id| spanned((*id).to_owned())).collect();
        File {
            columns: Some(Columns {
                episode: declared.episode.clone(),
                time: declared.time.clone(),
                time_unit: declared.time_unit.map(|unit| spanned(time_unit_name(unit).to_owned())),
                state: declared.state.clone(),
                action: declared.action.clone(),
                velocity: declared.velocity.clone(),
                effort: declared.effort.clone(),
                voltage: declared.voltage.clone(),
                temperature: declared.temperature.clone(),
                task: declared.task.clone(),
                labels: declared.labels.clone(),
            }),
            rig: Some(RigSection {
                rate_hz: declared.rate_hz.map(spanned),
                unit: unit_name,
                counts_per_turn: declared.counts_per_turn.map(spanned),
                normalized: match declared.unit {
                    Some(AngleUnit::Normalized { low, high }) => Some(spanned([low, high])),
                    _ => None,
                },
                limit_unit: declared.limit_unit.map(|unit| spanned(unit.name().to_owned())),
                urdf: declared.urdf.as_ref().map(|path| path.display().to_string()),
                joints: declared
                    .joints
                    .iter()
                    .map(|joint| joint_section(joint, declared))
                    .collect(),
            }),
            state: signals_section::section(&declared.state_signals, (None, None, None)),
            action: signals_section::section(
                &declared.action_signals,
                (declared.action_kind, declared.clutch.as_ref(), declared.mode.as_ref()),
            ),
            camera: declared.cameras.iter().map(camera_section).collect(),
            base: declared.base.as_ref().map(|base| BaseSection {
                velocity: base.velocity.clone(),
                pose: base.pose.clone(),
            }),
            checks: (!skip.is_empty()).then_some(Checks { skip }),
            severity: self.limits.rulings().map(ruling).collect(),
            accept: self.accepted.iter().map(accept_section).collect(),
            limits,
            params,
        }
    }
}

fn spanned<T>(value: T) -> Spanned<T> {
    Spanned::new(0..0, value)
}

/// `inf` is how the file says that a severity is never given.
fn pair(limit: Limit, unit: Unit) -> Pair {
    let or_never =
        |value: Option<f64>| Some(spanned(Given::written(value.unwrap_or(f64::INFINITY), unit)));
    Pair { warn: or_never(limit.warn), fail: or_never(limit.fail) }
}

/// The unit of a measurement; that of a plain number where nobody knows the measurement.
fn ruling((check, severity): (&str, Severity)) -> (Key, Spanned<String>) {
    (spanned(check.to_owned()), spanned(severity.word().to_owned()))
}

fn accept_section(one: &Acceptance) -> AcceptSection {
    AcceptSection {
        check: spanned(one.check.id.to_owned()),
        joint: one.joint.clone(),
        episodes: one.episodes.iter().cloned().map(spanned).collect(),
        reason: spanned(one.reason.clone()),
        until: one.until.map(|day| spanned(day.to_string())),
    }
}

fn unit_of(checks: &[&'static CheckSpec], check: &str, metric: &str) -> Unit {
    let known = checks.iter().filter(|known| known.id == check);
    let metrics = known.flat_map(|check| check.metrics.iter());
    metrics.copied().find(|known| known.id == metric).map_or(Unit::Count, |known| known.unit)
}

fn camera_section(camera: &DeclaredCamera) -> Spanned<CameraSection> {
    let DeclaredCamera { name, index, stamp, rate_hz } = camera.clone();
    spanned(CameraSection { name, index, stamp, rate_hz })
}

/// One joint to each stored number of the state: a rotation is stored in more than its dimensions.
fn stored_joints(rig: &Rig) -> Vec<DeclaredJoint> {
    let Some(stored) = &rig.stored else {
        return rig.joints.iter().map(declared_joint).collect();
    };
    let named = |name: &String| DeclaredJoint { name: name.clone(), ..DeclaredJoint::default() };
    let mut joints: Vec<DeclaredJoint> = stored.state.iter().map(named).collect();
    for entry in &stored.entries {
        if let Take::One { from, .. } = entry.state {
            joints[from] = declared_joint(&rig.joints[usize::from(entry.joint)]);
        }
    }
    joints
}

fn declared_joint(joint: &Joint) -> DeclaredJoint {
    DeclaredJoint {
        name: joint.name.clone(),
        lower: joint.lower,
        upper: joint.upper,
        max_speed: joint.max_speed,
        max_effort: joint.max_effort,
        max_temperature: joint.max_temperature,
        arm: joint.arm.as_deref().map(str::to_owned),
        range: joint.stored_range,
        gripper: joint.gripper.then_some(true),
        parked: joint.parked,
        linear: joint.linear,
    }
}

fn joint_section(joint: &DeclaredJoint, declared: &Declared) -> Spanned<JointSection> {
    let si = si_per_limit(declared.unit, declared.limit_unit, joint.linear);
    joint_section::section(joint, declared.limit_unit.or(declared.unit), si)
}

fn time_unit(clock: ClockStorage) -> Option<TimeUnit> {
    let seconds = match clock {
        ClockStorage::None => return None,
        ClockStorage::Float { scale_s, .. } => scale_s,
        ClockStorage::Ticks { tick_s } => tick_s,
    };
    TIME_UNITS.iter().map(|&(_, unit)| unit).find(|unit| unit.seconds() == seconds)
}

fn time_unit_name(unit: TimeUnit) -> &'static str {
    TIME_UNITS.iter().find(|&&(_, other)| other == unit).map_or("s", |&(name, _)| name)
}
