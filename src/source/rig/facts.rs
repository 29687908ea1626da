//! All facts of the rig: taken from other data of it, or learnt from a survey.

use crate::model::{Joint, Rig};
use crate::source::declared::Declared;
use crate::source::error::SourceError;
use crate::source::input::Input;
use crate::source::rig::joints::known_joints;
use crate::source::rig::learnt::{frame_clock, learn, unit};
use crate::source::rig::robust::typical_step;
use crate::source::rig::scale::{Scale, notice};
use crate::source::rig::survey::survey;
use crate::source::rig::{clock, urdf};
use crate::source::shard::layout::{Layout, Scaling};
use crate::source::shard::plan::Plan;

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
        let joints = known_joints(joints, known)?;
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
        let samples = survey(plan, inputs, stored);
        let unit = unit(&stored.columns, declared, &joints, &samples);
        let scales: Vec<Scale> = joints.iter().map(|joint| Scale::of(joint, unit)).collect();
        notices.extend(notice(&joints, unit));
        learn(&mut joints, declared, unit, &scales, &samples);
        // Without a stated unit the samples' stamps are still in ticks.
        let step = typical_step(samples.iter().map(|sample| sample.time.as_slice()));
        let per_second = match &stored.columns.time {
            Some(time) => clock::ticks(time, step, declared.rate_hz),
            None => 1.0,
        };
        let step_s = step.map(|step| step * stored.scaling.per_second / per_second);
        let (clock, period_s) = frame_clock(&stored.columns, declared, step_s, per_second);
        let (rate_hz, unit_declared) = (declared.rate_hz, declared.unit.is_some());
        let notices = notices.iter().map(ToString::to_string).collect();
        let extras = Vec::new();
        let rig = Rig { joints, rate_hz, period_s, clock, unit, unit_declared, notices, extras };
        Ok(Self { rig, per_second, scales })
    }

    /// How stored numbers become those of the rig. Values beyond its joints stay as they are.
    pub fn scaling(&self, stored: &Scaling) -> Scaling {
        let mut scaling = Scaling { per_second: self.per_second, ..stored.clone() };
        for (factor, scale) in scaling.factors.iter_mut().zip(&self.scales) {
            *factor = scale.factor;
        }
        if self.scales.iter().any(|scale| scale.offset != 0.0) {
            scaling.offsets = self.scales.iter().map(|scale| scale.offset as f32).collect();
        }
        scaling
    }
}
