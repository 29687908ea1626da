//! A cause in words: what is wrong and where, in which episodes, why, and what to do about it.

use super::advice::{options_of, with_options};
use super::number::{Human, significant};
use super::status::Status;
use super::text::{clean, list};
use super::view::View;
use super::words::{metric_name, session_extent};
use crate::judge::{Affected, Cause, Extent};
use crate::model::{Bound, CheckSpec, Metric, Severity};

/// Joints named before a list is cut.
const JOINTS: usize = 3;

/// A cause in words.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Told {
    pub status: Status,
    /// What, where, how much, against what limit: `tracking lag elbow 233 ms (limit 150 ms)`.
    pub what: String,
    /// The episodes that show it, with seconds from the start; empty for what the session shows.
    pub episodes: String,
    /// What most likely happened.
    pub cause: &'static str,
    /// What to do, the first thing first, separated by semicolons.
    pub fix: &'static str,
    /// What to do with what is recorded; empty where nothing can or need be done.
    pub data: String,
    /// Options of `keep` that mend it.
    pub options: Vec<String>,
    /// What is lost by it: `16 s lost`; empty where that is nothing or one episode.
    pub lost: String,
    /// Checks that say no more than this one: ` Also: leader overreach.`; may be empty.
    pub also: String,
}

/// Puts a cause in words; `most` is how many episodes are named.
pub(super) fn told(view: &View<'_>, cause: &Cause, most: usize) -> Told {
    let options = options_of(view, cause);
    let data = match (&cause.extent, cause.severity) {
        (_, Severity::Warn) if options.is_empty() => String::new(),
        _ => cause.recovery.join("; "),
    };
    let also: Vec<String> = cause.also.iter().map(|check| check.title()).collect();
    Told {
        status: Status::from(cause.severity),
        what: what(view, cause),
        episodes: episodes(view, cause, most),
        cause: cause.check.cause,
        fix: cause.check.remedy,
        data: with_options(data, &options),
        options,
        // One episode is what is lost by it.
        lost: if cause.failing().count() == 1 { String::new() } else { lost(cause.lost_s) },
        also: if also.is_empty() { String::new() } else { format!(" Also: {}.", also.join(", ")) },
    }
}

/// Seconds, or minutes where there are many.
fn lost(seconds: f64) -> String {
    match seconds {
        none if none <= 0.0 => String::new(),
        few if few < 120.0 => format!("{few:.0} s lost"),
        many => format!("{} min lost", significant(many / 60.0)),
    }
}

fn what(view: &View<'_>, cause: &Cause) -> String {
    let title = measured(cause.check, cause.metric);
    let joints = joints(view, cause);
    let title = if joints.is_empty() { title } else { format!("{title} {joints}") };
    let known = if known(view, cause) { "known: " } else { "" };
    let typical = if cause.limit == 0.0 { cause.value } else { cause.limit };
    let linear = view.linear(cause.joints.first().copied());
    let human = Human::of(cause.metric, linear, typical);
    let word = match cause.metric.bound {
        Bound::Below(_) => "min",
        Bound::Above(_) | Bound::Unjudged => "limit",
    };
    let limit = format!("({word} {})", human.quantity(cause.limit));
    let size = match cause.extent {
        Extent::Session(at) => {
            let finding = &view.session_findings()[at];
            let note = clean(&finding.note);
            let extent = session_extent(finding, &view.outcome.cards, view.rig);
            if note.is_empty() { extent } else { format!("{extent}, {note}") }
        }
        Extent::Episodes(_) => human.quantity(cause.value),
    };
    format!("{known}{title} {size} {limit}")
}

/// The title of the check, with the measurement where the title alone would read as another one of the
/// same unit: `duration, short by`.
fn measured(check: &CheckSpec, metric: &Metric) -> String {
    let title = check.title();
    let mistaken = |other: &&&Metric| {
        metric_name(other) == title && other.unit == metric.unit && !other.is(metric)
    };
    match check.metrics.iter().find(mistaken) {
        Some(_) => format!("{title}, {}", metric_name(metric)),
        None => title,
    }
}

