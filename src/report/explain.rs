//! What a check looks at, how, its limits, and what to do on the rig.

use std::io::{self, Write};

use super::text::wrap;
use crate::judge::Limits;
use crate::model::quantity::written;
use crate::model::{Bound, CheckSpec, Family, Metric, Pool, Scope, SignalKind, Unit};

const WIDTH: usize = 80;

/// Writes the list of checks, by family.
///
/// # Errors
/// If the output cannot be written.
pub fn list(checks: &[&'static CheckSpec], out: &mut dyn Write) -> io::Result<()> {
    let mut families: Vec<Family> = Vec::new();
    for check in checks {
        if !families.contains(&check.family) {
            families.push(check.family);
        }
    }
    let width = checks.iter().map(|c| c.id.len()).max().unwrap_or(0);
    for family in families {
        writeln!(out, "{family}")?;
        for check in checks.iter().filter(|c| c.family == family) {
            let advisory = if check.advisory { " (advisory)" } else { "" };
            let first = format!("  {:<width$}  ", check.id);
            let text =
                format!("{}{advisory}: {}", check.title(), first_sentence(&check.manual_text()));
            put(out, &wrap(&text, &first, width + 4, WIDTH))?;
        }
        writeln!(out)?;
    }
    writeln!(out, "An advisory check warns at most. One check in full: teleassay explain CHECK")
}

/// Writes one check in full, with the limits in force.
///
/// # Errors
/// If the output cannot be written.
pub fn explain(check: &CheckSpec, limits: &Limits, out: &mut dyn Write) -> io::Result<()> {
    let kind = if check.advisory { "advisory: warns at most" } else { "may fail an episode" };
    writeln!(out, "{} - {} ({}, {kind})", check.id, check.title(), check.family)?;
    section(out, "what it looks at, and how", &check.manual_text())?;
    writeln!(out, "\nmeasurements, with their limits as a profile may write them")?;
    for metric in check.metrics {
        put(out, &wrap(&measurement(check, metric, limits), "  ", 6, WIDTH))?;
    }
    writeln!(out, "\nparameters")?;
    if check.params.is_empty() {
        writeln!(out, "  none")?;
    }
    for param in check.params {
        let default = written(param.default, param.unit);
        let text = format!("{} = {default}: {}", param.id, param.summary);
        put(out, &wrap(&text, "  ", 6, WIDTH))?;
    }
    section(out, "when it reports, the likely cause", check.cause)?;
    section(out, "on the rig", check.remedy)?;
    let recovery = recovery(check);
    if !recovery.is_empty() {
        section(out, "what is recorded already", &recovery)?;
    }
    section(out, "reference", check.reference)
}

fn put(out: &mut dyn Write, lines: &[String]) -> io::Result<()> {
    lines.iter().try_for_each(|line| writeln!(out, "{}", line.trim_end()))
}

/// A heading and its text; empty lines separate paragraphs, lines that are set in (tables,
/// formulas) and list items keep their place.
fn section(out: &mut dyn Write, heading: &str, text: &str) -> io::Result<()> {
    writeln!(out, "\n{heading}")?;
    let mut paragraph = String::new();
    let text = text.trim_end();
    let lines = text.lines().count();
    for (n, line) in text.lines().chain(std::iter::once("")).enumerate() {
        let item = line.trim_start();
        let set_in = line.starts_with("   ");
        if (item.is_empty() || set_in || item.starts_with("- ")) && !paragraph.is_empty() {
            let rest = if paragraph.starts_with("- ") { 4 } else { 2 };
            put(out, &wrap(&paragraph, "  ", rest, WIDTH))?;
            paragraph.clear();
        }
        if item.is_empty() {
            if n < lines {
                writeln!(out)?;
            }
        } else if set_in {
            writeln!(out, "  {}", super::text::cut(&super::text::clean(line), WIDTH - 2))?;
        } else {
            if !paragraph.is_empty() {
                paragraph.push(' ');
            }
            paragraph.push_str(item);
        }
    }
    Ok(())
}

fn measurement(check: &CheckSpec, metric: &Metric, limits: &Limits) -> String {
    let limit = limits.get(check, metric);
    let side = match metric.bound {
        Bound::Above(_) => "above",
        Bound::Below(_) => "below",
        Bound::Unjudged => "",
    };
    let one = |word: &str, value: Option<f64>| {
        value.map(|value| format!("{word} {side} {}", written(value, metric.unit)))
    };
    let parts: Vec<String> =
        [one("warn", limit.warn), one("fail", limit.fail)].into_iter().flatten().collect();
    let sliding: Vec<String> = limit
        .warn
        .into_iter()
        .chain(limit.fail)
        .filter(|_| sliding(check, metric))
        .map(|limit| in_metres(limit, metric.unit))
        .collect();
    let sliding = Some(sliding.join(" and ")).filter(|both| !both.is_empty());
    let parts = parts.into_iter().chain(sliding.map(|both| format!("linear joints {both}")));
    let parts: Vec<String> = parts.collect();
    let of_session = session_limit(metric);
    let parts: Vec<String> = parts.into_iter().chain(of_session).collect();
    let judged = if parts.is_empty() { "never judged".to_owned() } else { parts.join(", ") };
    let per = match metric.scope {
        Scope::Episode => "per episode",
        Scope::Joint => "per joint",
    };
    format!("{} [{}, {per}]: {} ({judged})", metric.id, metric.unit.symbol(), metric.summary)
}

/// Whether a measurement of a check may be read on linear joints in another unit, with limits of its own.
pub(super) fn sliding(check: &CheckSpec, metric: &Metric) -> bool {
    let slides = |kind: &SignalKind| matches!(kind, SignalKind::Prismatic | SignalKind::Position);
    let own = !matches!(metric.unit, Unit::Radian | Unit::RadianPerSecond);
    metric.scope == Scope::Joint && !own && check.applies_to.iter().any(slides)
}

/// A limit in radians as it holds for linear joints.
pub(super) fn in_metres(limit: f64, unit: Unit) -> String {
    let millimetres = (limit * unit.on_linear() * 1e5).round() / 1e2;
    format!("{millimetres} mm{}", if unit == Unit::RadianPerSecond { "/s" } else { "" })
}

/// How the session judges a measurement that is pooled.
pub(super) fn session_limit(metric: &Metric) -> Option<String> {
    let bound = match metric.pool? {
        Pool::Own => return Some("session: by its median".to_owned()),
        Pool::About { signed, neutral } => {
            let neutral = written(neutral, signed.unit);
            return Some(format!("session: by the median of {} about {neutral}", signed.id));
        }
        Pool::Session(bound) | Pool::Fact(bound) => bound,
    };
    let (side, limit) = match bound {
        Bound::Above(limit) => ("above", limit),
        Bound::Below(limit) => ("below", limit),
        Bound::Unjudged => return None,
    };
    let one = |word: &str, value: Option<f64>| {
        value.map(|value| format!("{word} {side} {}", written(value, metric.unit)))
    };
    let parts = [one("warn", limit.warn), one("fail", limit.fail)];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    Some(format!("session: by its median, {}", parts.join(", ")))
}

/// How recorded data is recoverable: each way once.
pub(super) fn recovery(check: &CheckSpec) -> String {
    let mut ways: Vec<&str> = Vec::new();
    for way in check.metrics.iter().filter_map(|metric| metric.recovery) {
        if !ways.contains(&way) {
            ways.push(way);
        }
    }
    let how = ways.join("; ");
    match ways.first() {
        None => how,
        Some(first) if first.starts_with("as it is") => format!("can be used {how}"),
        Some(_) => format!("is recoverable: {how}"),
    }
}

fn first_sentence(manual: &str) -> String {
    let paragraph: Vec<&str> =
        manual.trim().lines().take_while(|line| !line.trim().is_empty()).map(str::trim).collect();
    let text = paragraph.join(" ");
    match text.split_once(". ") {
        Some((first, _)) => format!("{first}."),
        None => text,
    }
}
