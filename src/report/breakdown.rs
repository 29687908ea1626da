//! Episodes by task, folder and day: how many of each verdict, and how long they are.

use chrono::DateTime;
use polars::prelude::*;

use super::table::TableError;
use super::view::View;
use crate::model::{Scorecard, Verdict};

/// A first stamp from here on (2001) is a time of day; an earlier one counts from some start.
const CLOCK_FROM_S: f64 = 1e9;

/// What episodes are grouped by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The task, where there is a task column.
    Task,
    /// The folder of the file.
    Folder,
    /// The day of the first stamp (UTC), where stamps are those of a clock.
    Day,
}

impl By {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Task, Self::Folder, Self::Day];

    /// In one word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Task => "task",
            Self::Folder => "folder",
            Self::Day => "day",
        }
    }
}

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
    /// Median duration in seconds.
    pub duration_s: f64,
}

/// The episodes with what they are grouped by.
#[derive(Debug)]
pub struct Breakdown(DataFrame);

impl Breakdown {
    /// The episodes of an outcome.
    ///
    /// # Errors
    /// If polars refuses, which would be a fault of this program.
    pub fn new(view: &View<'_>) -> Result<Self, TableError> {
        let cards = &view.outcome.cards;
        let text = |by: By, of: &dyn Fn(&Scorecard) -> Option<String>| {
            Column::new(by.word().into(), cards.iter().map(of).collect::<Vec<_>>())
        };
        let folder = |card: &Scorecard| {
            let input = view.inputs.get(card.key.rows.input as usize)?;
            Some(input.path.parent()?.display().to_string())
        };
        let columns = vec![
            text(By::Task, &|card| card.key.task.as_deref().map(str::to_owned)),
            text(By::Folder, &folder),
            text(By::Day, &|card| day(card.start_s)),
            Column::new(
                "verdict".into(),
                cards.iter().map(|c| c.verdict.word()).collect::<Vec<_>>(),
            ),
            Column::new(
                "duration_s".into(),
                cards.iter().map(|c| c.duration_s).collect::<Vec<_>>(),
            ),
        ];
        Ok(Self(DataFrame::new(cards.len(), columns)?))
    }

    /// The groups, in the order of the dataset. Empty where no episode has what they are grouped
    /// by.
    ///
    /// # Errors
    /// If polars refuses, which would be a fault of this program.
    pub fn by(&self, by: By) -> Result<Vec<Group>, TableError> {
        let groups = self.0.group_by_stable([by.word()])?.groups()?;
        let names = groups.column(by.word())?.str()?;
        let places = groups.column("groups")?.list()?;
        let mut found = Vec::new();
        for (name, places) in names.iter().zip(places.amortized_iter()) {
            let (Some(name), Some(places)) = (name, places) else { continue };
            let rows = self.0.take(places.as_ref().idx()?)?;
            let verdicts = rows.column("verdict")?.str()?;
            let number = |verdict: Verdict| {
                u64::from(verdicts.equal(verdict.word()).sum().unwrap_or_default())
            };
            let median = rows.column("duration_s")?.quantile_reduce(0.5, QuantileMethod::Linear)?;
            found.push(Group {
                name: name.to_owned(),
                pass: number(Verdict::Pass),
                warn: number(Verdict::Warn),
                fail: number(Verdict::Fail),
                duration_s: median.value().extract::<f64>().unwrap_or(f64::NAN),
            });
        }
        Ok(found)
    }
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
    use super::day;

    #[test]
    fn only_a_clock_has_days() {
        assert_eq!(day(12.5), None);
        assert_eq!(day(1_751_328_000.5).as_deref(), Some("2025-07-01"));
        assert_eq!(day(f64::NAN), None);
    }
}
