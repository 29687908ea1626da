//! Sound sessions of plain kinematics, as a table: minimum-jerk moves, sines and logistics at any rate,
//! with stamps of several clocks. Shares nothing with the simulated rig.

use std::error::Error;
use std::f64::consts::TAU;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float32Array, Float64Array, Int64Array, RecordBatch};
use teleassay::model::Outcome;
use teleassay::source::{Dataset, Declared};

use crate::support::{measured::audit, tables::parquet};

const JOINTS: [&str; 5] = ["base", "shoulder", "elbow", "wrist", "gripper"];

/// Numbers drawn by splitmix64 (Steele, Lea and Flood 2014).
pub struct Draw(pub u64);

impl Draw {
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) as f64 / u64::MAX as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Near enough to a normal: a sum of uniform numbers, within 3.5 standard deviations.
    pub fn normal(&mut self) -> f64 {
        (0..4).map(|_| self.between(-1.0, 1.0)).sum::<f64>() * 0.75f64.sqrt()
    }
}

/// What stamps say of the rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Clock {
    /// Jitter of 1 % of the period, standard deviation.
    Steady,
    /// The same, and up to 500 ppm fast or slow, changing every few seconds.
    Slewing,
    /// Rounded to so many seconds.
    Rounded(f64),
    /// This share of the rows is lost, one by one.
    Lossy(f64),
}

impl Clock {
    /// Times at which rows were taken, and their stamps.
    pub fn rows(self, draw: &mut Draw, rate_hz: f64, seconds: f64) -> Vec<(f64, f64)> {
        let due = (0..(seconds * rate_hz) as usize).map(|row| row as f64 / rate_hz);
        let (mut drift_s, mut pace, mut until_s) = (0.0, 0.0, 0.0);
        let mut rows = Vec::new();
        for due_s in due {
            let taken_s = due_s + 0.01 * draw.normal() / rate_hz;
            if due_s >= until_s {
                (pace, until_s) = (draw.between(-5e-4, 5e-4), due_s + draw.between(1.0, 4.0));
            }
            drift_s += pace / rate_hz;
            let lost = matches!(self, Self::Lossy(share) if draw.unit() < share);
            let stamp_s = match self {
                Self::Slewing => taken_s + drift_s,
                Self::Rounded(quantum_s) => (taken_s / quantum_s).round() * quantum_s,
                _ => taken_s,
            };
            if !lost {
                rows.push((taken_s, stamp_s));
            }
        }
        rows
    }
}

/// How the hand moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Style {
    /// Moves of minimum jerk from stop to stop (Flash and Hogan 1985).
    MinimumJerk,
    /// Sines under an envelope.
    Sines,
    /// Logistics from stop to stop.
    Logistic,
}

/// One joint's way through an episode: where it goes, in radians, as a function of time.
fn way(
    draw: &mut Draw,
    style: Style,
    legs: &[(f64, f64)],
    seconds: f64,
) -> impl Fn(f64) -> f64 + use<> {
    let stops: Vec<f64> = (0..=legs.len()).map(|_| draw.between(-0.9, 0.9)).collect();
    let waves: Vec<(f64, f64, f64)> = [(0.45, 0.2), (0.25, 0.37), (0.12, 0.61)]
        .map(|(size, hz)| (size, hz * draw.between(0.9, 1.1), draw.between(0.0, TAU)))
        .to_vec();
    let (legs, rest_s) = (legs.to_vec(), 0.3);
    move |t| match style {
        Style::Sines => {
            let smooth = |x: f64| x.clamp(0.0, 1.0).powi(2) * (3.0 - 2.0 * x.clamp(0.0, 1.0));
            let envelope = smooth(t - rest_s) * smooth(seconds - rest_s - t);
            let wave = waves.iter().map(|(size, hz, at)| size * (TAU * hz * t + at).sin());
            stops[0] + envelope * wave.sum::<f64>()
        }
        _ => legs.iter().enumerate().fold(stops[0], |at, (leg, (start_s, length_s))| {
            let x = ((t - start_s) / length_s).clamp(0.0, 1.0);
            let share = if style == Style::MinimumJerk {
                x.powi(3) * (10.0 - 15.0 * x + 6.0 * x * x)
            } else {
                // From 0.5 % of a logistic to all but that.
                let logistic = |x: f64| 1.0 / (1.0 + (-10.6 * (x - 0.5)).exp());
                (logistic(x) - logistic(0.0)) / (logistic(1.0) - logistic(0.0))
            };
            at + share * (stops[leg + 1] - stops[leg])
        }),
    }
}

