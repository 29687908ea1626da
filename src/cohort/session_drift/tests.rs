//! Sessions made of numbers: sound ones with heavy tails, neighbours alike and a tiring hand, and
//! planted drifts. In 400 sessions of each noise 0, 1, 0, 1 and 4 are alarmed; of 200 planted ramps
//! of 2 degrees 0, 1 and 6 are missed, of steps of 30 ms none, in sessions from 30 episodes on (of 20
//! episodes that resemble each other by 0.3, most are).

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, StudentT};

use super::*;
use crate::model::{JointId, Row};
use crate::num::interval::of_share;

const JOINTS: usize = 6;
const HEALTHY: usize = 400;

/// From one episode to the next.
#[derive(Clone, Copy)]
enum Noise {
    Normal,
    /// Student's t with 3 degrees of freedom, scaled to the same median deviation.
    Heavy,
    /// Each episode resembles the one before by this correlation.
    Alike(f64),
}

impl Noise {
    fn series(self, random: &mut ChaCha8Rng, episodes: usize) -> Vec<f64> {
        let normal = |random: &mut ChaCha8Rng| -> f64 { StandardNormal.sample(random) };
        match self {
            Self::Normal => (0..episodes).map(|_| normal(random)).collect(),
            Self::Heavy => {
                let Ok(heavy) = StudentT::new(3.0) else { panic!("three is positive") };
                (0..episodes).map(|_| 0.88 * heavy.sample(random)).collect()
            }
            Self::Alike(r) => {
                let mut now = normal(random);
                let mut next = || {
                    now = r * now + (1.0 - r * r).sqrt() * normal(random);
                    now
                };
                (0..episodes).map(|_| next()).collect()
            }
        }
    }
}

/// How a metric goes: usual value, deviation from episode to episode, and what a tiring hand adds
/// by the end of the session.
struct Usual {
    what: MetricOf,
    joints: usize,
    value: f64,
    deviation: f64,
    tiring: f64,
}

const fn usual(what: MetricOf, joints: usize, [value, deviation, tiring]: [f64; 3]) -> Usual {
    Usual { what, joints, value, deviation, tiring }
}

/// The deviations of the simulated rig, or more: an offset's is 0.35 degrees.
static USUAL: &[Usual] = &[
    usual(FOLLOWED[0].0, 0, [0.080, 0.002, 0.003]),
    usual(FOLLOWED[1].0, JOINTS, [0.080, 0.004, 0.004]),
    usual(FOLLOWED[2].0, JOINTS, [0.01, 0.35 * DEGREE, 0.0]),
    usual(FOLLOWED[3].0, JOINTS, [0.02, 0.30 * DEGREE, 0.3 * DEGREE]),
    usual(FOLLOWED[4].0, JOINTS, [0.03, 0.25 * DEGREE, 0.4 * DEGREE]),
    usual(FOLLOWED[5].0, 0, [30.0, 0.02, 0.0]),
];

/// What is added to a metric's joint (or all) in an episode of so many.
type Plant<'p> = &'p dyn Fn(&Usual, usize, usize) -> f64;

fn session(seed: u64, episodes: usize, noise: Noise, plant: Plant<'_>) -> Ledger {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let tired: f64 = random.random_range(0.0..1.0);
    let mut columns = Vec::new();
    for usual in USUAL {
        for joint in 0..usual.joints.max(1) {
            let noise = noise.series(&mut random, episodes);
            let value = |at: usize| {
                let late = at as f64 / episodes as f64;
                let tiring = tired * usual.tiring * late;
                usual.value + usual.deviation * noise[at] + tiring + plant(usual, joint, at)
            };
            columns.push((usual, joint, (0..episodes).map(value).collect::<Vec<f64>>()));
        }
    }
    let mut ledger = Ledger::default();
    for at in 0..episodes {
        let mut readings = Vec::new();
        for (usual, joint, values) in &columns {
            let MetricOf { check, metric } = usual.what;
            let joint = (usual.joints > 0).then_some(*joint as JointId);
            readings.push(reading(check, metric, joint, values[at]));
        }
        ledger.push(Row { frames: 300, ..Row::default() }, &readings);
    }
    ledger
}

