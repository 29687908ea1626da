//! Sessions of which the answer is known by arithmetic.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;
use crate::model::{Family, Reading, Row, Severity, SpanList, Unit};

static SIGNED: Metric = Metric::of_joint("signed", Unit::Radian, "with its sign");
static SIZE: Metric = Metric::of_joint("size", Unit::Radian, "without")
    .above(Some(2.0), Some(5.0))
    .pooled(Pool::About { signed: &SIGNED, neutral: 0.0 });
static ALIKE: Metric = Metric::of_joint("alike", Unit::Ratio, "how alike")
    .below(None, Some(-0.8))
    .pooled(Pool::Session(Bound::Below(Limit::new(None, Some(-0.5)))));
static SHARE: Metric =
    Metric::of_episode("share", Unit::Share, "of the take").above(Some(0.1), None);
static SPEC: CheckSpec = CheckSpec {
    id: "sample",
    family: Family::Tracking,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: "",
    cause: "",
    remedy: "",
    reference: "",
    metrics: &[&SIZE, &SIGNED, &ALIKE, &SHARE],
    params: &[],
};

fn row() -> Row<'static> {
    Row { frames: 300, ..Row::default() }
}

fn reading(metric: &'static Metric, value: f64) -> Reading {
    let spans = SpanList::default();
    Reading { check: &SPEC, metric, joint: Some(1), value, spans, note: None }
}

/// A session with these offsets; none where it could not be assessed.
fn offsets(offsets: impl IntoIterator<Item = Option<f64>>) -> Vec<SessionFinding> {
    let mut ledger = Ledger::default();
    for offset in offsets {
        let both = |v: f64| [reading(&SIZE, v.abs()), reading(&SIGNED, v)];
        ledger.push(row(), offset.map(both).iter().flatten());
    }
    pooled(&ledger, &Limits::default())
}

fn alike(values: &[f64]) -> Vec<SessionFinding> {
    let mut ledger = Ledger::default();
    for value in values {
        ledger.push(row(), &[reading(&ALIKE, *value)]);
    }
    pooled(&ledger, &Limits::default())
}

/// A fact of the rig is reported from two episodes on, and not where half of them lack it.
#[test]
fn a_fact_of_the_rig_is_told_once_for_the_session() {
    static FACT: Metric = Metric::of_episode("fact", Unit::Share, "so or not")
        .pooled(Pool::Fact(Bound::Above(Limit::new(Some(0.99), None))));
    let told = |values: &[f64]| {
        let mut ledger = Ledger::default();
        for value in values {
            ledger.push(row(), &[Reading { joint: None, ..reading(&FACT, *value) }]);
        }
        pooled(&ledger, &Limits::default()).iter().map(|f| (f.severity, f.episodes)).collect()
    };
    let none: Vec<(Severity, u64)> = Vec::new();
    assert_eq!(told(&[1.0, 1.0]), [(Severity::Warn, 2)]);
    assert_eq!((told(&[1.0]), told(&[1.0, 0.3, 0.2])), (none.clone(), none));
}

fn spread(n: i32) -> f64 {
    0.1 * f64::from(n % 9 - 4)
}

#[test]
fn an_offset_comes_with_its_median_and_interval() {
    let found = offsets((0..9).map(|n| Some(-4.2 + spread(n))));
    assert_eq!(found.len(), 1);
    let finding = &found[0];
    // Ranks 2 and 8 of nine are 95 % of the median: 3.9 and 4.5 about 4.2.
    let interval = finding.interval.map(|i| (i.low, i.high));
    assert_eq!((finding.value, interval), (4.2, Some((3.9, 4.5))));
    assert_eq!((finding.severity, finding.limit), (Severity::Warn, 2.0));
    assert_eq!((finding.read, finding.episodes, finding.of), (9, 9, 9));
    assert!(!finding.at_limit && finding.stretch.is_none());
}

#[test]
fn a_limit_within_the_interval_is_said() {
    let found = offsets((0..18).map(|n| Some(2.15 + 3.0 * spread(n))));
    assert!(found.len() == 1 && found[0].at_limit, "{found:?}");
    let clear = offsets((0..18).map(|n| Some(3.5 + spread(n))));
    assert!(clear.len() == 1 && !clear[0].at_limit, "{clear:?}");
}

#[test]
fn noise_about_zero_is_no_offset_though_most_episodes_warn() {
    assert!(offsets((0..40).map(|n| Some(if n % 2 == 0 { 2.5 } else { -2.5 }))).is_empty());
    assert!(offsets((0..40).map(|n| Some(1.9 + spread(n) * 0.2))).is_empty());
    assert_eq!(offsets((0..40).map(|_| Some(2.5))).len(), 1);
}

