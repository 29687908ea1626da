//! Seeded sessions, healthy and with planted outliers.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

use super::*;
use crate::model::{Bound, NotAssessed, Row, Scope};

fn of(frames: usize) -> Row<'static> {
    Row { frames, ..Row::default() }
}

static FEATURE: Metric = Metric {
    id: "feature",
    summary: "a feature",
    unit: Unit::Ratio,
    scope: Scope::Joint,
    bound: Bound::Unjudged,
    cohort: true,
    pool: None,
    recovery: None,
};

static SOURCE: CheckSpec = CheckSpec {
    id: "source",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: "",
    cause: "",
    remedy: "",
    reference: "",
    metrics: &[&FEATURE],
    params: &[],
};

/// How healthy features scatter.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Law {
    Normal,
    LogNormal,
    StudentT5,
}

/// A session: every third feature depends on the length, which itself scatters by 40 %; common
/// factors, where there are any, make half of each feature's variance.
#[derive(Debug, Clone, Copy)]
struct Recipe {
    episodes: usize,
    features: usize,
    factors: usize,
    law: Law,
    seed: u64,
}

impl Recipe {
    /// Makes the session; three features of each episode in `odd` lie eight sigmas off.
    fn make(self, odd: &[usize]) -> Ledger {
        self.make_off(odd, 3, 8.0)
    }

    /// Makes the session; the first features of each episode in `odd` lie so many sigmas off.
    fn make_off(self, odd: &[usize], first: usize, sigmas: f64) -> Ledger {
        let mut random = ChaCha8Rng::seed_from_u64(self.seed);
        let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
        let loads: Vec<f64> = (0..self.features * self.factors).map(|_| normal()).collect();
        let mut ledger = Ledger::default();
        for episode in 0..self.episodes {
            let length = normal();
            let factors: Vec<f64> = (0..self.factors).map(|_| normal()).collect();
            let mut readings = Vec::with_capacity(self.features);
            for feature in 0..self.features {
                let mut value = self.noise(&mut normal);
                if self.factors > 0 {
                    let own = &loads[feature * self.factors..][..self.factors];
                    let common: f64 = own.iter().zip(&factors).map(|(l, f)| l * f).sum();
                    value = (value + common / (self.factors as f64).sqrt()) / 2f64.sqrt();
                }
                value += if odd.contains(&episode) && feature < first { sigmas } else { 0.0 };
                value += if feature % 3 == 0 { 1.5 * length } else { 0.0 };
                if self.law == Law::LogNormal {
                    value = (0.5 * value).exp();
                }
                readings.push(reading(feature, value));
            }
            ledger.push(of((400.0 * (0.4 * length).exp()) as usize), &readings);
        }
        ledger
    }

    fn noise(self, normal: &mut impl FnMut() -> f64) -> f64 {
        let value = normal();
        if self.law != Law::StudentT5 {
            return value;
        }
        // Student's t by its definition, scaled to the normal's median absolute deviation.
        let squares: f64 = (0..5).map(|_| normal().powi(2)).sum();
        value / (squares / 5.0).sqrt() * (0.6745 / 0.7267)
    }
}

fn reading(joint: usize, value: f64) -> Reading {
    let (joint, spans) = (Some(joint as JointId), SpanList::default());
    Reading { check: &SOURCE, metric: &FEATURE, joint, value, spans, note: None }
}

fn measure(ledger: &Ledger) -> CohortSheet<'static> {
    let mut sheet = CohortSheet::default();
    CHECK.measure_session(ledger, &Params::default(), &mut sheet);
    sheet
}

/// Rows of the outliers.
fn outliers(ledger: &Ledger) -> Vec<usize> {
    let sheet = measure(ledger);
    assert!(sheet.not_assessed.is_empty(), "{:?}", sheet.not_assessed);
    sheet.episodes.iter().filter(|e| e.1.value > 1.0).map(|e| e.0).collect()
}

fn reason<'s>(sheet: &'s CohortSheet) -> &'s str {
    sheet.not_assessed.first().map_or("", |hole: &NotAssessed| hole.reason.as_ref())
}

/// Sizes of sessions, with how many of each there are.
const SIZES: [(usize, u64); 7] =
    [(12, 20), (20, 20), (30, 20), (60, 12), (100, 10), (400, 4), (1_500, 1)];

/// The promise of the cut-off, kept over normal, skewed and heavy-tailed sessions of all sizes.
#[test]
fn healthy_sessions_are_left_alone() {
    let (mut episodes, mut flagged, mut sessions, mut alarmed) = (0, 0, 0, 0);
    for law in [Law::Normal, Law::LogNormal, Law::StudentT5] {
        for (features, factors) in [(2, 0), (6, 0), (12, 0), (40, 5)] {
            for (size, repeats) in SIZES {
                for seed in 0..repeats {
                    let recipe = Recipe { episodes: size, features, factors, law, seed };
                    let found = outliers(&recipe.make(&[])).len();
                    episodes += size;
                    flagged += found;
                    sessions += 1;
                    alarmed += usize::from(found > 0);
                }
            }
        }
    }
    assert!(flagged * 1_000 <= episodes * 2, "{flagged} of {episodes} episodes flagged");
    assert!(alarmed * 100 <= sessions * 5, "{alarmed} of {sessions} sessions alarmed");
}

