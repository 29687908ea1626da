//! Small episodes with analytic answers, for the tests of the checks.

use std::f64::consts::TAU;
use std::sync::Arc;

use super::{Check, Params, Parts, settings};
use crate::model::{
    AngleUnit, Channels, ClockStorage, Episode, EpisodeKey, Extras, Joint, NotAssessed, Reading,
    Rig, RowRange, Sheet,
};

/// Jitter of the given size on a fixed pattern: no two rows alike, no run of luck.
pub fn jitter_s(row: usize, size_s: f64) -> f64 {
    let mut mixed = (row as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    mixed = (mixed ^ (mixed >> 31)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    size_s * ((mixed >> 11) as f64 / (1u64 << 52) as f64 - 1.0)
}

/// A position in radians as a function of joint and time.
type Motion = Box<dyn Fn(usize, f64) -> f64>;

/// An episode under construction: two joints on slow sines, the follower 80 ms behind.
pub struct Bench {
    rate_hz: f64,
    rows: Vec<usize>,
    stamp_moved: Box<dyn Fn(usize) -> f64>,
    leader: Motion,
    follower: Option<Motion>,
    rig: Rig,
}

/// The default motion: 30 and 20 degrees of amplitude at 0.4 and 0.6 Hz.
pub fn sway(joint: usize, t: f64) -> f64 {
    let (amplitude, hertz) = if joint == 0 { (30.0f64, 0.4) } else { (20.0, 0.6) };
    amplitude.to_radians() * (TAU * hertz * t).sin()
}

impl Bench {
    pub fn at(rate_hz: f64) -> Self {
        let joint = |name: &str| Joint { observed: Some((-1.0, 1.0)), ..Joint::named(name) };
        Self {
            rate_hz,
            rows: (0..400).collect(),
            stamp_moved: Box::new(|row| jitter_s(row, 2e-4)),
            leader: Box::new(sway),
            follower: None,
            rig: Rig {
                joints: vec![joint("waist"), joint("elbow")],
                rate_hz: None,
                period_s: 1.0 / rate_hz,
                clock: ClockStorage::Float { precision_bits: 53, scale_s: 1.0 },
                unit: AngleUnit::Radian,
                unit_declared: true,
                ..Rig::default()
            },
        }
    }

    pub fn frames(mut self, frames: usize) -> Self {
        self.rows = (0..frames).collect();
        self
    }

    pub fn seconds(self, seconds: f64) -> Self {
        let frames = (seconds * self.rate_hz) as usize;
        self.frames(frames)
    }

    pub fn without_rows(mut self, lost: &[usize]) -> Self {
        self.rows.retain(|row| !lost.contains(row));
        self
    }

    pub fn moved_stamps(mut self, moved: impl Fn(usize) -> f64 + 'static) -> Self {
        self.stamp_moved = Box::new(moved);
        self
    }

    pub fn declared(mut self, rate_hz: f64) -> Self {
        self.rig.rate_hz = Some(rate_hz);
        self
    }

    pub fn stored(mut self, clock: ClockStorage) -> Self {
        self.rig.clock = clock;
        self
    }

    pub fn still(self) -> Self {
        self.leader(|_, _| 0.25).follower(|_, _| 0.25)
    }

    pub fn leader(mut self, motion: impl Fn(usize, f64) -> f64 + 'static) -> Self {
        self.leader = Box::new(motion);
        self
    }

    pub fn follower(mut self, motion: impl Fn(usize, f64) -> f64 + 'static) -> Self {
        self.follower = Some(Box::new(motion));
        self
    }

    pub fn rig(mut self, change: impl Fn(&mut Rig)) -> Self {
        change(&mut self.rig);
        self
    }

    pub fn episode(&self) -> Episode {
        let (frames, joints) = (self.rows.len(), self.rig.joints.len());
        let at = |row: usize| row as f64 / self.rate_hz;
        let time_s: Vec<f64> =
            self.rows.iter().map(|row| at(*row) + (self.stamp_moved)(*row)).collect();
        // The hand and the arm move in true time; a stamp that was tampered with does not.
        let taken = |row: usize| {
            let moved = (self.stamp_moved)(row);
            if moved.abs() < 0.05 { at(row) + moved } else { at(row) }
        };
        let channels = |motion: &dyn Fn(usize, f64) -> f64| {
            let values = (0..joints)
                .flat_map(|joint| self.rows.iter().map(move |row| (joint, *row)))
                .map(|(joint, row)| motion(joint, taken(row)) as f32)
                .collect();
            Channels::new(values, frames, joints)
        };
        let late = |joint: usize, t: f64| (self.leader)(joint, t - 0.08);
        let state = self.follower.as_ref().map_or_else(|| channels(&late), |f| channels(f));
        Episode {
            key: EpisodeKey {
                id: "1".into(),
                index: 0.into(),
                task: None,
                rows: RowRange { input: 0, start: 0, end: frames as u64 },
                labels: Vec::new(),
            },
            rig: Arc::new(self.rig.clone()),
            time_s,
            state,
            action: Some(channels(&self.leader)),
            ragged_rows: 0,
            extras: Extras::default(),
        }
    }

    pub fn measure(&self, check: &'static Check) -> Measured {
        Measured::of(check, &self.episode())
    }
}

/// What a check wrote down.
#[derive(Debug)]
pub struct Measured {
    pub readings: Vec<Reading>,
    pub not_assessed: Vec<NotAssessed>,
}

impl Measured {
    pub fn of(check: &'static Check, episode: &Episode) -> Self {
        let mut sheet = Sheet::new(check.spec());
        let (params, parts) = (Params::default(), Parts::of(episode, &[check]));
        parts.studies(episode, settings(&params)).measure(check, &params, &mut sheet);
        let (readings, not_assessed) = sheet.into_parts();
        Self { readings, not_assessed }
    }

    fn find(&self, metric: &str, joint: Option<u16>) -> Option<&Reading> {
        self.readings.iter().find(|r| r.metric.id == metric && r.joint == joint)
    }

    /// The reading, or `NaN`, which no comparison accepts.
    pub fn value(&self, metric: &str) -> f64 {
        self.find(metric, None).map_or(f64::NAN, |reading| reading.value)
    }

    pub fn joint(&self, metric: &str, joint: u16) -> f64 {
        self.find(metric, Some(joint)).map_or(f64::NAN, |reading| reading.value)
    }

    pub fn spans(&self, metric: &str) -> Vec<(u32, u32)> {
        self.find(metric, None).map_or_else(Vec::new, spans_of)
    }

    pub fn joint_spans(&self, metric: &str, joint: u16) -> Vec<(u32, u32)> {
        self.find(metric, Some(joint)).map_or_else(Vec::new, spans_of)
    }

    pub fn missing(&self, metric: &str) -> bool {
        self.readings.iter().all(|reading| reading.metric.id != metric)
    }

    pub fn is_not_assessed(&self, words: &str) -> bool {
        self.not_assessed.iter().any(|hole| hole.reason.contains(words))
    }
}

fn spans_of(reading: &Reading) -> Vec<(u32, u32)> {
    reading.spans.as_slice().iter().map(|span| (span.start, span.end)).collect()
}
