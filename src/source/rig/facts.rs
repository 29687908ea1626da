//! All facts of the rig: taken from other data of it, or learnt from a survey.

use crate::model::{ActionKind, Actions, Joint, KnownBy, Rig, Take};
use crate::source::declared::Declared;
use crate::source::error::SourceError;
use crate::source::format::list::kind_of;
use crate::source::input::Input;
use crate::source::rig::action::actions;
use crate::source::rig::assemble::{Assembled, Signals};
use crate::source::rig::joints::{known_joints, names};
use crate::source::rig::learnt::{frame_clock, learn, unit};
use crate::source::rig::notice::Notice;
use crate::source::rig::robust::{median, typical_step};
use crate::source::rig::scale::{Scale, notice};
use crate::source::rig::survey::survey;
use crate::source::rig::{clock, urdf};
use crate::source::roles::parts::Part;
use crate::source::roles::shape::{ALIGNED, Column};
use crate::source::shard::layout::{Layout, Scaling};
use crate::source::shard::plan::Plan;

/// Fewer episodes than this have no usual length.
const ENOUGH: usize = 5;

/// The rig, and how its stored numbers are read.
#[derive(Debug)]
pub(in crate::source) struct Facts {
    /// The rig; its optional columns are added when they are found.
    pub rig: Rig,
    /// Ticks a second of a plain number in the time column.
    pub per_second: f64,
    scales: Vec<Scale>,
}

impl Facts {
    /// A known rig is taken as it is: nothing is learnt from the data, which must be of it.
    pub fn known(known: &Rig, joints: &[Joint], stored: &Layout) -> Result<Self, SourceError> {
        let state = names(&stored.columns.state, &stored.widths.state).names;
        let joints = known_joints(joints, state, known)?;
        let sides = stored.columns.action.as_ref();
        let action = sides.map(|action| names(action, &stored.widths.action).names);
        if known.stored.as_ref().is_some_and(|s| action.as_ref().is_some_and(|a| *a != s.action)) {
            return Err(SourceError::OtherRig("its actions have other names".to_owned()));
        }
        let scales = joints.iter().map(|joint| Scale::of(joint, known.unit)).collect();
        let per_second = match &stored.columns.time {
            Some(time) => clock::known_ticks(time, known.clock)?,
            None => 1.0,
        };
        Ok(Self { rig: known.clone(), per_second, scales })
    }

    /// A rig that is learnt from what is declared and from a few episodes.
    pub fn learnt(
        mut joints: Vec<Joint>,
        declared: &Declared,
        stored: &Layout,
        plan: &Plan,
        inputs: &[Input],
    ) -> Result<Self, SourceError> {
        let mut notices = match &declared.urdf {
            Some(path) => urdf::add(&mut joints, declared, path)?,
            None => Vec::new(),
        };
        notices.extend(mixed(inputs));
        notices.extend(aligned(stored, inputs));
        let samples = survey(plan, inputs, stored);
        let state = names(&stored.columns.state, &stored.widths.state);
        let action = stored.columns.action.as_ref();
        let action = action.map(|action| names(action, &stored.widths.action));
        let sides = (&state, action.as_ref());
        let signals = Signals::of(&mut joints, sides, &samples, declared);
        let unit = unit(&stored.columns, declared, &joints, &samples);
        let scales: Vec<Scale> = joints.iter().map(|joint| Scale::of(joint, unit)).collect();
        notices.extend(notice(&joints, unit));
        learn(&mut joints, declared, unit, &scales, &samples);
        let Assembled { joints, stored: taken, notices: more, samples: read } =
            signals.assemble(joints, &scales, declared);
        notices.extend(more);
        // Without a stated unit the samples' stamps are still in ticks.
        let step = typical_step(samples.iter().map(|sample| sample.time.as_slice()));
        let per_second = match &stored.columns.time {
            Some(time) => clock::ticks(time, step, declared.rate_hz),
            None => 1.0,
        };
        let step_s = step.map(|step| step * stored.scaling.per_second / per_second);
        let (clock, period_s) = frame_clock(&stored.columns, declared, step_s, per_second);
        let mut lengths: Vec<f64> =
            samples.iter().map(|sample| sample.time.len() as f64 * period_s).collect();
        let enough = lengths.len() >= ENOUGH && period_s > 0.0;
        let usual_s = median(&mut lengths).filter(|_| enough);
        let (rate_hz, unit_declared) = (declared.rate_hz, declared.unit.is_some());
        let actions = if stored.columns.action.is_some() {
            match read {
                // In the dimensions of the rig, radians and metres.
                Some(read) => {
                    let scales = vec![Scale { factor: 1.0, offset: 0.0 }; joints.len()];
                    actions(declared.action_kind, &joints, &scales, &read, period_s)
                }
                None => actions(declared.action_kind, &joints, &scales, &samples, period_s),
            }
        } else {
            Actions { kind: ActionKind::None, by: KnownBy::Assumed }
        };
        if !matches!(actions.kind, ActionKind::Position | ActionKind::None) {
            notices.push(Notice::Actions { actions: actions.clone(), period_s });
        }
        let notices = notices.iter().map(ToString::to_string).collect();
        let rig = Rig {
            joints,
            rate_hz,
            period_s,
            usual_s,
            clock,
            unit,
            unit_declared,
            notices,
            stored: taken,
            actions,
            ..Rig::default()
        };
        Ok(Self { rig, per_second, scales })
    }