/// Odd episodes planted into `repeats` sessions of each size: how many were, and were found.
fn planted(law: Law, features: usize, factors: usize, share: f64) -> (usize, usize) {
    let (mut there, mut found) = (0, 0);
    for (episodes, repeats) in [(30, 20), (60, 10), (100, 8), (400, 2)] {
        for seed in 1_000..1_000 + repeats {
            let odd: Vec<usize> = (0..((episodes as f64 * share) as usize).max(1))
                .map(|i| i * 7 % episodes)
                .collect();
            let recipe = Recipe { episodes, features, factors, law, seed };
            let flagged = outliers(&recipe.make(&odd));
            there += odd.len();
            found += odd.iter().filter(|row| flagged.contains(row)).count();
        }
    }
    (there, found)
}

#[test]
fn a_single_odd_episode_is_found() {
    for (law, features, factors) in
        [(Law::Normal, 6, 0), (Law::LogNormal, 6, 0), (Law::Normal, 40, 5)]
    {
        let (there, found) = planted(law, features, factors, 0.0);
        assert!(found * 100 >= there * 95, "{law:?} {features}: {found} of {there}");
    }
}

#[test]
fn a_tenth_of_odd_episodes_cannot_hide_one_another() {
    for (law, features) in [(Law::Normal, 4), (Law::Normal, 6), (Law::LogNormal, 6)] {
        let (there, found) = planted(law, features, 0, 0.1);
        assert!(found * 100 >= there * 95, "{law:?} {features}: {found} of {there}");
    }
}

/// One feature far beyond anything is enough, however many others are as usual.
#[test]
fn a_single_wild_feature_is_found() {
    for law in [Law::Normal, Law::StudentT5] {
        for (features, factors) in [(4, 0), (12, 0), (40, 5)] {
            for (episodes, seed) in [(40, 1), (100, 2), (400, 3), (1_200, 4)] {
                let recipe = Recipe { episodes, features, factors, law, seed };
                let flagged = outliers(&recipe.make_off(&[17], 1, 60.0));
                assert!(flagged.contains(&17), "{recipe:?}: {flagged:?}");
            }
        }
    }
}

#[test]
fn the_note_names_what_drives_an_outlier_and_only_outliers_have_one() {
    let recipe = Recipe { episodes: 60, features: 6, factors: 0, law: Law::Normal, seed: 5 };
    let sheet = measure(&recipe.make(&[17]));
    assert_eq!(sheet.episodes.len(), 60);
    for (row, reading, note) in &sheet.episodes {
        assert_eq!(note.is_empty(), reading.value <= 1.0, "row {row}: {note}");
    }
    let mut names: Vec<&str> = sheet.episodes[17].2.split(", ").collect();
    names.sort_unstable();
    assert_eq!(names, ["feature@0", "feature@1", "feature@2"]);
}

#[test]
fn too_few_episodes_or_features_are_not_assessable() {
    let recipe = Recipe { episodes: 9, features: 6, factors: 0, law: Law::Normal, seed: 1 };
    assert_eq!(reason(&measure(&recipe.make(&[]))), "9 episodes, needs at least 10");
    let recipe = Recipe { episodes: 30, features: 1, ..recipe };
    assert_eq!(reason(&measure(&recipe.make(&[]))), "measurements to compare: 1, needs at least 2");
    let mut still = Ledger::default();
    for i in 0..20 {
        still.push(of(100), &[reading(0, f64::from(i)), reading(1, 5.0)]);
    }
    let sheet = measure(&still);
    assert_eq!(
        reason(&sheet),
        "measurements that vary from episode to episode: 1, needs at least 2; left out feature@1"
    );
    assert!(sheet.episodes.is_empty());
}

/// Copies of one feature lie on a line: that is a reason, not a panic.
#[test]
fn features_that_say_the_same_are_not_assessable() {
    let mut ledger = Ledger::default();
    for i in 0..20 {
        let value = f64::from(i * i % 23);
        ledger.push(of(100), &[reading(0, value), reading(1, 2.0 * value)]);
    }
    assert!(reason(&measure(&ledger)).starts_with("all features say the same"));
}

/// A fit on a sample still measures everyone.
#[test]
fn a_large_session_is_fitted_on_a_sample() {
    let recipe = Recipe { episodes: 5_000, features: 6, factors: 0, law: Law::Normal, seed: 3 };
    let odd = [0, 2_500, 4_999];
    assert_eq!(outliers(&recipe.make(&odd)), odd);
}

/// A hundredth of a degree of scatter does not make a tenth remarkable; a degree makes ten.
#[test]
fn what_nobody_minds_is_no_scale() {
    let rows: Vec<usize> = (0..40).collect();
    let length = vec![6.0; 40];
    let of = |degrees: f64| {
        let waves = (0..40).map(|i| (degrees * f64::from(i * 17 % 40) / 20.0).to_radians() as f32);
        let values: Vec<f32> = waves.collect();
        let feature = Feature::learn(0, &values, &rows, &length, 1f64.to_radians());
        feature.map(|feature| feature.score((10.0 * degrees).to_radians() as f32, 6.0))
    };
    assert!(of(0.01).is_some_and(|score| (0.3..0.5).contains(&score)), "{:?}", of(0.01));
    assert!(of(1.0).is_some_and(|score| score > 5.0), "{:?}", of(1.0));
}
