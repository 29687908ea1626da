//! Episodes by what they have in common: task, label, folder key, file, folder or day.

use std::collections::BTreeMap;
use std::path::{Component, Path};

use chrono::DateTime;
use polars::prelude::{
    ChunkAgg, ChunkCompareEq, Column, DataFrame, NamedFrom, QuantileMethod, Series,
};

use super::table::TableError;
use super::view::View;
use crate::model::{CardPlace, Scorecard, Verdict};

/// A first stamp from here on (2001) is a time of day; an earlier one counts from some start.
const CLOCK_FROM_S: f64 = 1e9;

/// Names that are always there: of the file, its folder, the day of the first stamp (UTC).
const FILE: &str = "file";
const FOLDER: &str = "folder";
const DAY: &str = "day";
const TASK: &str = "task";

/// Episodes that have something in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The task, folder or day.
    pub name: String,
    /// Episodes that passed.
    pub pass: u64,
    /// Episodes with a warning.
    pub warn: u64,
    /// Episodes that failed.
    pub fail: u64,
    /// Seconds in all.
    pub total_s: f64,
    /// Seconds of the episodes that can be trained on.
    pub usable_s: f64,
    /// Median duration in seconds.
    pub duration_s: f64,
    /// The check that leads in most of the episodes that did not pass; none where all passed.
    pub main_cause: Option<&'static str>,
}

impl Group {
    /// Episodes in all.
    pub fn episodes(&self) -> u64 {
        self.pass + self.warn + self.fail
    }
}

/// What episodes of an outcome can be grouped by, in the order in which a person asks for it: each
/// has two values at least.
pub fn keys(view: &View<'_>) -> Vec<String> {
    let mut keys = vec![TASK.to_owned()];
    keys.extend(view.rig.labels.iter().cloned());
    for input in view.inputs {
        for (key, _) in folder_keys(&input.path) {
            if !keys.iter().any(|known| known == key) {
                keys.push(key.to_owned());
            }
        }
    }
    keys.extend(
        [FOLDER, DAY, FILE]
            .map(str::to_owned)
            .into_iter()
            .filter(|key| !keys.contains(key))
            .collect::<Vec<_>>(),
    );
    keys.retain(|key| {
        let mut seen: Option<String> = None;
        let several = |value: String| match &seen {
            None => {
                seen = Some(value);
                false
            }
            Some(first) => *first != value,
        };
        view.outcome.cards.iter().filter_map(|card| value(view, key, card)).any(several)
    });
    keys
}

/// The value of a key for one episode. A label or folder key of that name goes before what is
/// always there.
fn value(view: &View<'_>, key: &str, card: &Scorecard) -> Option<String> {
    if let Some(at) = view.rig.labels.iter().position(|label| label == key) {
        return card.key.labels.get(at)?.as_deref().map(str::to_owned);
    }
    let path = &view.inputs.get(card.key.rows.input as usize)?.path;
    if let Some((_, value)) = folder_keys(path).filter(|(name, _)| *name == key).last() {
        return Some(value.to_owned());
    }
    match key {
        TASK => card.key.task.as_deref().map(str::to_owned),
        FILE => Some(path.display().to_string()),
        FOLDER => Some(path.parent()?.display().to_string()),
        DAY => day(card.start_s),
        _ => None,
    }
}

/// The `key=value` pairs among a file's folders, outermost first.
fn folder_keys(file: &Path) -> impl Iterator<Item = (&str, &str)> {
    let folders = file.parent().into_iter().flat_map(Path::components);
    folders.filter_map(|folder| match folder {
        Component::Normal(name) => {
            name.to_str()?.split_once('=').filter(|(key, _)| !key.is_empty())
        }
        _ => None,
    })
}

/// The episodes with what they are grouped by.
#[derive(Debug)]
pub struct Breakdown<'a> {
    view: &'a View<'a>,
    rows: DataFrame,
}

impl<'a> Breakdown<'a> {
    /// The episodes of an outcome.
    ///
    /// # Errors
    /// If polars refuses, which would be a fault of this program.
    pub fn new(view: &'a View<'a>) -> Result<Self, TableError> {
        let cards = &view.outcome.cards;
        let barred = |at: CardPlace| view.session_findings().iter().any(|f| f.bars(at));
        let places = || CardPlace::all(cards.len()).zip(cards);
        let usable = places().map(|(at, card)| {
            if card.verdict == Verdict::Fail || barred(at) { 0.0 } else { card.duration_s }
        });
        let causes = places().map(|(at, card)| cause(view, at, card));
        let durations: Vec<f64> = cards.iter().map(|card| card.duration_s).collect();
        let verdicts: Vec<&str> = cards.iter().map(|card| card.verdict.word()).collect();
        let columns = vec![
            Column::new("verdict".into(), verdicts),
            Column::new("duration_s".into(), durations),
            Column::new("usable_s".into(), usable.collect::<Vec<f64>>()),
            Column::new("cause".into(), causes.collect::<Vec<Option<&str>>>()),
        ];
        Ok(Self { view, rows: DataFrame::new(cards.len(), columns)? })
    }

