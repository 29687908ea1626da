//! The manual of all checks as one Markdown document.

use std::io::{self, Write};

use super::explain::{in_metres, recovery, session_limit, sliding};
use super::words::capital;
use crate::judge::Limits;
use crate::model::quantity::written;
use crate::model::{Bound, CheckSpec, Metric, Scope};

const HEAD: &str = "\
# Catalogue of checks

What every check looks at, how it is computed, its measurements with limits and units, its
parameters, its traps, what to do on the rig, and where the method comes from. Made from the code:
do not edit, run `cargo run --release -- explain --all > src/check/CATALOGUE.md`.

The unit is that of readings in JSON and of a bare number in a profile. Limits and parameters are
stated as a profile may write them too: `\"5 deg\"`, `\"150 ms\"`, `\"2 %\"`. They are defaults. On a
linear joint a limit of a degree is one of 2 mm, given in brackets. A measurement that is never judged is context for a
person, or a feature of `outlier-episode`. What cannot be assessed is reported with its reason, and
never as a pass. An advisory check warns at most.
";

/// The parts of a manual text, each with its paragraphs.
#[derive(Default)]
struct Parts {
    what: Vec<String>,
    why: Vec<String>,
    how: Vec<String>,
    traps: Vec<String>,
}

/// Writes the manual of these checks, with the limits in force.
///
/// # Errors
/// If the output cannot be written.
pub fn manual(
    checks: &[&'static CheckSpec],
    limits: &Limits,
    out: &mut dyn Write,
) -> io::Result<()> {
    writeln!(out, "{HEAD}")?;
    writeln!(out, "| family | check | looks at | |\n| --- | --- | --- | --- |")?;
    for check in checks {
        let kind = if check.advisory { "advisory" } else { "" };
        let (family, id, title) = (check.family, check.id, check.title());
        writeln!(out, "| {family} | [`{id}`](#{id}) | {title} | {kind} |")?;
    }
    checks.iter().try_for_each(|check| one(check, limits, out))
}

fn one(check: &CheckSpec, limits: &Limits, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\n## {}\n", check.id)?;
    let kind = if check.advisory { "advisory: warns at most" } else { "may fail an episode" };
    writeln!(out, "*{}* ({}; {kind})", check.title(), check.family)?;
    let parts = Parts::of(&check.manual_text());
    for (heading, paragraphs) in
        [("What", &parts.what), ("Why", &parts.why), ("How", &parts.how), ("Traps", &parts.traps)]
    {
        for (n, paragraph) in paragraphs.iter().enumerate() {
            match n {
                0 => writeln!(out, "\n**{heading}.** {paragraph}")?,
                _ => writeln!(out, "\n{paragraph}")?,
            }
        }
    }
    writeln!(out, "\n| measurement | unit | per | is | warn | fail |")?;
    writeln!(out, "| --- | --- | --- | --- | --- | --- |")?;
    for metric in check.metrics {
        measurement(check, metric, limits, out)?;
    }
    if !check.params.is_empty() {
        writeln!(out, "\n| parameter | unit | sets | default |\n| --- | --- | --- | --- |")?;
    }
    for param in check.params {
        let (id, unit) = (param.id, param.unit.symbol());
        let (summary, default) = (cell(param.summary), written(param.default, param.unit));
        writeln!(out, "| `{id}` | {unit} | {summary} | {default} |")?;
    }
    writeln!(out, "\n**Likely cause.** {}", sentence(check.cause))?;
    writeln!(out, "\n**On the rig.** {}", sentence(check.remedy))?;
    let recovery = recovery(check);
    if !recovery.is_empty() {
        writeln!(out, "\n**What is recorded already** {recovery}.")?;
    }
    writeln!(out, "\n**Source.** {}", sentence(check.reference))
}

fn measurement(
    check: &CheckSpec,
    metric: &Metric,
    limits: &Limits,
    out: &mut dyn Write,
) -> io::Result<()> {
    let limit = limits.get(check, metric);
    let side = match metric.bound {
        Bound::Above(_) => "above",
        Bound::Below(_) => "below",
        Bound::Unjudged => "",
    };
    let beyond = |value| {
        let of_linear = sliding(check, metric).then(|| in_metres(value, metric.unit));
        let of_linear = of_linear.map_or_else(String::new, |length| format!(" ({length})"));
        format!("{side} {}{of_linear}", written(value, metric.unit))
    };
    let bad = |value: Option<f64>| value.map_or_else(String::new, beyond);
    let per = match metric.scope {
        Scope::Episode => "episode",
        Scope::Joint => "joint",
    };
    let of_session = session_limit(metric).map_or_else(String::new, |text| format!(" ({text})"));
    let (id, unit) = (metric.id, metric.unit.symbol());
    let summary = format!("{}{of_session}", cell(metric.summary));
    let (warn, fail) = (bad(limit.warn), bad(limit.fail));
    writeln!(out, "| `{id}` | {unit} | {per} | {summary} | {warn} | {fail} |")
}

impl Parts {
    fn of(manual: &str) -> Self {
        let mut parts = Self::default();
        let mut in_part = 0;
        for paragraph in manual.split("\n\n") {
            let lines: Vec<&str> = paragraph.lines().map(str::trim).collect();
            let text = lines.join(" ").trim().to_owned();
            let (next, text) = match (text.strip_prefix("How:"), text.strip_prefix("Traps:")) {
                (Some(how), _) => (2, how.trim().to_owned()),
                (_, Some(traps)) => (3, traps.trim().to_owned()),
                // After the first paragraph, and before the method, comes why it matters.
                _ if in_part == 0 && !parts.what.is_empty() => (1, text),
                _ => (in_part, text),
            };
            in_part = next;
            let list = match in_part {
                0 => &mut parts.what,
                1 => &mut parts.why,
                2 => &mut parts.how,
                _ => &mut parts.traps,
            };
            list.push(sentence(&text));
        }
        parts
    }
}

/// With a capital and a full stop.
fn sentence(text: &str) -> String {
    let stop = if text.ends_with(['.', ':', '?']) { "" } else { "." };
    format!("{}{stop}", capital(text))
}

/// Text within a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paragraphs_find_their_part() {
        let parts = Parts::of(
            "What it is.\n\nWhy it matters,\non two lines.\n\nHow: a sum.\n\nMore of it.\n\nTraps: one",
        );
        assert_eq!(parts.what, ["What it is."]);
        assert_eq!(parts.why, ["Why it matters, on two lines."]);
        assert_eq!(parts.how, ["A sum.", "More of it."]);
        assert_eq!(parts.traps, ["One."]);
    }
}