fn measured(ledger: &Ledger) -> CohortSheet<'static> {
    let mut sheet = CohortSheet::default();
    CHECK.measure_session(ledger, &Params::default(), &mut sheet);
    sheet
}

/// Readings beyond their limits.
fn told(ledger: &Ledger) -> Vec<SessionReading> {
    let sheet = measured(ledger);
    let beyond = |r: &SessionReading| match r.reading.metric.bound {
        crate::model::Bound::Above(limit) => limit.warn.is_some_and(|l| r.reading.value > l),
        _ => false,
    };
    sheet.session.into_iter().filter(beyond).collect()
}

#[test]
fn sound_sessions_are_quiet() {
    let noises =
        [Noise::Normal, Noise::Heavy, Noise::Alike(0.3), Noise::Alike(0.6), Noise::Alike(0.8)];
    for (kind, noise) in noises.into_iter().enumerate() {
        let mut alarms = 0;
        for turn in 0..HEALTHY {
            let episodes = [12, 20, 50, 120, 15, 30, 80, 300][turn % 8];
            let seed = (1000 * kind + turn) as u64;
            alarms +=
                usize::from(!told(&session(seed, episodes, noise, &|_, _, _| 0.0)).is_empty());
        }
        assert!(50 * alarms <= HEALTHY, "noise {kind}: {alarms} of {HEALTHY}");
    }
}

/// Whether exactly the planted metric and joint are told, and the size and place.
fn found(
    metric: &'static Metric,
    joint: Option<JointId>,
    told: &[SessionReading],
) -> Option<(f64, Option<usize>)> {
    let hit = told.iter().find(|r| r.reading.metric.is(metric) && r.reading.joint == joint)?;
    Some((hit.reading.value, hit.from))
}

#[test]
fn planted_drifts_are_found_with_their_size() {
    let trials = 200;
    for noise in [Noise::Normal, Noise::Heavy, Noise::Alike(0.3)] {
        let (mut missed, mut off, mut others) = (0, 0, 0);
        for turn in 0..trials {
            let episodes = [30, 40, 60, 120][turn % 4];
            let joint = turn % JOINTS;
            let way = if turn % 2 == 0 { 1.0 } else { -1.0 };
            let rising = |usual: &Usual, at: usize, size: f64| {
                if usual.what.metric.id == "offset_signed" {
                    way * size * at as f64 / episodes as f64
                } else {
                    0.0
                }
            };
            let drift = 2.0 * DEGREE;
            let ledger = session(70_000 + turn as u64, episodes, noise, &|usual, j, at| {
                if j == joint { rising(usual, at, drift) } else { 0.0 }
            });
            let told = told(&ledger);
            others += usize::from(told.len() > 1);
            match found(&OFFSET, Some(joint as JointId), &told) {
                Some((size, _)) => off += usize::from((size - drift).abs() > 0.8 * DEGREE),
                None => missed += 1,
            }
        }
        assert!(20 * missed <= trials, "{missed} of {trials} missed");
        assert!(10 * off <= trials, "{off} of {trials} of another size");
        assert!(20 * others <= trials, "{others} of {trials} tell more than was planted");
    }
}

#[test]
fn a_change_of_level_is_found_with_its_place() {
    let trials = 200;
    for noise in [Noise::Normal, Noise::Heavy, Noise::Alike(0.3)] {
        let (mut missed, mut misplaced) = (0, 0);
        for turn in 0..trials {
            let episodes = [30, 40, 60, 120][turn % 4];
            let place = episodes * [5, 4, 7][turn % 3] / 10;
            let ledger = session(90_000 + turn as u64, episodes, noise, &|usual, j, at| {
                let there = usual.what.metric.id == "lag" && j == 2 && at >= place;
                if there { 0.030 } else { 0.0 }
            });
            let told = told(&ledger);
            match found(&LAG, Some(2), &told) {
                Some((size, from)) => {
                    let right = from.is_some_and(|row| row.abs_diff(place) <= 2);
                    misplaced += usize::from(!right || (size - 0.030).abs() > 0.008);
                }
                None => missed += 1,
            }
        }
        assert!(20 * missed <= trials, "{missed} of {trials} missed");
        assert!(20 * misplaced <= trials, "{misplaced} of {trials} misplaced");
    }
}

