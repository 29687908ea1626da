//! Checks that exist for these tests alone: the renderers must not depend on any real one.

use teleassay::model::{Bound, CheckSpec, Family, Limit, Metric, Param, Pool, Scope, Unit};

const fn above(warn: f64, fail: f64) -> Bound {
    Bound::Above(Limit::new(Some(warn), Some(fail)))
}

pub static SHARE: Metric = Metric {
    id: "dropped_share",
    summary: "frames missing over frames expected",
    unit: Unit::Share,
    scope: Scope::Episode,
    bound: above(0.005, 0.03),
    cohort: true,
    pool: None,
    recovery: None,
};

pub static GAP: Metric = Metric {
    id: "longest_gap",
    summary: "longest time without a frame",
    unit: Unit::Second,
    scope: Scope::Episode,
    bound: above(0.1, 0.25),
    cohort: false,
    pool: None,
    recovery: None,
};

pub static DROPPED: CheckSpec = CheckSpec {
    id: "dropped-frames",
    family: Family::Timing,
    applies_to: teleassay::model::SignalKind::ALL,
    needs: teleassay::model::Relation::Nothing,
    advisory: false,
    source: "//! Frames that were never written. A loop that overruns leaves a step of two periods.\n\
             //! \n\
             //! The step between stamps is divided by the period and rounded:\n\
             //!\n//!     dropped = sum of max(0, round(dt / T) - 1)\n\
             //! \n\
             //! - A late frame is not a drop: a long step followed by a short one adds up to two.",
    cause: "the recording loop overran: disk, camera or processor",
    remedy: "record in a thread of its own; fewer or smaller streams",
    reference: "common practice, no source",
    metrics: &[&SHARE, &GAP],
    params: &[],
};

pub static LAG_S: Metric = Metric {
    id: "lag",
    summary: "delay of the follower behind the leader",
    unit: Unit::Second,
    scope: Scope::Joint,
    bound: above(0.15, 0.3),
    cohort: true,
    pool: None,
    recovery: None,
};

pub static SEARCH: Param = Param {
    id: "search_s",
    summary: "longest delay that is looked for",
    unit: Unit::Second,
    default: 0.5,
};

pub static LAG: CheckSpec = CheckSpec {
    id: "tracking-lag",
    family: Family::Tracking,
    applies_to: teleassay::model::SignalKind::ALL,
    needs: teleassay::model::Relation::Nothing,
    advisory: false,
    source: "//! How far the follower is behind its leader.",
    cause: "a slow bus, a slow loop, or a servo at its speed limit",
    remedy: "1 ms latency timer, group read and write, higher loop rate",
    reference: "common practice, no source",
    metrics: &[&LAG_S],
    params: &[&SEARCH],
};

pub static OFFSET_RAD: Metric = Metric {
    id: "offset",
    summary: "follower minus leader when both rest",
    unit: Unit::Radian,
    scope: Scope::Joint,
    bound: above(0.0349, 0.0873),
    cohort: true,
    pool: Some(Pool::Own),
    recovery: Some("take the constant offset out of the joint's column"),
};

pub static OFFSET: CheckSpec = CheckSpec {
    id: "neutral-offset",
    family: Family::Tracking,
    applies_to: teleassay::model::SignalKind::ALL,
    needs: teleassay::model::Relation::Nothing,
    advisory: false,
    source: "//! The two neutral points differ.",
    cause: "the two arms were calibrated in different poses, or a horn slipped",
    remedy: "calibrate both arms in the same jig pose; re-seat the horn",
    reference: "common practice, no source",
    metrics: &[&OFFSET_RAD],
    params: &[],
};

pub static RANGE: Metric = Metric {
    id: "frames",
    summary: "length of the episode",
    unit: Unit::Count,
    scope: Scope::Episode,
    bound: Bound::Below(Limit::new(Some(30.0), Some(20.0))),
    cohort: false,
    pool: None,
    recovery: None,
};

pub static MEAN: Metric = Metric {
    id: "mean_speed",
    summary: "mean speed, for context",
    unit: Unit::RadianPerSecond,
    scope: Scope::Episode,
    bound: Bound::Unjudged,
    cohort: true,
    pool: None,
    recovery: None,
};

pub static DURATION: CheckSpec = CheckSpec {
    id: "duration",
    family: Family::Motion,
    applies_to: teleassay::model::SignalKind::ALL,
    needs: teleassay::model::Relation::Nothing,
    advisory: true,
    source: "//! Aborted and forgotten takes.",
    cause: "the take was aborted",
    remedy: "look at it, record it again",
    reference: "common practice, no source",
    metrics: &[&RANGE, &MEAN],
    params: &[],
};

pub static ALL: [&CheckSpec; 4] = [&DROPPED, &LAG, &OFFSET, &DURATION];