/// A session's rows.
pub struct Rows {
    pub episode: Vec<i64>,
    pub time_s: Vec<f64>,
    pub leader: Vec<Vec<f32>>,
    pub follower: Vec<Vec<f32>>,
}

impl Rows {
    /// Episodes of about so many seconds. The follower is 60 ms late on all joints, reads counts of
    /// 0.088 degrees, and the hand trembles by 0.05 degrees at 8 Hz.
    pub fn of(
        draw: &mut Draw,
        style: Style,
        clock: Clock,
        rate_hz: f64,
        episodes: i64,
        seconds: f64,
    ) -> Self {
        let mut rows = Self {
            episode: Vec::new(),
            time_s: Vec::new(),
            leader: vec![Vec::new(); JOINTS.len()],
            follower: vec![Vec::new(); JOINTS.len()],
        };
        let count = 360.0f64.to_radians() / 4096.0;
        for episode in 0..episodes {
            let seconds = seconds * draw.between(0.92, 1.08);
            // Legs that fill the episode but for 0.3 s of rest before and after, and between them.
            let legs = (seconds / 2.0) as usize;
            let each_s = (seconds - 0.3) / legs as f64;
            let legs: Vec<(f64, f64)> = (0..legs)
                .map(|leg| (0.3 + each_s * leg as f64, each_s - draw.between(0.25, 0.35)))
                .collect();
            let taken = clock.rows(draw, rate_hz, seconds);
            rows.episode.extend(taken.iter().map(|_| episode));
            rows.time_s.extend(taken.iter().map(|(_, stamp_s)| 5.0 + stamp_s));
            for joint in 0..JOINTS.len() {
                let path = way(draw, style, &legs, seconds);
                let (close_s, open_s) = (0.35 * seconds, 0.75 * seconds);
                let phase = draw.between(0.0, TAU);
                let shift = draw.between(-0.003, 0.003);
                let hand = |t: f64| {
                    let tremor = 0.05f64.to_radians() * (50.3 * t + phase).sin();
                    if joint + 1 < JOINTS.len() {
                        return path(t) + tremor;
                    }
                    // A jaw closes and opens by 54 degrees within 0.3 s.
                    let jaw = |from_s: f64| 1.0 / (1.0 + (-(t - from_s) * 30.0).exp());
                    1.05 - 0.94 * (jaw(close_s) - jaw(open_s)) + 0.2 * tremor
                };
                for &(t, _) in &taken {
                    let read = |value: f64| ((value / count).round() * count) as f32;
                    rows.leader[joint].push(read(hand(t)));
                    rows.follower[joint].push(read(hand(t - 0.06) + shift));
                }
            }
        }
        rows
    }

    /// Written, read and measured by every check.
    pub fn audited(&self, file: &Path, rate_hz: Option<f64>) -> Result<Outcome, Box<dyn Error>> {
        audit(&self.opened(file, rate_hz)?, 2)
    }

    /// Written, and opened as a dataset.
    pub fn opened(&self, file: &Path, rate_hz: Option<f64>) -> Result<Dataset, Box<dyn Error>> {
        let episode: ArrayRef = Arc::new(Int64Array::from(self.episode.clone()));
        let time: ArrayRef = Arc::new(Float64Array::from(self.time_s.clone()));
        let mut columns = vec![("episode".to_owned(), episode), ("time".to_owned(), time)];
        for (side, values) in [("leader", &self.leader), ("follower", &self.follower)] {
            for (joint, values) in JOINTS.iter().zip(values) {
                let values: ArrayRef = Arc::new(Float32Array::from(values.clone()));
                columns.push((format!("{side}_{joint}"), values));
            }
        }
        parquet(file, &RecordBatch::try_from_iter(columns)?)?;
        let declared = Declared { rate_hz, ..Declared::default() };
        let path = [file.to_string_lossy().into_owned()];
        Ok(Dataset::open(&path, &declared)?)
    }
}
