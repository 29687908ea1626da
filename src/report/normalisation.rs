//! The table that a trainer would normalise each dimension with, and where it would mislead.

use std::io::{self, Write};

use super::number::significant;
use super::text::{clean, columns, count, row, wrap};
use super::view::View;
use crate::model::{Dimension, JointId, MIN_STD};

/// Dimensions named before a list is cut.
const MOST: usize = 4;

/// One line of the table, in degrees or millimetres.
#[derive(Debug, Clone)]
pub(super) struct Line<'a> {
    pub vector: &'static str,
    pub joint: &'a str,
    pub unit: &'static str,
    /// Mean, standard deviation, minimum, 1 % and 99 % quantile, maximum.
    pub numbers: [String; 6],
    pub warning: Option<&'static str>,
}

/// The headings of [`Line::numbers`].
pub(super) const HEADINGS: [&str; 6] = ["mean", "std", "min", "1 %", "99 %", "max"];

/// Where the numbers come from.
pub(super) const ABOUT: &str = "What a trainer would normalise each dimension with. State is what \
     the follower measured, action what the leader commanded. Mean, standard deviation and ends are of all \
     frames; quantiles of 49 poses of each episode (17 of the action), of 16,384 episodes at most.";

/// The whole table; empty where no motion was sketched.
pub(super) fn lines<'a>(view: &View<'a>) -> Vec<Line<'a>> {
    view.outcome.normalisation.iter().map(|dimension| Line::of(view, dimension)).collect()
}

impl<'a> Line<'a> {
    fn of(view: &View<'a>, dimension: &Dimension) -> Self {
        let joint = Some(dimension.joint as JointId);
        let (unit, factor) =
            if view.linear(joint) { ("mm", 1e3) } else { ("deg", 1f64.to_degrees()) };
        let Dimension { mean, std, min, low, high, max, .. } = *dimension;
        let numbers = [mean, std, min, low, high, max];
        Self {
            vector: if dimension.leader { "action" } else { "state" },
            joint: view.joint(joint),
            unit,
            numbers: numbers.map(|value| significant(value * factor)),
            warning: dimension.warning(MIN_STD),
        }
    }
}

/// Where the table would mislead, in one line; none if nowhere.
pub(super) fn misleading(view: &View<'_>) -> Option<String> {
    let lines = lines(view);
    let named = |line: &Line<'_>| {
        let why = line.warning?.split(':').next()?;
        Some(format!("{} {} ({why})", line.vector, line.joint))
    };
    let mut bad: Vec<String> = lines.iter().filter_map(named).collect();
    if bad.is_empty() {
        return None;
    }
    let (some, all) = (bad.len(), lines.len());
    bad.truncate(MOST);
    let more = if some > MOST { format!(" and {} more", some - MOST) } else { String::new() };
    let bad = bad.join(", ");
    Some(format!("normalisation: {some} of {all} dimensions would mislead: {bad}{more}"))
}

/// Writes the whole table for a terminal.
///
/// # Errors
/// If the output cannot be written.
pub fn normalisation(view: &View<'_>, out: &mut dyn Write) -> io::Result<()> {
    let width = view.width.clamp(80, 120);
    let lines = lines(view);
    let episodes = count(view.outcome.session.episodes, "episode");
    writeln!(out, "normalisation: {} over {episodes}\n", count(lines.len() as u64, "dimension"))?;
    let longest = lines.iter().map(|line| columns(&clean(line.joint))).max().unwrap_or(0);
    let room = longest.clamp(5, 15 + width - 80);
    let line_of = |vector: &str, joint: &str, unit: &str, numbers: [&str; 6]| {
        let [mean, std, min, low, high, max] = numbers;
        let numbers = format!("{unit:<4} {mean:>7} {std:>9} {min:>8} {low:>7} {high:>7} {max:>8}");
        row(&[(vector, 6), (joint, room)], &numbers)
    };
    let mut put = |lines: &[String]| lines.iter().try_for_each(|line| writeln!(out, "{line}"));
    put(&line_of("vector", "joint", "unit", HEADINGS))?;
    for line in &lines {
        let numbers = line.numbers.each_ref().map(String::as_str);
        put(&line_of(line.vector, line.joint, line.unit, numbers))?;
        put(&line.warning.map_or_else(Vec::new, |text| wrap(text, "         ! ", 11, width)))?;
    }
    put(&[String::new()])?;
    put(&wrap(ABOUT, "  ", 2, width))
}
