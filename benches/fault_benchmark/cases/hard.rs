//! Faults at fail severity.

use std::f64::consts::FRAC_1_PI;

use teleassay::demo::{Fault, Recipe, StoredUnit};
use teleassay::model::{Channels, Episode};

use super::super::rigs::Spot;
use super::super::sizes;
use super::{ARM, Case, Grade, UNLOADED, on_joint, with};

fn fail(check: &'static str, what: &'static str, plant: fn(&Spot) -> Recipe) -> Case {
    Case::new(check, Grade::Fail, what, plant)
}

/// The origin of an epoch at which neighbouring numbers of 32 bits lie `share` periods apart, or
/// the next power of two above.
pub(super) fn origin_s(spot: &Spot, share: f64) -> f64 {
    1.5 * 2f64.powf((share * spot.period_s()).log2().ceil() + 23.0)
}

/// A drift of so many frames, of 15 ms at least.
pub(super) fn drift_ms(spot: &Spot, frames: f64) -> f64 {
    frames * (spot.period_s() * 1e3).max(15.0)
}

/// A hand that takes its time: how the lag goes is seen in windows of 5 s, six at least.
pub(super) fn at_leisure(mut recipe: Recipe) -> Recipe {
    recipe.operator.pace = 0.25;
    recipe.operator.dwell_s = [0.6, 0.9];
    recipe
}

pub(super) fn cases() -> Vec<Case> {
    let mut all = timing();
    all.extend(signal());
    all.extend(mapping());
    all.extend(tracking());
    all
}

fn timing() -> Vec<Case> {
    vec![
        fail("dropped-frames", "5.5 % of the frames lost, 1 to 3 at a time", |s| {
            with(s, Fault::DroppedFrames { share: 0.055, burst: 1 + s.turn % 3 })
        })
        .sized(sizes::DROPPED),
        fail("dropped-frames", "a gap of 0.45 s", |s| with(s, Fault::LongGap { seconds: 0.45 }))
            .sized(sizes::DROPPED),
        fail("repeated-frames", "1.8 % of the rows twice", |s| {
            with(s, Fault::RepeatedFrames { share: 0.018 })
        })
        .sized(sizes::REPEATED),
        fail(
            "timestamp-jitter",
            "37.5 % of a period (most that keeps the order), to 100 Hz",
            |s| {
                let mut recipe = with(s, Fault::Jitter { share: 0.375 });
                recipe.rate_hz = recipe.rate_hz.min(100.0);
                recipe
            },
        ),
        fail("frame-rate", "17 % slower than declared", |s| {
            with(s, Fault::SlowLoop { rate_hz: 0.83 * s.rate_hz() })
        })
        .sized(sizes::RATE),
        fail("non-monotonic-time", "the clock set back by 0.4 s", |s| {
            with(s, Fault::ClockBackward { seconds: 0.4 })
        }),
        fail("non-monotonic-time", "a jump of 1.75 s", |s| {
            with(s, Fault::LongGap { seconds: 1.75 })
        }),
        fail("clock-source", "stamps 0.75 to 1.5 periods apart", |s| {
            with(s, Fault::CoarseStamps { origin_s: origin_s(s, 0.75) })
        }),
        fail("duration", "broken off after 0.6 s", |s| with(s, Fault::Aborted { seconds: 0.6 })),
    ]
}

fn signal() -> Vec<Case> {
    vec![
        fail("missing-values", "0.5 % of the values missing, one by one", |s| {
            with(s, Fault::MissingValues { share: 0.005, run: 1 })
        })
        .on(ARM)
        .sized(sizes::MISSING),
        fail("missing-values", "four frames in a row missing", |s| {
            with(s, Fault::MissingValues { share: 1e-6, run: 4 })
        })
        .on(ARM),
        fail("dead-joint", "no torque", |s| with(s, Fault::DeadJoint)).on(ARM),
        fail("frozen-follower", "0.9 s of the same readings in motion", |s| {
            with(s, Fault::FrozenFollower { seconds: 0.9 })
        })
        .sized(sizes::FROZEN),
        fail("stale-readings", "3 % of a joint's frames stale", |s| {
            on_joint(s, Fault::StaleReadings { share: 0.03 })
        })
        .on(&["waist"])
        .at_least(2),
        fail("stale-readings", "3 % of the rows stale", |s| {
            with(s, Fault::StaleReadings { share: 0.03 })
        })
        .at_least(2),
        fail("reading-held", "a joint's reading holds for 0.3 to 2 s, 20 to 1,000 Hz", |s| {
            let rate_hz = [20.0, 30.0, 50.0, 100.0, 200.0, 500.0, 1000.0][s.turn % 7];
            Recipe { rate_hz, ..s.sound.clone() }
        })
        .on(ARM)
        .at_least(0)
        .beside(hold),
        fail("spikes", "0.6 % of the readings 12 degrees off", |s| {
            let count = (0.09 * s.rate_hz()).ceil().max(3.0) as usize;
            with(s, Fault::Spikes { count, deg: 12.0 })
        })
        .on(ARM)
        .sized(sizes::SPIKES),
        fail("encoder-wrap", "the zero within the work range", |s| with(s, Fault::EncoderWrap))
            .on(ARM)
            .sized(sizes::WRAPS),
        fail("decode-error", "the sign bit of 12, of 16 bits, two's complement", |s| {
            let weight = [32_768.0, 2048.0, 65_536.0][s.turn % 3];
            let counts =
                Recipe { unit: StoredUnit::Counts, counts_per_turn: 4096.0, ..s.sound.clone() };
            counts.with(Fault::DecodeError { weight }, s.joint.as_deref(), &[])
        })
        .on(&["waist"]),
        fail("limit-dwell", "9 degrees past the stop for 9 % of the time", |s| {
            with(s, Fault::Overreach { push_deg: 9.0, seconds: 1.2 })
        })
        .on(&["waist", "wrist_pitch", "wrist_roll", "elbow"]),
        fail("leader-overreach", "16 degrees past the stop", |s| {
            with(s, Fault::Overreach { push_deg: 16.0, seconds: 1.2 })
        })
        .on(&["waist", "wrist_pitch", "wrist_roll", "elbow"])
        .sized(sizes::OVERREACH),
    ]
}

