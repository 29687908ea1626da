//! The table that a trainer would normalise each dimension with, and where it would mislead.

use std::io::{self, Write};

use super::number::significant;
use super::text::{clean, count, cut, wrap};
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
        let Dimension { mean, std: deviation, min: least, low, high, max: largest, .. } =
            *dimension;
        let numbers = [mean, deviation, least, low, high, largest];
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
    let longest = lines.iter().map(|line| line.joint.chars().count()).max().unwrap_or(0);
    let room = longest.clamp(5, 15 + width - 80);
    let row = |out: &mut dyn Write, vector: &str, joint: &str, unit: &str, numbers: [&str; 6]| {
        let [mean, deviation, least, low, high, largest] = numbers;
        writeln!(
            out,
            "  {vector:<6} {joint:<room$} {unit:<4} {mean:>7} {deviation:>9} {least:>8} {low:>7} \
             {high:>7} {largest:>8}"
        )
    };
    row(out, "vector", "joint", "unit", HEADINGS)?;
    for line in &lines {
        let joint = cut(&clean(line.joint), room);
        row(out, line.vector, &joint, line.unit, line.numbers.each_ref().map(String::as_str))?;
        for text in line.warning.iter().flat_map(|text| wrap(text, "         ! ", 11, width)) {
            writeln!(out, "{text}")?;
        }
    }
    writeln!(out)?;
    wrap(ABOUT, "  ", 2, width).iter().try_for_each(|text| writeln!(out, "{text}"))
}
