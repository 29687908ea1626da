//! What was understood of a dataset, and why.

use std::io::{self, Write};
use std::path::Path;

use super::files;
use super::kinds::{decides, kinds};
use super::number::significant;
use super::text::{clean, count, row, wrap};
use crate::model::{AngleUnit, ClockStorage, Rig, Skipped, Unread};
use crate::source::{Input, ProfileLine, RoleChoice, UnusedColumn};

/// Columns to a line.
const WIDTH: usize = 80;
/// Joints and files shown before a list is cut.
const MOST: usize = 32;

/// What was understood of a dataset.
#[derive(Debug, Clone, Copy)]
pub struct Understood<'a> {
    /// The rig.
    pub rig: &'a Rig,
    /// Which column plays which role.
    pub roles: &'a [RoleChoice],
    /// Files that are read.
    pub inputs: &'a [Input],
    /// Files that cannot be read.
    pub unread: &'a [Unread],
    /// Files next to the recordings that are none.
    pub skipped: &'a Skipped,
    /// Number of episodes.
    pub episodes: u64,
    /// The profile in force, if there is one.
    pub profile: Option<&'a Path>,
    /// Columns without a role.
    pub unused: &'a [UnusedColumn],
    /// The command that writes all this down as a profile.
    pub next: &'a str,
}

/// Writes column roles, rig, and what to do where a guess is wrong.
///
/// # Errors
/// If the output cannot be written.
pub fn columns(dataset: &Understood<'_>, out: &mut dyn Write) -> io::Result<()> {
    let Understood { rig, roles, inputs, unread, skipped, episodes, profile, unused, next } =
        *dataset;
    let rows: u64 = inputs.iter().map(|input| input.rows).sum();
    let tables = count(inputs.len() as u64, "file");
    writeln!(out, "{tables}, {}, {}", count(episodes, "episode"), count(rows, "row"))?;
    let longest = roles.iter().map(|role| role.role.word().len()).max().unwrap_or(0).max(8);
    writeln!(out, "\n  {:<longest$} {:<20} {:<22} why", "role", "column", "shape")?;
    for role in roles {
        role_lines(role, longest, out)?;
    }
    writeln!(out)?;
    let unit = match rig.unit {
        AngleUnit::Counts { per_turn } => format!("counts, {} to a turn", significant(per_turn)),
        AngleUnit::Normalized { low, high } => {
            format!("normalized, {} to {}", significant(low), significant(high))
        }
        unit => unit.name().to_owned(),
    };
    let decided = if rig.unit_declared { "declared" } else { "from the size of the values" };
    let profile = profile.map_or("none".to_owned(), |path| path.display().to_string());
    put(out, "  profile  ", &profile)?;
    put(out, "  rate     ", &rate(rig))?;
    put(out, "  clock    ", &clock(rig.clock))?;
    put(out, "  unit     ", &format!("{unit} ({decided})"))?;
    put(out, "  joints   ", &joints(rig))?;
    for line in kinds(rig) {
        put(out, "  kind     ", &line)?;
    }
    if let Some(line) = decides(rig) {
        put(out, "  decide   ", &format!("otherwise with {line}"))?;
    }
    for notice in &rig.notices {
        put(out, "  note     ", &clean(notice))?;
    }
    unused_columns(unused, out)?;
    for (trouble, files) in files::by_trouble(unread) {
        writeln!(out, "\n  {trouble}:")?;
        for file in files.iter().take(MOST) {
            put(out, "  ", &format!("{}: {}", file.path.display(), file.reason))?;
        }
    }
    if let Some(text) = files::skipped(skipped) {
        writeln!(out)?;
        put(out, "  skipped  ", &text)?;
    }
    writeln!(out, "\n  wrong? write a profile, edit it, keep it next to the data:")?;
    writeln!(out, "  next: {next}")
}

fn put(out: &mut dyn Write, first: &str, text: &str) -> io::Result<()> {
    let rest = first.len().max(4);
    wrap(text, first, rest, WIDTH).iter().try_for_each(|line| writeln!(out, "{}", line.trim_end()))
}

