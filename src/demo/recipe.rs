//! The recipe of a simulated session: the rig, the hand, the logger and what is planted.

use serde::{Deserialize, Serialize};

use super::arm;
use super::error::DemoError;
use super::fault::Fault;
use super::planted::Planted;
use crate::model::{AngleUnit, ClockStorage, Joint, Rig, count};

/// The unit in which a table holds its joints.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StoredUnit {
    /// Degrees.
    #[default]
    Deg,
    /// Radians.
    Rad,
    /// Encoder counts, zero at mid-range.
    Counts,
}

/// The hand on the leader.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Operator {
    /// 1 is a practised hand; 0.7 is slow, 1.4 is fast.
    pub pace: f64,
    /// How far apart tray and pots lie: 1 is the usual layout.
    pub layout_scale: f64,
    /// Amplitude of the 8-12 Hz tremor in motion, degrees.
    pub tremor_deg: f64,
    /// Amplitude of the slow wander, degrees.
    pub wander_deg: f64,
    /// Shortest and longest pause between two motions, seconds.
    pub dwell_s: [f64; 2],
    /// Standard deviation of the log of a motion's duration.
    pub variation: f64,
    /// How long the hand waits over the pot with the plug, beyond the usual pause, seconds.
    pub wait_s: f64,
}

impl Default for Operator {
    fn default() -> Self {
        Self {
            pace: 0.85,
            layout_scale: 1.0,
            tremor_deg: 0.1,
            wander_deg: 0.08,
            dwell_s: [0.1, 0.5],
            variation: 0.12,
            wait_s: 0.0,
        }
    }
}

/// The follower's servos, bus and gears.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Servo {
    /// From the leader's reading to the command's arrival in the servo, milliseconds.
    pub dead_time_ms: f64,
    /// Time constant of the servo, milliseconds.
    pub time_constant_ms: f64,
    /// Fastest the servo turns, degrees per second.
    pub speed_limit_deg_s: f64,
    /// Largest acceleration, degrees per second squared; none means unlimited.
    pub acceleration_limit_deg_s2: Option<f64>,
    /// Backlash of gears and horn, from stop to stop, degrees.
    pub backlash_deg: f64,
    /// Sag of the shoulder at full reach, degrees.
    pub sag_deg: f64,
    /// Standard deviation of the encoders' noise before rounding, counts.
    pub noise_counts: f64,
    /// Relative standard deviation of time constant and backlash from joint to joint.
    pub between_joints: f64,
}

impl Default for Servo {
    fn default() -> Self {
        Self {
            dead_time_ms: 20.0,
            time_constant_ms: 55.0,
            speed_limit_deg_s: 270.0,
            acceleration_limit_deg_s2: None,
            backlash_deg: 0.7,
            sag_deg: 1.0,
            noise_counts: 0.03,
            between_joints: 0.05,
        }
    }
}

/// The logger's loop and clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Logger {
    /// Standard deviation of a cycle's latency, as a share of the period.
    pub jitter: f64,
    /// Share of cycles that start late by 0.3 to 0.8 of a period; the schedule then recovers.
    pub late_share: f64,
    /// What the clock showed when the session began, seconds.
    pub clock_start_s: f64,
}

impl Default for Logger {
    fn default() -> Self {
        Self { jitter: 0.015, late_share: 0.003, clock_start_s: 5_217.25 }
    }
}

/// Everything that a simulated session is made from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Recipe {
    /// Every random number follows from this one.
    pub seed: u64,
    /// Number of episodes.
    pub episodes: u64,
    /// Declared rate of the loop, hertz.
    pub rate_hz: f64,
    /// Number of joints, grippers included: 6, 7 or 8 for one arm, 12, 14 or 16 for two.
    pub joints: usize,
    /// Unit of the table.
    pub unit: StoredUnit,
    /// Counts to a turn of the encoders.
    pub counts_per_turn: f64,
    /// The hand.
    pub operator: Operator,
    /// The follower.
    pub servo: Servo,
    /// The logger.
    pub logger: Logger,
    /// What is wrong, and where.
    pub faults: Vec<Planted>,
}

impl Default for Recipe {
    fn default() -> Self {
        Self {
            seed: 1,
            episodes: 1,
            rate_hz: 30.0,
            joints: 6,
            unit: StoredUnit::default(),
            counts_per_turn: 4096.0,
            operator: Operator::default(),
            servo: Servo::default(),
            logger: Logger::default(),
            faults: Vec::new(),
        }
    }
}

