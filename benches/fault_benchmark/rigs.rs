//! Which rig, loop, unit and resolution a trial is made on: every combination comes up in turn.

use teleassay::demo::{Recipe, StoredUnit, healthy};

/// Rates of the loop, hertz.
pub const RATES_HZ: [f64; 5] = [25.0, 30.0, 50.0, 100.0, 200.0];
/// Joints of the rig; 14 are two arms.
pub const JOINTS: [usize; 4] = [6, 7, 8, 14];
/// Counts to a turn, and the unit of the table: sensors of 12, 14 and 16 bits, and angles rounded
/// to a tenth of a degree.
pub const STORED: [(f64, StoredUnit); 6] = [
    (4096.0, StoredUnit::Deg),
    (16_384.0, StoredUnit::Rad),
    (65_536.0, StoredUnit::Deg),
    (4096.0, StoredUnit::Rad),
    (3600.0, StoredUnit::Deg),
    (4096.0, StoredUnit::Counts),
];

/// Where a fault is planted.
#[derive(Debug, Clone)]
pub struct Spot {
    /// Which repetition.
    pub turn: usize,
    /// The joint's name, where the fault affects one.
    pub joint: Option<String>,
    /// The sound rig, for one episode.
    pub sound: Recipe,
}

impl Spot {
    /// The rig of a repetition, its hand drawn from the seed; the joint is one of `joints` in turn.
    pub fn new(turn: usize, seed: u64, joints: &[&str]) -> Self {
        let count = JOINTS[turn % JOINTS.len()];
        // One step on with every round over the rates, so that no combination is left out.
        let (counts_per_turn, unit) = STORED[(turn + turn / 20) % STORED.len()];
        let seed = seed + turn as u64;
        let drawn = healthy(RATES_HZ[turn % RATES_HZ.len()], count, unit, 1, seed);
        let sound = Recipe { counts_per_turn, ..drawn };
        let place = turn / 2 + turn / 20;
        let prefix = match (count, place % 2) {
            (14, 0) => "left_",
            (14, _) => "right_",
            _ => "",
        };
        let joint = joints.get(place % joints.len().max(1)).map(|name| format!("{prefix}{name}"));
        Self { turn, joint, sound }
    }

    /// Rate of the loop, hertz.
    pub fn rate_hz(&self) -> f64 {
        self.sound.rate_hz
    }

    /// Period of the loop, seconds.
    pub fn period_s(&self) -> f64 {
        self.sound.period_s()
    }

    /// What slow motion is late by on the sound rig, milliseconds.
    pub fn lag_ms(&self) -> f64 {
        let servo = &self.sound.servo;
        servo.dead_time_ms + servo.time_constant_ms + 500.0 / self.rate_hz()
    }

    /// The joint's index.
    pub fn place(&self) -> Option<u16> {
        let name = self.joint.as_ref()?;
        let joints = self.sound.rig().joints;
        joints.iter().position(|joint| joint.name == *name).map(|place| place as u16)
    }

    /// Another joint of the same arm.
    pub fn beside(&self, name: &str) -> String {
        let own = self.joint.as_deref().unwrap_or("");
        let prefix = ["left_", "right_"].into_iter().find(|prefix| own.starts_with(prefix));
        format!("{}{name}", prefix.unwrap_or(""))
    }
}
