//! Episodes by what they have in common: a table for each key that has several groups.

use minijinja::Value;

use crate::num::interval::of_share;
use crate::report::breakdown::{Breakdown, Group};
use crate::report::number::significant;
use crate::report::text::{clean, count};
use crate::report::view::View;

/// Groups of a key that is worth a table.
const MOST: usize = 100;
/// Groups of a table that stands unfolded.
const OPEN: usize = 6;

/// The tables, the largest share of failures first in each; none where nothing groups the episodes.
pub(super) fn breakdowns(view: &View<'_>) -> Vec<Value> {
    let all = Breakdown::new(view).and_then(|all| all.all(MOST)).unwrap_or_default();
    let table = |(key, mut groups): (String, Vec<Group>)| {
        let share = |group: &Group| group.fail as f64 / group.episodes().max(1) as f64;
        groups.sort_by(|a, b| share(b).total_cmp(&share(a)));
        let number = count(groups.len() as u64, "group");
        minijinja::context! {
            key => clean(&key),
            title => format!("by {}: {number}", clean(&key)),
            open => groups.len() <= OPEN,
            rows => groups.iter().map(row).collect::<Vec<Value>>(),
        }
    };
    all.into_iter().map(table).collect()
}

fn row(group: &Group) -> Value {
    let all = group.episodes();
    let percent = |share: f64| format!("{:.0}", 100.0 * share);
    let interval = of_share(group.fail, all, 0.95).map_or_else(String::new, |share| {
        format!(" ({} to {} %)", percent(share.low), percent(share.high))
    });
    minijinja::context! {
        name => clean(&group.name),
        episodes => all,
        usable => significant(group.usable_s / 60.0),
        pass => group.pass,
        warn => group.warn,
        fail => group.fail,
        share => format!("{} %{interval}", percent(group.fail as f64 / all.max(1) as f64)),
        duration => significant(group.duration_s),
        cause => group.main_cause.map_or_else(|| "-".to_owned(), |id| id.replace('-', " ")),
    }
}