#[test]
fn the_few_episodes_that_can_be_assessed_decide() {
    let found = offsets((0..50).map(|n| (n % 8 == 0).then_some(6.0)));
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].severity, found[0].episodes, found[0].of), (Severity::Fail, 7, 7));
    assert!(offsets((0..50).map(|n| (n == 8).then_some(6.0))).is_empty());
}

#[test]
fn what_begins_in_mid_session_is_no_cause_of_all_of_it() {
    let from =
        |first: i32| move |n: i32| Some(if n >= first { 4.0 + spread(n) } else { spread(n) });
    let late = offsets((0..50).map(from(30)));
    assert_eq!(late.len(), 1);
    assert_eq!(late[0].stretch, Some(Stretch { first: 30.into(), last: 49.into() }));
    assert_eq!((late[0].episodes, late[0].of, late[0].read), (20, 50, 20));
    assert!((late[0].value - 4.0).abs() < 0.11, "{late:?}");
    // The larger part is no more the whole than the smaller one.
    let early = offsets((0..50).map(from(10)));
    assert_eq!(early[0].stretch, Some(Stretch { first: 10.into(), last: 49.into() }));
    assert_eq!((early[0].episodes, early[0].of), (40, 50));
    // Rows that were not assessed do not move the ends.
    let gaps = offsets((0..50).map(|n| if n % 3 == 0 { None } else { from(30)(n) }));
    assert_eq!(gaps[0].stretch, Some(Stretch { first: 31.into(), last: 49.into() }));
}

#[test]
fn weak_evidence_adds_up_only_if_there_is_enough_of_it() {
    let found = alike(&[-0.62, -0.7, -0.55, -0.66, -0.71, -0.6, -0.64]);
    assert!(found.len() == 1 && found[0].severity == Severity::Fail, "{found:?}");
    assert_eq!(found[0].limit, -0.5);
    assert!(alike(&[-0.62, -0.7, -0.66, -0.71, -0.6]).is_empty(), "five are too few");
    assert!(alike(&[-0.62, -0.7, -0.1, -0.66, -0.71, -0.6, 0.3, -0.6]).is_empty());
    let strong = alike(&[-0.95, -0.97, -0.9]);
    assert!(strong.len() == 1 && strong[0].limit == -0.8, "{strong:?}");
}

#[test]
fn one_episode_is_no_session_and_what_is_of_the_take_is_not_pooled() {
    assert!(offsets([Some(9.0)]).is_empty());
    let mut ledger = Ledger::default();
    for _ in 0..20 {
        ledger.push(row(), &[reading(&SHARE, 0.5)]);
    }
    assert!(pooled(&ledger, &Limits::default()).is_empty());
}

/// Offsets drawn about a true one within the limit, as wide as single episodes are read.
#[test]
fn sound_sessions_of_noisy_episodes_find_nothing() {
    let mut random = ChaCha8Rng::seed_from_u64(3);
    for (count, truth, noise) in [(5, 1.0, 0.6), (12, 1.2, 1.0), (50, 1.2, 1.5), (200, 0.0, 3.0)] {
        let mut found = 0;
        for _ in 0..1000 {
            let normal: Vec<f64> = (0..count)
                .map(|_| (0..12).map(|_| random.random::<f64>()).sum::<f64>() - 6.0)
                .collect();
            found += offsets(normal.iter().map(|z| Some(truth + noise * z))).len();
        }
        assert!(found <= 15, "{count} episodes: {found} of 1000");
    }
}

/// At its limit an episode is within it, and so is a session of such: three degrees as the ledger
/// keeps them are a hair more, and so is 1.1 less 1.
#[test]
fn a_session_at_the_limit_is_within_it() {
    static GAIN: Metric = Metric::of_joint("gain", Unit::Ratio, "gain");
    static OFF: Metric = Metric::of_joint("off", Unit::Ratio, "off one")
        .above(Some(0.1), None)
        .pooled(Pool::About { signed: &GAIN, neutral: 1.0 });
    static ANGLE: Metric = Metric::of_joint("angle", Unit::Radian, "an angle")
        .above(Some(3.0 * std::f64::consts::PI / 180.0), None)
        .pooled(Pool::Own);
    let session = |gain: f64, degrees: f64| {
        let mut ledger = Ledger::default();
        for _ in 0..12 {
            let readings = [
                reading(&OFF, (gain - 1.0).abs()),
                reading(&GAIN, gain),
                reading(&ANGLE, degrees.to_radians()),
            ];
            ledger.push(row(), &readings);
        }
        pooled(&ledger, &Limits::default()).iter().map(|f| f.metric.id).collect::<Vec<_>>()
    };
    assert!(session(1.1, 3.0).is_empty(), "{:?}", session(1.1, 3.0));
    assert_eq!(session(1.100_001, 3.000_01), ["off", "angle"]);
}
