//! Episodes by task, label, folder key, file, folder or day, as a table on a terminal.

use std::io::{self, Write};

use super::breakdown::{Breakdown, Group};
use super::leave_out;
use super::number::significant;
use super::sentence;
use super::text::{columns, count, put, row, wrap};
use super::view::View;
use crate::num::interval::of_share;

/// Groups shown before the table is cut.
const MOST: usize = 30;
/// Columns for the main cause.
const CAUSE: usize = 20;

/// Writes the verdict and the groups, the largest share of failures first.
///
/// # Errors
/// If the output cannot be written.
pub fn by(view: &View<'_>, key: &str, out: &mut dyn Write) -> io::Result<()> {
    let view = &View { width: view.width.clamp(80, 160), ..*view };
    put(out, &sentence::session(view).lead(view.width))?;
    put(out, &wrap(&leave_out::totals(view), "        ", 10, view.width))?;
    writeln!(out)?;
    put(out, &table(view, key)?)?;
    writeln!(out, "\n  next: {} --all", view.command)
}

/// The table of the groups.
pub(super) fn table(view: &View<'_>, key: &str) -> io::Result<Vec<String>> {
    let mut groups = Breakdown::new(view).and_then(|all| all.by(key)).map_err(io::Error::other)?;
    let share = |group: &Group| group.fail as f64 / group.episodes().max(1) as f64;
    groups.sort_by(|a, b| share(b).total_cmp(&share(a)));
    let longest = groups.iter().map(|group| columns(&group.name)).max().unwrap_or(0);
    let spare = view.width - 80;
    let name_width = longest.clamp(columns(key), 18 + spare);
    let head = format!(
        "{:>8} {:>8} {:>6} {:>15}  {:<CAUSE$}",
        "episodes", "usable", "failed", "(95 %)", "main cause"
    );
    let mut lines = row(&[(key, name_width)], head.trim_end());
    for group in groups.iter().take(MOST) {
        lines.extend(row(&[(&group.name, name_width)], &figures(group)));
    }
    if groups.len() > MOST {
        let more = count((groups.len() - MOST) as u64, "group");
        lines.push(format!("  and {more} more: --format json"));
    }
    Ok(lines)
}

fn figures(group: &Group) -> String {
    let all = group.episodes();
    let percent = |share: f64| format!("{:.0}", 100.0 * share);
    let interval = of_share(group.fail, all, 0.95).map_or_else(String::new, |share| {
        format!("({} to {} %)", percent(share.low), percent(share.high))
    });
    let failed = format!("{} %", percent(group.fail as f64 / all.max(1) as f64));
    let usable = format!("{} min", significant(group.usable_s / 60.0));
    let cause = group.main_cause.map_or_else(|| "-".to_owned(), |id| id.replace('-', " "));
    format!("{all:>8} {usable:>8} {failed:>6} {interval:>15}  {cause}")
}
