//! Which episodes to leave out or record again, when in them it shows, which can be mended, and how
//! well the share of failing episodes is known.

use std::fmt::Write as _;

use super::number::significant;
use super::table::excess;
use super::text::{clean, cut};
use super::view::View;
use crate::model::{Finding, Scorecard, Severity};
use crate::num::interval::of_share;

/// Episodes named before a list is cut.
const MOST: usize = 10;
/// Of those that only warn, and of files.
const LOOK: usize = 3;

/// All that stands below the verdict, line by line.
pub(super) fn all(view: &View<'_>) -> Vec<String> {
    unread(view).into_iter().chain(rate(view)).chain(lists(view)).collect()
}

/// How well the share of failing episodes is known; nothing where that says nothing.
fn rate(view: &View<'_>) -> Option<String> {
    let (failed, all) = (view.outcome.session.counts.fail, view.outcome.session.episodes);
    let percent = |share: f64| significant(100.0 * share);
    if failed == 0 {
        // Rule of three: with no failure in n, the rate is below 3/n with 95 % confidence.
        let bound = percent(3.0 / all as f64);
        return (all > 3)
            .then(|| format!("0 failures in {all} bound the rate to {bound} % (at 95 %)"));
    }
    let share = of_share(failed, all, 0.95)?;
    (all > 1 && failed < all).then(|| {
        let (value, low) = (percent(failed as f64 / all as f64), percent(share.low));
        let high = percent(share.high);
        format!("failed: {failed} of {all} episodes, {value} % ({low} to {high} at 95 %)")
    })
}

/// The episodes that fail by something of their own: those to leave out, with the time of the
/// first failing finding, and those that can be mended. Nothing where all of them fail.
fn lists(view: &View<'_>) -> Vec<String> {
    let failing = |card: &&Scorecard| own_failures(view, card).next().is_some();
    let cards: Vec<&Scorecard> = view.outcome.cards.iter().filter(failing).collect();
    if cards.len() == view.outcome.cards.len() {
        return Vec::new();
    }
    if cards.is_empty() {
        return look_first(view).into_iter().collect();
    }
    let (mended, lost): (Vec<&Scorecard>, Vec<&Scorecard>) =
        cards.into_iter().partition(|card| !ways(view, card).is_empty());
    let id = |card: &Scorecard| cut(&clean(&card.key.id), 24);
    let with_time = |card: &&Scorecard| match when(view, card) {
        Some(when) => format!("{} ({when})", id(card)),
        None => id(card),
    };
    let with_way = |card: &&Scorecard| format!("{} ({})", id(card), ways(view, card).join("; "));
    let lost = line("leave out or record again (seconds from the start): ", &lost, MOST, with_time);
    let mended = line("can be mended: ", &mended, MOST, with_way);
    lost.into_iter().chain(mended).collect()
}

/// Where nothing fails: which of those that warn to look at first, in the order of the list of
/// episodes, and for what.
fn look_first(view: &View<'_>) -> Option<String> {
    let warns = |card: &&Scorecard| view.own(card).next().is_some();
    let mut cards: Vec<&Scorecard> = view.outcome.cards.iter().filter(warns).collect();
    cards.sort_by(|a, b| excess(b).total_cmp(&excess(a)));
    let with_cause = |card: &&Scorecard| {
        let id = cut(&clean(&card.key.id), 24);
        let Some(finding) = view.own(card).next() else { return id };
        let cause = format!("{} {}", finding.check.title(), clean(view.joint(finding.joint)));
        format!("{id} ({})", cause.trim_end())
    };
    line("look first at: ", &cards, LOOK, with_cause)
}

/// Files that were not read: what they hold was not checked.
fn unread(view: &View<'_>) -> Option<String> {
    let files = &view.outcome.unread;
    let named: Vec<String> =
        files.iter().take(LOOK).map(|file| clean(&file.path.display().to_string())).collect();
    let more = files.len().saturating_sub(LOOK);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    (!files.is_empty()).then(|| format!("not read (see below why): {}{more}", named.join(", ")))
}

fn line(
    head: &str,
    cards: &[&Scorecard],
    most: usize,
    one: impl Fn(&&Scorecard) -> String,
) -> Option<String> {
    if cards.is_empty() {
        return None;
    }
    let named: Vec<String> = cards.iter().take(most).map(one).collect();
    let mut text = format!("{head}{}", named.join(", "));
    if cards.len() > most {
        let _ = write!(text, " and {} more", cards.len() - most);
    }
    Some(text)
}

fn own_failures<'c>(view: &View<'c>, card: &'c Scorecard) -> impl Iterator<Item = &'c Finding> {
    view.own(card).filter(|finding| finding.severity == Severity::Fail)
}

/// How the episode can be mended; empty if anything in it cannot be. What is of the rig can be put
/// right for a session, where it is constant, not for one episode.
fn ways<'c>(view: &View<'c>, card: &'c Scorecard) -> Vec<&'static str> {
    let way = |f: &Finding| f.metric.recovery.filter(|_| f.metric.pool.is_none());
    let Some(mut ways) = own_failures(view, card).map(way).collect::<Option<Vec<_>>>() else {
        return Vec::new();
    };
    ways.dedup();
    ways
}

/// From when to when the first failing finding is seen; nothing for what is seen throughout.
fn when(view: &View<'_>, card: &Scorecard) -> Option<String> {
    let first = own_failures(view, card).next()?;
    let at = card.findings.iter().position(|finding| std::ptr::eq(finding, first))?;
    let ends = || card.span_times_s.get(at).into_iter().flatten().flatten().copied();
    let (from, to) =
        (ends().fold(f64::INFINITY, f64::min), ends().fold(f64::NEG_INFINITY, f64::max));
    (from.is_finite() && to.is_finite()).then(|| format!("{from:.1}-{to:.1}"))
}
