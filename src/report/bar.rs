//! One relative scale for every measurement: the limit stands in the same column of every row.

use crate::judge::scaled;
use crate::model::Metric;

const BEFORE: usize = 8;
const AFTER: usize = 9;

/// The heading of the bar's column: where nothing, the limit, and twice the limit are.
pub(super) const HEADING: &str = "0      limit      x2";

/// A line of 20 characters: the limit in the middle, twice the limit at the right edge. A mark, `o`,
/// is where the measurement lies; `>` what lies beyond the edge. A line that fills up would look like
/// progress. For a measurement that is bad when small, the mark moves right as it shrinks.
pub(super) fn bar(metric: &Metric, value: f64, limit: f64) -> String {
    let ratio = scaled(metric.bound, value, limit);
    let cell = |share: f64, cells: usize| {
        ((share * cells as f64).ceil() as usize).saturating_sub(1).min(cells - 1)
    };
    let mut line = ["-".repeat(BEFORE), "-".repeat(AFTER)].join(":");
    // What lies at its limit is within it; the limit itself is never covered.
    let (at, mark) = match ratio {
        ratio if ratio > 2.0 => (BEFORE + AFTER, ">"),
        ratio if ratio > 1.0 => (BEFORE + 1 + cell(ratio - 1.0, AFTER), "o"),
        ratio => (cell(ratio.max(0.0), BEFORE), "o"),
    };
    line.replace_range(at..=at, mark);
    format!("|{line}|")
}

#[cfg(test)]
mod tests {
    use super::bar;
    use crate::model::{Bound, Limit, Metric, Scope, Unit};

    static LAG: Metric = Metric {
        id: "lag",
        summary: "lag",
        unit: Unit::Second,
        scope: Scope::Joint,
        bound: Bound::Above(Limit::new(Some(0.15), None)),
        cohort: false,
        pool: None,
        recovery: None,
    };

    #[test]
    fn the_limit_stands_in_the_same_column() {
        for (value, limit, line) in [
            (0.0, 0.15, "|o-------:---------|"),
            (0.0765, 0.15, "|----o---:---------|"),
            (0.15, 0.15, "|-------o:---------|"),
            (0.151, 0.15, "|--------:o--------|"),
            (0.233, 0.15, "|--------:----o----|"),
            (0.3, 0.15, "|--------:--------o|"),
            (0.46, 0.15, "|--------:-------->|"),
            (0.0, 0.0, "|o-------:---------|"),
            (3.0, 0.0, "|--------:-------->|"),
        ] {
            assert_eq!(bar(&LAG, value, limit), line, "{value} of {limit}");
        }
    }

    #[test]
    fn a_measurement_that_is_bad_when_small_moves_right_as_it_shrinks() {
        static COUNTS: Metric = Metric::of_joint("counts", Unit::Count, "").below(Some(3.0), None);
        let at = |value| bar(&COUNTS, value, 3.0).find(['o', '>']);
        assert!(at(6.0) < at(3.0) && at(3.0) < Some(9), "{:?} {:?}", at(6.0), at(3.0));
        assert!(at(2.0) > Some(9) && at(0.0) > at(2.0), "{:?} {:?}", at(2.0), at(0.0));
    }
}
