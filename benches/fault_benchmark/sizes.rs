//! Sizes held against the planted truth.

use teleassay::demo::{Answer, Fault};

use super::trial::Seen;

/// How errors of a size are summed up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// The 95th percentile of their sizes is at most this.
    P95(f64),
    /// The share that is zero is at least this.
    Exact(f64),
    /// Shown, not asked for: the 95th percentile.
    Shown,
}

impl Goal {
    /// Whether one error is more than what is asked.
    pub fn misses(self, error: f64) -> bool {
        match self {
            Self::P95(most) => error.abs() > most,
            Self::Exact(_) => error.abs() >= 0.5,
            Self::Shown => false,
        }
    }
}

/// A size that a check reads.
#[derive(Clone, Copy)]
pub struct Size {
    /// What it is; cases of the same size are taken together.
    pub what: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// What is asked.
    pub goal: Goal,
    /// The errors of one trial.
    pub of: fn(&Seen) -> Vec<f64>,
}

/// Smallest motion at which backlash is distinguished from lag.
const BACKLASH_KNOWN_DEG: f64 = 20.0;

fn one(error: Option<f64>) -> Vec<f64> {
    error.into_iter().collect()
}

fn answers(seen: &Seen) -> impl Iterator<Item = &Answer> {
    seen.faulty.recording.truth.answers.iter()
}

/// Reading less number of things planted.
fn count_off(seen: &Seen, read: Option<f64>) -> Vec<f64> {
    one(read.map(|read| read - seen.faulty.planted() as f64))
}

/// Lags against the truth, on joints that moved enough, in milliseconds.
fn lags(seen: &Seen, metric: &str, least_deg: f64) -> Vec<f64> {
    let card = &seen.faulty;
    let joints = card.recording.truth.joints.iter().zip(0u16..);
    let off = |(truth, at): (&teleassay::demo::JointTruth, u16)| {
        let moved = card.value("leader_range", Some(at))?.to_degrees() >= least_deg;
        let read = card.value(metric, Some(at)).filter(|_| moved)?;
        Some((read - truth.trail_s) * 1e3)
    };
    joints.filter_map(off).collect()
}

/// Seconds that were planted.
fn seconds(seen: &Seen) -> Option<f64> {
    answers(seen).flat_map(|answer| &answer.time_s).map(|span| span[1] - span[0]).next()
}

pub const DROPPED: Size = Size {
    what: "lost frames, number",
    unit: "frames",
    goal: Goal::Exact(0.98),
    of: |seen| count_off(seen, seen.faulty.value("dropped_frames", None)),
};

pub const REPEATED: Size = Size {
    what: "rows twice, number",
    unit: "rows",
    goal: Goal::Exact(0.98),
    of: |seen| count_off(seen, seen.faulty.value("repeated_frames", None)),
};

pub const MISSING: Size = Size {
    what: "missing values, number",
    unit: "values",
    goal: Goal::Exact(0.98),
    of: |seen| count_off(seen, seen.on_joint("missing_values")),
};

pub const SPIKES: Size = Size {
    what: "spikes, number",
    unit: "spikes",
    goal: Goal::Exact(0.95),
    of: |seen| count_off(seen, seen.on_joint("spikes")),
};

/// Counted on the recording itself: the answer key knows the follower's jumps only.
pub const WRAPS: Size = Size {
    what: "jumps by a turn, leader and follower",
    unit: "jumps",
    goal: Goal::Exact(0.98),
    of: |seen| {
        let card = &seen.faulty;
        let Some(at) = seen.spot.place() else { return Vec::new() };
        let jumps = |column: &[f64]| {
            let turn = std::f64::consts::PI;
            column.windows(2).filter(|pair| (pair[1] - pair[0]).abs() >= turn).count()
        };
        let at = usize::from(at);
        let both = jumps(&card.recording.leader[at]) + jumps(&card.recording.follower[at]);
        one(seen.on_joint("wraps").map(|read| read - both as f64))
    },
};

pub const RATE: Size = Size {
    what: "mean rate",
    unit: "%",
    goal: Goal::P95(0.3),
    of: |seen| {
        let planted = answers(seen).find_map(|answer| match answer.fault {
            Fault::SlowLoop { rate_hz } => Some(rate_hz),
            _ => None,
        });
        let read = seen.faulty.value("mean_rate", None);
        one(read.zip(planted).map(|(read, planted)| (read / planted - 1.0) * 100.0))
    },
};

pub const FROZEN: Size = Size {
    what: "frozen follower",
    unit: "s",
    goal: Goal::Shown,
    of: |seen| {
        let read = seen.faulty.value("frozen", None);
        one(read.zip(seconds(seen)).map(|(read, planted)| read - planted))
    },
};