/// A role takes as many lines as its longest cell needs.
fn role_lines(role: &RoleChoice, longest: usize, out: &mut dyn Write) -> io::Result<()> {
    let names = if role.columns.is_empty() { "-".to_owned() } else { role.columns.join(", ") };
    let cells = [
        (role.role.word(), longest),
        (&*names, 20),
        (&*role.shape, 22),
        (&*role.why, 33 - longest),
    ];
    row(&cells, "").iter().try_for_each(|line| writeln!(out, "{line}"))
}

/// Each with the reason, and the line that would use it.
fn unused_columns(unused: &[UnusedColumn], out: &mut dyn Write) -> io::Result<()> {
    if unused.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n  not used, and the line of a profile that would use it:")?;
    for UnusedColumn { name, shape, why, line } in unused.iter().take(MOST) {
        put(out, "  - ", &format!("{} ({shape}): {why}", clean(name)))?;
        if let Some(line) = line {
            writeln!(out, "      {}", profile_line(line))?;
        }
    }
    if unused.len() > MOST {
        writeln!(out, "  and {}", count((unused.len() - MOST) as u64, "more column"))?;
    }
    Ok(())
}

/// A line as it can be pasted, and where.
fn profile_line(line: &ProfileLine) -> String {
    let text = |name: &str| toml::Value::String(name.to_owned()).to_string();
    match line {
        ProfileLine::One(key, name) => format!("{key} = {}    # under [columns]", text(name)),
        ProfileLine::List(key, names) => {
            let names: Vec<String> = names.iter().map(|name| text(name)).collect();
            format!("{key} = [{}]    # under [columns]", names.join(", "))
        }
        ProfileLine::Camera { name, key, column } => {
            format!(
                "camera = [{{ name = {}, {key} = {} }}]    # at the top",
                text(name),
                text(column)
            )
        }
    }
}

fn rate(rig: &Rig) -> String {
    let measured = (rig.period_s > 0.0)
        .then(|| format!("{} Hz by the stamps' median step", significant(1.0 / rig.period_s)));
    match (rig.rate_hz, measured) {
        (Some(rate), Some(measured)) => format!("{} Hz declared, {measured}", significant(rate)),
        (Some(rate), None) => format!("{} Hz declared", significant(rate)),
        (None, Some(measured)) => format!("{measured}; none declared (--rate HZ)"),
        (None, None) => "unknown: declare it with --rate HZ".to_owned(),
    }
}

fn clock(clock: ClockStorage) -> String {
    match clock {
        ClockStorage::None => "no time column: stamps made from the row number".to_owned(),
        ClockStorage::Float { precision_bits, scale_s } => {
            let width = if precision_bits > 24 { 64 } else { 32 };
            format!("float{width} in units of {scale_s} s")
        }
        ClockStorage::Ticks { tick_s } => format!("whole numbers of {tick_s} s"),
    }
}

fn joints(rig: &Rig) -> String {
    let names = rig.joints.iter().take(MOST).map(|joint| {
        let mut notes: Vec<String> = Vec::new();
        if joint.gripper_by_place {
            notes.push("gripper, by its place".to_owned());
        } else if joint.gripper {
            notes.push("gripper".to_owned());
        }
        if joint.linear {
            notes.push("linear".to_owned());
        }
        if let (Some(lower), Some(upper)) = (joint.lower, joint.upper) {
            let factor = if joint.linear { 1e3 } else { 180.0 / std::f64::consts::PI };
            let unit = if joint.linear { "mm" } else { "deg" };
            let (lower, upper) = (significant(lower * factor), significant(upper * factor));
            notes.push(format!("{lower} to {upper} {unit}"));
        }
        if let Some(speed) = joint.max_speed {
            let factor = if joint.linear { 1e3 } else { 180.0 / std::f64::consts::PI };
            let unit = if joint.linear { "mm/s" } else { "deg/s" };
            notes.push(format!("at most {} {unit}", significant(speed * factor)));
        }
        if let Some(arm) = &joint.arm {
            notes.push(format!("arm {}", clean(arm)));
        }
        let name = clean(&joint.name);
        if notes.is_empty() { name } else { format!("{name} ({})", notes.join(", ")) }
    });
    let mut text = format!("{}: {}", rig.joints.len(), names.collect::<Vec<_>>().join(", "));
    if rig.joints.len() > MOST {
        text.push_str(", ...");
    }
    text
}
