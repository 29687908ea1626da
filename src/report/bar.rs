//! One relative scale for every measurement: the limit stands in the same column of every row.

use crate::judge::scaled;
use crate::model::Metric;

const BEFORE: usize = 8;
const AFTER: usize = 9;

/// The heading of the bar's column: where nothing, the limit, and twice the limit are.
pub(super) const HEADING: &str = "0      limit      x2";

/// A bar of 20 characters: the limit in the middle, twice the limit at the right edge, `>` for
/// what lies beyond. For a measurement that is bad when small, the bar grows as it shrinks.
pub(super) fn bar(metric: &Metric, value: f64, limit: f64) -> String {
    let ratio = scaled(metric.bound, value, limit);
    let cells = |share: f64, most: usize| ((share * most as f64).ceil() as usize).min(most);
    let before = cells(ratio.clamp(0.0, 1.0), BEFORE);
    let after = cells((ratio - 1.0).clamp(0.0, 1.0), AFTER);
    let mut inner = "=".repeat(before);
    inner.push_str(&" ".repeat(BEFORE - before));
    inner.push(if ratio > 1.0 { '#' } else { ':' });
    inner.push_str(&"=".repeat(after));
    if ratio > 2.0 {
        inner.pop();
        inner.push('>');
    }
    inner.push_str(&" ".repeat(AFTER - after));
    format!("[{inner}]")
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
        bound: Bound::Above(Limit { warn: Some(0.15), fail: None }),
        cohort: false,
        pool: None,
        recovery: None,
    };

    #[test]
    fn the_limit_stands_in_the_same_column() {
        assert_eq!(bar(&LAG, 0.233, 0.15), "[========#=====    ]");
        assert_eq!(bar(&LAG, 0.46, 0.15), "[========#========>]");
        assert_eq!(bar(&LAG, 0.0765, 0.15), "[=====   :         ]");
        assert_eq!(bar(&LAG, 0.0, 0.0), "[        :         ]");
        assert_eq!(bar(&LAG, 3.0, 0.0), "[========#========>]");
    }
}