impl Recipe {
    /// Plants a fault: in all episodes if `episodes` is empty.
    #[must_use]
    pub fn with(mut self, fault: Fault, joint: Option<&str>, episodes: &[u64]) -> Self {
        let joint = joint.map(str::to_owned);
        self.faults.push(Planted { fault, joint, episodes: episodes.to_vec() });
        self
    }

    /// Sets the number of episodes; faults planted in episodes beyond it are left out.
    #[must_use]
    pub fn of_episodes(mut self, episodes: u64) -> Self {
        self.episodes = episodes;
        self.faults.retain_mut(|planted| {
            let everywhere = planted.episodes.is_empty();
            planted.episodes.retain(|episode| *episode < episodes);
            everywhere || !planted.episodes.is_empty()
        });
        self
    }

    /// Period of the declared rate, seconds.
    pub fn period_s(&self) -> f64 {
        1.0 / self.rate_hz
    }

    /// One count in radians.
    pub fn count_rad(&self) -> f64 {
        std::f64::consts::TAU / self.counts_per_turn
    }

    /// The table's unit, as the rest of the crate names it.
    pub fn angle_unit(&self) -> AngleUnit {
        match self.unit {
            StoredUnit::Deg => AngleUnit::Degree,
            StoredUnit::Rad => AngleUnit::Radian,
            StoredUnit::Counts => AngleUnit::Counts { per_turn: self.counts_per_turn },
        }
    }

    /// Whether the whole session's stamps are kept in 32 bits.
    pub(super) fn coarse_clock(&self) -> bool {
        self.faults
            .iter()
            .any(|p| matches!(p.fault, Fault::CoarseStamps { .. }) && p.episodes.is_empty())
    }

    /// The rig as a profile would declare it: names, limits, rate, unit and resolution.
    /// `observed` is empty: a survey of the session fills it.
    pub fn rig(&self) -> Rig {
        let joint = |spec: arm::JointSpec| Joint {
            lower: Some(spec.lower_deg.to_radians()),
            upper: Some(spec.upper_deg.to_radians()),
            max_speed: Some(self.servo.speed_limit_deg_s.to_radians()),
            gripper: spec.gripper,
            arm: spec.arm.map(Into::into),
            count: self.count_rad(),
            ..Joint::named(spec.name)
        };
        let slow = self.faults.iter().find_map(|p| match p.fault {
            Fault::SlowLoop { rate_hz } if p.episodes.is_empty() => Some(rate_hz),
            _ => None,
        });
        let precision_bits = if self.coarse_clock() { 24 } else { 53 };
        Rig {
            joints: arm::joints(self.joints).into_iter().map(joint).collect(),
            rate_hz: Some(self.rate_hz),
            period_s: 1.0 / slow.unwrap_or(self.rate_hz),
            clock: ClockStorage::Float { precision_bits, scale_s: 1.0 },
            unit: self.angle_unit(),
            unit_declared: true,
            ..Rig::default()
        }
    }

    /// Checks that the rig can do what the recipe asks.
    ///
    /// # Errors
    /// Names the first thing that it cannot do.
    pub fn check(&self) -> Result<(), DemoError> {
        let refuse = |reason: String| Err(DemoError::Recipe(reason));
        if !matches!(self.joints, 6 | 7 | 8 | 12 | 14 | 16) {
            return refuse(format!(
                "{}: one arm has 6, 7 or 8, two arms 12, 14 or 16",
                count(self.joints as u64, "joint")
            ));
        }
        if self.episodes == 0 {
            return refuse("no episodes".to_owned());
        }
        if !(5.0..=1000.0).contains(&self.rate_hz) {
            return refuse(format!("rate_hz = {}: give 5 to 1000", self.rate_hz));
        }
        if !(self.operator.pace > 0.0 && self.counts_per_turn >= 256.0) {
            return refuse("pace must be above 0 and counts_per_turn at least 256".to_owned());
        }
        let names: Vec<String> = arm::joints(self.joints).into_iter().map(|j| j.name).collect();
        for planted in &self.faults {
            planted.check(&names, self.episodes).or_else(&refuse)?;
        }
        Ok(())
    }
}