    /// Radians or metres to one stored unit of each dimension.
    pub fn factors(&self) -> Vec<f64> {
        let Some(stored) = &self.rig.stored else {
            return self.scales.iter().map(|scale| scale.factor).collect();
        };
        let mut factors = vec![1.0; self.rig.joints.len()];
        for entry in &stored.entries {
            if let Take::One { factor, .. } = entry.state {
                factors[usize::from(entry.joint)] = factor;
            }
        }
        factors
    }

    /// How stored numbers become those of the rig. Values beyond its joints stay as they are.
    pub fn scaling(&self, stored: &Scaling) -> Scaling {
        let mut scaling = Scaling { per_second: self.per_second, ..stored.clone() };
        if self.rig.stored.is_some() {
            // Scaled where the stored numbers become the dimensions of the rig.
            return scaling;
        }
        for (factor, scale) in scaling.factors.iter_mut().zip(&self.scales) {
            *factor = scale.factor;
        }
        if self.scales.iter().any(|scale| scale.offset != 0.0) {
            scaling.offsets = self.scales.iter().map(|scale| scale.offset as f32).collect();
        }
        scaling
    }
}

/// The formats of the files, where there are several.
fn mixed(inputs: &[Input]) -> Option<Notice> {
    let mut formats: Vec<(&'static str, usize)> = Vec::new();
    for kind in inputs.iter().filter_map(|input| kind_of(&input.path)) {
        match formats.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, files)) => *files += 1,
            None => formats.push((kind, 1)),
        }
    }
    (formats.len() > 1).then_some(Notice::Mixed { formats })
}

/// How the joint vectors were held to the frames, where their sources are asynchronous.
fn aligned(stored: &Layout, inputs: &[Input]) -> Vec<Notice> {
    let columns = &stored.columns;
    let sides = [Some(&columns.state), columns.action.as_ref()];
    let parts: Vec<&Part> = sides.into_iter().flatten().flat_map(|side| &side.parts).collect();
    let file = inputs.first().map(|input| input.path.display().to_string()).unwrap_or_default();
    let used = columns
        .all
        .iter()
        .filter(|column| parts.iter().any(|part| part.path.starts_with(&column.path)));
    let notice = |column: &Column| {
        let how = column.field.metadata().get(ALIGNED)?.clone();
        Some(Notice::Aligned { column: column.name(), how, file: file.clone() })
    };
    used.filter_map(notice).collect()
}