pub const LEADER_FROZEN: Size = Size {
    what: "frozen leader",
    unit: "s",
    goal: Goal::Shown,
    of: |seen| {
        let read = seen.faulty.value("leader_frozen", None);
        one(read.zip(seconds(seen)).map(|(read, planted)| read - planted))
    },
};

pub const IDLE_HEAD: Size = Size {
    what: "idle head, compared with the sound twin's",
    unit: "s",
    goal: Goal::Shown,
    of: |seen| {
        let sound = seen.sound.as_ref().and_then(|card| card.value("idle_head", None));
        let both = seen.faulty.value("idle_head", None).zip(sound);
        one(both.map(|(read, before)| read - before - 1.75))
    },
};

pub const OVERREACH: Size = Size {
    what: "leader beyond the stop",
    unit: "deg",
    goal: Goal::Shown,
    of: |seen| one(seen.on_joint("overreach").map(|read| read.to_degrees() - 16.0)),
};

pub const HUNTING: Size = Size {
    what: "hunting, peak to peak",
    unit: "deg",
    goal: Goal::Shown,
    of: |seen| one(seen.on_joint("hunting").map(|read| read.to_degrees() - 2.0)),
};

pub const PUSHED: Size = Size {
    what: "push",
    unit: "deg",
    goal: Goal::Shown,
    of: |seen| one(seen.on_joint("pushed").map(|read| read.to_degrees() - 2.6)),
};

pub const LAG_WITHOUT_BACKLASH: Size = Size {
    what: "lag (`lag_without_play`), joints that move 20 degrees and more",
    unit: "ms",
    goal: Goal::P95(3.0),
    of: |seen| lags(seen, "lag_without_play", BACKLASH_KNOWN_DEG),
};

pub const PLAIN_LAG: Size = Size {
    what: "plain lag (`lag`) with backlash of 0.5 to 0.9 degrees, which adds to it",
    unit: "ms",
    goal: Goal::Shown,
    of: |seen| lags(seen, "lag", BACKLASH_KNOWN_DEG),
};

pub const PLAIN_LAG_WITHOUT_BACKLASH: Size = Size {
    what: "plain lag (`lag`) on rigs without backlash, all joints assessed",
    unit: "ms",
    goal: Goal::P95(3.0),
    of: |seen| lags(seen, "lag", 0.0),
};

pub const BACKLASH: Size = Size {
    what: "backlash, joints that move 20 degrees and more",
    unit: "deg",
    goal: Goal::Shown,
    of: |seen| {
        let card = &seen.faulty;
        let joints = card.recording.truth.joints.iter().zip(0u16..);
        let off = |(truth, at): (&teleassay::demo::JointTruth, u16)| {
            let moved = card.value("leader_range", Some(at))?.to_degrees() >= BACKLASH_KNOWN_DEG;
            let read = card.value("play", Some(at)).filter(|_| moved)?;
            Some((read - truth.backlash_rad).to_degrees())
        };
        joints.filter_map(off).collect()
    },
};

pub const BACKLASH_OF_JOINT: Size = Size {
    what: "backlash of a worn joint",
    unit: "deg",
    goal: Goal::Shown,
    of: |seen| one(seen.on_joint("play").map(|read| read.to_degrees() - 2.25)),
};

/// The droop of a loaded joint is there without the fault too: the sound twin's is taken off.
pub const OFFSET: Size = Size {
    what: "neutral offset, compared with the sound twin's",
    unit: "deg",
    goal: Goal::P95(0.3),
    of: |seen| {
        let planted = answers(seen).find_map(|answer| match answer.fault {
            Fault::NeutralOffset { deg } => Some(deg),
            _ => None,
        });
        let both = seen.on_joint("offset_signed").zip(seen.on_sound_joint("offset_signed"));
        let read = both.map(|(faulty, sound)| (faulty - sound).to_degrees());
        one(read.zip(planted).map(|(read, planted)| read - planted))
    },
};

/// A joint that droops under its load shows a slope of its own, which its sound twin has too; the
/// others are held against the planted factor as it is.
pub const GAIN: Size = Size {
    what: "gain",
    unit: "",
    goal: Goal::P95(0.02),
    of: |seen| {
        let planted = answers(seen).find_map(|answer| match answer.fault {
            Fault::GainMismatch { factor } => Some(factor),
            _ => None,
        });
        let name = seen.spot.joint.as_deref().unwrap_or("");
        let loaded = name.ends_with("shoulder") || name.ends_with("elbow");
        let own = if loaded { seen.on_sound_joint("gain") } else { Some(1.0) };
        let truth = planted.zip(own).map(|(planted, own)| planted + own - 1.0);
        one(seen.on_joint("gain").zip(truth).map(|(read, truth)| read - truth))
    },
};