/// Holds a joint's reading from some moment on that the joint then leaves by 5 degrees.
fn hold(spot: &Spot, episode: &mut Episode) {
    let (frames, joints) = (episode.frames(), episode.state.joints());
    let Some(place) = spot.place().map(usize::from) else { return };
    let part = |golden: f64| (spot.turn as f64 * golden).fract();
    let seconds = 0.3 + 1.7 * part(0.618_034);
    let length = (seconds / episode.rig.period_s).round() as usize;
    let truth = episode.state.joint(place).to_vec();
    let leaves = |start: &usize| {
        let held = truth[*start];
        truth[*start..start + length].iter().any(|v| (v - held).abs() > 5f32.to_radians())
    };
    let starts: Vec<usize> = (1..frames - length - 1).filter(leaves).collect();
    let Some(&start) = starts.get((part(0.414_214) * starts.len() as f64) as usize) else { return };
    let mut values = episode.state.clone().into_values();
    values[place * frames..][start + 1..start + length].fill(truth[start]);
    episode.state = Channels::new(values, frames, joints);
}

fn mapping() -> Vec<Case> {
    vec![
        fail("arm-swap", "leader and follower exchanged", |s| with(s, Fault::SwappedArms)),
        fail("joint-swap", "two joints exchanged", |s| {
            let waist = s.joint.as_deref().is_some_and(|name| name.ends_with("waist"));
            let other = s.beside(if waist { "elbow" } else { "waist" });
            with(s, Fault::SwappedJoints { with: other })
        })
        .on(ARM),
        fail("sign-flip", "a joint the other way", |s| with(s, Fault::SignFlip)).on(ARM),
        fail("unit-mismatch", "degrees for radians, counts for degrees, and back", |s| {
            let factors = [180.0 * FRAC_1_PI, 4096.0 / 360.0, 360.0 / 4096.0];
            with(s, Fault::UnitMismatch { factor: factors[s.turn % 3] })
        })
        .on(ARM),
        fail("action-kind", "the action is the state", |s| with(s, Fault::ActionIsState)),
    ]
}

fn tracking() -> Vec<Case> {
    vec![
        fail("tracking-lag", "500 ms on all joints", |s| {
            with(s, Fault::LagAll { ms: 500.0 - s.lag_ms() })
        })
        .sized(sizes::LAG_WITHOUT_BACKLASH),
        fail("tracking-lag", "500 ms on one joint", |s| {
            with(s, Fault::LagJoint { ms: 500.0 - s.lag_ms() })
        })
        .on(ARM),
        fail("lag-variation", "a lag that grows by 5 frames", |s| {
            at_leisure(with(s, Fault::LagDrift { ms: drift_ms(s, 5.25) }))
        })
        .by("lag_drift"),
        fail("neutral-offset", "8.5 degrees", |s| {
            let side = if s.turn % 2 == 0 { 1.0 } else { -1.0 };
            with(s, Fault::NeutralOffset { deg: 8.5 * side })
        })
        .on(ARM)
        .sized(sizes::OFFSET),
        fail("gain-mismatch", "17 % too far, or short", |s| {
            let side = if s.turn % 2 == 0 { 1.0 } else { -1.0 };
            with(s, Fault::GainMismatch { factor: 1.0 + 0.17 * side })
        })
        .on(ARM)
        .sized(sizes::GAIN),
        fail("tracking-loss", "torque off for 1.6 s, all joints", |s| {
            with(s, Fault::TrackingLoss { seconds: 1.6 })
        }),
        fail("tracking-loss", "torque off for 1.6 s, one joint", |s| {
            on_joint(s, Fault::TrackingLoss { seconds: 1.6 })
        })
        .on(UNLOADED),
    ]
}