    /// The groups, in the order of the dataset. Empty where no episode has what they are grouped
    /// by.
    ///
    /// # Errors
    /// If polars refuses, which would be a fault of this program.
    pub fn by(&self, key: &str) -> Result<Vec<Group>, TableError> {
        let cards = &self.view.outcome.cards;
        let values: Vec<Option<String>> =
            cards.iter().map(|card| value(self.view, key, card)).collect();
        let mut rows = self.rows.clone();
        rows.with_column(Series::new("key".into(), values).into())?;
        let groups = rows.group_by_stable(["key"])?.groups()?;
        let names = groups.column("key")?.str()?;
        let places = groups.column("groups")?.list()?;
        let mut found = Vec::new();
        for (name, places) in names.iter().zip(places.amortized_iter()) {
            let (Some(name), Some(places)) = (name, places) else { continue };
            let of = rows.take(places.as_ref().idx()?)?;
            let verdicts = of.column("verdict")?.str()?;
            let number = |verdict: Verdict| {
                u64::from(verdicts.equal(verdict.word()).sum().unwrap_or_default())
            };
            let durations = of.column("duration_s")?;
            let median = durations.quantile_reduce(0.5, QuantileMethod::Linear)?;
            found.push(Group {
                name: name.to_owned(),
                pass: number(Verdict::Pass),
                warn: number(Verdict::Warn),
                fail: number(Verdict::Fail),
                total_s: durations.f64()?.sum().unwrap_or_default(),
                usable_s: of.column("usable_s")?.f64()?.sum().unwrap_or_default(),
                duration_s: median.value().extract::<f64>().unwrap_or(f64::NAN),
                main_cause: self.most(of.column("cause")?.str()?.iter().flatten()),
            });
        }
        Ok(found)
    }

    /// The groups of every key that is worth a table: not more than so many, and not one for each
    /// episode.
    ///
    /// # Errors
    /// If polars refuses, which would be a fault of this program.
    pub fn all(&self, most: usize) -> Result<Vec<(String, Vec<Group>)>, TableError> {
        let episodes = self.view.outcome.cards.len();
        let mut found = Vec::new();
        for key in keys(self.view) {
            let groups = self.by(&key)?;
            if groups.len() <= most.min(episodes / 2) {
                found.push((key, groups));
            }
        }
        Ok(found)
    }

    /// The check that is named most often; of several the first in the order of the checks.
    fn most<'s>(&self, ids: impl Iterator<Item = &'s str>) -> Option<&'static str> {
        let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
        for id in ids {
            *counts.entry(id).or_default() += 1;
        }
        let most = counts.values().copied().max()?;
        let first = self.view.checks.iter().find(|check| counts.get(check.id) == Some(&most));
        first.map(|check| check.id)
    }
}

/// The check that leads in an episode that did not pass: of its own, else of the session.
fn cause(view: &View<'_>, at: CardPlace, card: &Scorecard) -> Option<&'static str> {
    if let Some(finding) = view.own(at).next() {
        return Some(finding.check.id);
    }
    let shared = || view.session_findings().iter();
    let covering = shared()
        .find(|finding| finding.bars(at))
        .or_else(|| shared().find(|finding| card.verdict != Verdict::Pass && finding.covers(at)));
    covering.map(|finding| finding.check.id)
}

/// The day of a stamp; none where stamps do not come from a clock.
fn day(start_s: f64) -> Option<String> {
    if start_s.is_nan() || start_s < CLOCK_FROM_S {
        return None;
    }
    Some(DateTime::from_timestamp(start_s as i64, 0)?.date_naive().to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_clock_has_days() {
        assert_eq!(day(12.5), None);
        assert_eq!(day(1_751_328_000.5).as_deref(), Some("2025-07-01"));
        assert_eq!(day(f64::NAN), None);
    }

    #[test]
    fn keys_come_from_folders_alone() {
        let file = Path::new("data/task=pot/operator=b=c/day=1.parquet");
        let keys: Vec<_> = folder_keys(file).collect();
        assert_eq!(keys, [("task", "pot"), ("operator", "b=c")]);
    }
}