fn joints(view: &View<'_>, cause: &Cause) -> String {
    let names: Vec<String> = cause.joints.iter().map(|j| clean(view.joint(Some(*j)))).collect();
    if names.len() <= JOINTS + 1 {
        return list(names.iter().map(String::as_str));
    }
    let more = format!("{} more", names.len() - JOINTS);
    list(names[..JOINTS].iter().map(String::as_str).chain([more.as_str()]))
}

/// Whether a baseline has all of it as well.
fn known(view: &View<'_>, cause: &Cause) -> bool {
    match cause.extent {
        Extent::Session(at) => view.known_of_session(at) == Some(true),
        Extent::Episodes(_) => cause.affected().iter().all(|one| {
            let card = view.card(one.place);
            let own = view.own(one.place).filter(|finding| finding.check.is(cause.check));
            let own: Vec<_> =
                own.filter(|f| f.joint.is_none_or(|j| cause.joints.contains(&j))).collect();
            !own.is_empty() && own.iter().all(|finding| view.known(card, finding) == Some(true))
        }),
    }
}

/// The episodes that show a cause: those that fail by it first, in the order of the dataset.
fn episodes(view: &View<'_>, cause: &Cause, most: usize) -> String {
    let warned = || cause.affected().iter().filter(|one| one.severity != cause.severity);
    let named: Vec<String> = cause.failing().take(most).map(|one| episode(view, one)).collect();
    let more = cause.failing().count() - named.len();
    let mut parts = named.join(", ");
    if more > 0 {
        parts = format!("{parts} and {more} more");
    }
    match warned().count() {
        0 => parts,
        n => format!("{parts}; {n} more warn"),
    }
}

/// An episode with the time in which it shows: `13 (7.3-10.5 s)`.
fn episode(view: &View<'_>, one: &Affected) -> String {
    let id = clean(&view.card(one.place).key.id);
    let ends = || one.spans_s.iter().flatten().copied();
    let (from, to) = (ends().fold(f64::INFINITY, f64::min), ends().fold(f64::MIN, f64::max));
    let (from, to) = (format!("{from:.1}"), format!("{to:.1}"));
    match one.spans_s.first() {
        None => id,
        // A clock that runs backward has its ends the other way round.
        Some([first, last]) if from == to || last < first => format!("{id} (at {from} s)"),
        Some(_) => format!("{id} ({from}-{to} s)"),
    }
}

/// Why and what to do, in at most so many lines: of several remedies the first ones that fit, of
/// one line the remedy alone.
pub(super) fn why(told: &Told, lines: impl Fn(&str) -> Vec<String>, most: usize) -> Vec<String> {
    let fixes: Vec<&str> = told.fix.split("; ").collect();
    let data = if told.data.is_empty() { String::new() } else { format!(" Data: {}.", told.data) };
    let fix = |kept: usize| format!("Fix: {}.{data}", fixes[..kept].join("; "));
    let whole = |kept: usize| format!("{}. {}", told.cause, fix(kept));
    let kept = || (1..=fixes.len()).rev();
    let with_also = (!told.also.is_empty()).then(|| whole(fixes.len()) + &told.also);
    let texts = with_also.into_iter().chain(kept().map(whole)).chain(kept().map(fix));
    let fitted = texts.map(|text| lines(&text)).find(|lines| lines.len() <= most);
    fitted.unwrap_or_else(|| if most > 1 { lines(&whole(1)) } else { lines(&fix(1)) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::find;

    #[test]
    fn what_would_read_as_another_measurement_is_named() {
        let measured_of = |id: &str, metric: &str| {
            let check = find(id)?.spec();
            let metric = check.metrics.iter().find(|one| one.id == metric)?;
            Some(measured(check, metric))
        };
        for (check, metric, wanted) in [
            ("duration", "short_by", "duration, short by"),
            ("duration", "duration", "duration"),
            ("dropped-frames", "dropped_share", "dropped frames"),
            ("tracking-lag", "lag", "tracking lag"),
        ] {
            assert_eq!(measured_of(check, metric).as_deref(), Some(wanted));
        }
    }
}
