//! Faults at warn severity of checks that may fail.

use teleassay::demo::{Fault, Recipe};

use super::super::rigs::Spot;
use super::super::sizes;
use super::hard::{at_leisure, drift_ms, origin_s};
use super::{ARM, Case, Grade, on_joint, with};

fn warn(check: &'static str, what: &'static str, plant: fn(&Spot) -> Recipe) -> Case {
    Case::new(check, Grade::Warn, what, plant)
}

pub(super) fn cases() -> Vec<Case> {
    let mut all = timing();
    all.extend(signal());
    all.extend(tracking());
    all
}

fn timing() -> Vec<Case> {
    vec![
        warn("dropped-frames", "1.8 % of the frames lost, one by one", |s| {
            with(s, Fault::DroppedFrames { share: 0.018, burst: 1 })
        })
        .sized(sizes::DROPPED),
        warn("repeated-frames", "one row twice", |s| {
            with(s, Fault::RepeatedFrames { share: 1e-6 })
        }),
        warn("timestamp-jitter", "20 % of a period, of 10 ms at least", |s| {
            let least = (0.010 / s.period_s()).max(1.0);
            with(s, Fault::Jitter { share: 0.20 * least })
        }),
        warn("frame-rate", "6 % slower than declared", |s| {
            with(s, Fault::SlowLoop { rate_hz: 0.94 * s.rate_hz() })
        })
        .sized(sizes::RATE),
        warn("clock-source", "stamps 0.15 to 0.3 periods apart", |s| {
            with(s, Fault::CoarseStamps { origin_s: origin_s(s, 0.15) })
        }),
    ]
}

fn signal() -> Vec<Case> {
    vec![
        warn("missing-values", "one value missing", |s| {
            with(s, Fault::MissingValues { share: 1e-6, run: 1 })
        })
        .on(ARM),
        warn("frozen-follower", "0.35 s of the same readings in motion", |s| {
            with(s, Fault::FrozenFollower { seconds: 0.35 })
        }),
        warn("stale-readings", "0.6 % of a joint's frames stale", |s| {
            on_joint(s, Fault::StaleReadings { share: 0.006 })
        })
        .on(&["waist"]),
        warn("stale-readings", "0.6 % of the rows stale", |s| {
            with(s, Fault::StaleReadings { share: 0.006 })
        }),
        warn("spikes", "one reading 10 degrees off", |s| {
            with(s, Fault::Spikes { count: 1, deg: 10.0 })
        })
        .on(ARM)
        .sized(sizes::SPIKES),
        warn("limit-dwell", "6 degrees past the stop for 3 % of the time", |s| {
            with(s, Fault::Overreach { push_deg: 6.0, seconds: 0.35 })
        })
        .on(&["waist", "wrist_pitch", "wrist_roll", "elbow"]),
        warn("leader-overreach", "6 degrees past the stop for 3 % of the time", |s| {
            with(s, Fault::Overreach { push_deg: 6.0, seconds: 0.35 })
        })
        .on(&["waist", "wrist_pitch", "wrist_roll", "elbow"]),
        warn("action-kind", "the action is the next row's state", |s| {
            with(s, Fault::ActionIsNextState)
        }),
    ]
}

fn tracking() -> Vec<Case> {
    vec![
        warn("tracking-lag", "225 ms on all joints", |s| {
            with(s, Fault::LagAll { ms: 225.0 - s.lag_ms() })
        })
        .sized(sizes::LAG_WITHOUT_BACKLASH),
        warn("tracking-lag", "225 ms on one joint", |s| {
            with(s, Fault::LagJoint { ms: 225.0 - s.lag_ms() })
        })
        .on(ARM),
        warn("lag-variation", "a joint 3.5 frames (70 ms at least) after the others", |s| {
            with(s, Fault::LagJoint { ms: 3.5 * (s.period_s() * 1e3).max(20.0) })
        })
        .by("lag_apart")
        .on(ARM),
        warn("lag-variation", "a lag that grows by 2 frames", |s| {
            at_leisure(with(s, Fault::LagDrift { ms: drift_ms(s, 2.0) }))
        })
        .by("lag_drift"),
        warn("neutral-offset", "3.5 degrees", |s| {
            let side = if s.turn % 2 == 0 { 1.0 } else { -1.0 };
            with(s, Fault::NeutralOffset { deg: 3.5 * side })
        })
        .on(ARM)
        .sized(sizes::OFFSET),
        warn("gain-mismatch", "7.5 % too far, or short", |s| {
            let side = if s.turn % 2 == 0 { 1.0 } else { -1.0 };
            with(s, Fault::GainMismatch { factor: 1.0 + 0.075 * side })
        })
        .on(ARM)
        .sized(sizes::GAIN),
    ]
}