#[test]
fn a_slow_bus_is_said_once_and_a_rate_in_shares() {
    let ledger = session(5, 40, Noise::Normal, &|usual, _, at| match usual.what.metric.id {
        "lag" | "lag_overall" if at >= 25 => 0.035,
        "mean_rate" => -1.5 * at as f64 / 40.0,
        _ => 0.0,
    });
    let told = told(&ledger);
    let metrics: Vec<&str> = told.iter().map(|r| r.reading.metric.id).collect();
    assert_eq!(metrics, ["all_lag_over_session", "rate_over_session"]);
    assert_eq!((told[0].from, told[0].episodes, told[0].of), (Some(25), 15, 40));
    assert!((told[1].reading.value - 1.46 / 29.3).abs() < 0.005, "{:?}", told[1]);
    assert_eq!(told[1].reading.note.as_deref(), Some("down, bit by bit"));
}

/// Of steady drifts of the limit's size (1 degree where offsets differ by 0.35 from episode to
/// episode): how many of 200 sessions could be assessed without it, in how many of these it is
/// proven, and in how many of all.
fn power(noise: Noise, episodes: usize) -> (u64, u64, u64) {
    let (mut assessed, mut proven, mut all) = (0, 0, 0);
    for turn in 0..200 {
        let seed = 300_000 + 1_000 * episodes as u64 + turn;
        let read = |drift: f64| {
            let ledger = session(seed, episodes, noise, &|usual, joint, at| {
                let there = usual.what.metric.id == "offset_signed" && joint == 2;
                if there { drift * at as f64 / (episodes - 1) as f64 } else { 0.0 }
            });
            let told = measured(&ledger).session;
            let own =
                |r: &&SessionReading| r.reading.metric.is(&OFFSET) && r.reading.joint == Some(2);
            told.iter().find(own).map(|read| read.reading.value)
        };
        // Whether it could be assessed is asked of the same session without the drift.
        let seen = u64::from(read(DEGREE).is_some_and(|drift| drift > 0.0));
        all += seen;
        if read(0.0).is_some() {
            assessed += 1;
            proven += seen;
        }
    }
    (assessed, proven, all)
}

#[test]
fn what_is_called_assessed_would_be_seen() {
    for noise in [Noise::Normal, Noise::Heavy, Noise::Alike(0.3)] {
        for episodes in [12, 20, 40, 60] {
            let (assessed, proven, _) = power(noise, episodes);
            let share = of_share(proven, assessed, 0.998);
            assert!(share.is_none_or(|s| s.high >= 0.8), "{episodes}: {proven} of {assessed}");
            let right = if episodes <= 20 { 0..=4 } else { 20..=200 };
            assert!(right.contains(&assessed), "{episodes}: {assessed}");
        }
    }
}

/// The table of the manual: the interval of what is found holds it.
#[test]
fn the_power_is_as_the_manual_says() {
    for (episodes, percent) in [(12, 5), (20, 33), (30, 70), (40, 94)] {
        let proven = power(Noise::Normal, episodes).2;
        let Some(share) = of_share(proven, 200, 0.99) else { panic!("200 are some") };
        let says = f64::from(percent) / 100.0;
        assert!(share.low <= says && says <= share.high, "{episodes}: {proven} of 200");
    }
}

#[test]
fn eleven_episodes_have_no_course() {
    let sheet = measured(&session(1, 11, Noise::Normal, &|_, _, _| 0.0));
    assert!(sheet.session.is_empty());
    assert!(sheet.not_assessed[0].reason.contains("needs 12"), "{:?}", sheet.not_assessed);
}

#[test]
fn the_checks_that_it_follows_declare_those_measurements() {
    for (what, as_what, _) in FOLLOWED {
        assert!(what.is_declared(), "{}: {}", what.check.id, what.metric.id);
        assert!(SPEC.metrics.iter().any(|own| own.is(as_what)), "{}", as_what.id);
    }
    let wrong = MetricOf::new(&frame_rate::CHECK, &tracking_lag::LAG);
    assert!(!wrong.is_declared());
}
