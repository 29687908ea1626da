//! Which episodes to leave out or record again, when in them it shows, which are recoverable, and
//! how well the share of failing episodes is known.

use std::fmt::Write as _;

use super::files::by_trouble;
use super::number::significant;
use super::text::{clean, count};
use super::view::View;
use crate::judge::{LeaveOut, Recover};
use crate::model::{CardPlace, Unread};
use crate::num::interval::of_share;

/// Episodes named before a list is cut.
const MOST: usize = 10;
/// Of those that only warn, and of files.
const LOOK: usize = 3;

/// How much is usable, of how much, and how well the share of failing episodes is known.
pub(super) fn totals(view: &View<'_>) -> String {
    let session = &view.outcome.session;
    let minutes = |s: f64| significant(s / 60.0);
    let episodes = count(session.episodes, "episode");
    if view.nothing_assessed() {
        return format!("recorded: {} minutes in {episodes}", minutes(session.duration_s));
    }
    let (usable, all) = (minutes(session.usable_s), minutes(session.duration_s));
    let mut text = format!("usable: {usable} of {all} minutes");
    let after = view.digest.plan.usable_after_s;
    if after > 1.001 * session.usable_s {
        let _ = write!(text, ", {} once recovered", minutes(after));
    }
    let (pass, warn, fail) = (session.counts.pass, session.counts.warn, session.counts.fail);
    let _ = write!(text, "; {pass} of {episodes} clean");
    if warn > 0 {
        let _ = write!(text, ", {warn} to look at");
    }
    if fail > 0 {
        let share = of_share(fail, session.episodes, 0.95);
        let percent = |share: f64| significant(100.0 * share);
        let _ = write!(text, ", {fail} failed");
        if let Some(share) = share.filter(|_| session.episodes >= 20 && fail < session.episodes) {
            let (low, high) = (percent(share.low), percent(share.high));
            let _ = write!(text, " ({low} to {high} %, at 95 %)");
        }
    }
    text
}

/// All that stands below the verdict, line by line.
pub(super) fn all(view: &View<'_>) -> Vec<String> {
    let gate = view.gate_missing();
    unread(view).into_iter().chain(gate).chain(rate(view)).chain(lists(view)).collect()
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
/// first failing finding, and those that can be recovered. Nothing where all of them fail.
fn lists(view: &View<'_>) -> Vec<String> {
    let plan = &view.digest.plan;
    if plan.failing() == view.outcome.cards.len() {
        return Vec::new();
    }
    if plan.failing() == 0 {
        return look_first(view).into_iter().collect();
    }
    let with_time = |one: &LeaveOut| match one.time_s {
        Some([from, to]) => format!("{} ({from:.1}-{to:.1})", id(view, one.place)),
        None => id(view, one.place),
    };
    let with_way = |one: &Recover| format!("{} ({})", id(view, one.place), one.how.join("; "));
    let head = "leave out or record again (seconds from the start): ";
    let lost = line(head, &plan.leave_out, MOST, with_time);
    let recoverable = line("recoverable: ", &plan.recover, MOST, with_way);
    lost.into_iter().chain(recoverable).collect()
}

fn id(view: &View<'_>, place: CardPlace) -> String {
    clean(&view.card(place).key.id)
}

/// Where nothing fails: which of those that warn to look at first, in the order of the list of
/// episodes, and for what.
fn look_first(view: &View<'_>) -> Option<String> {
    let with_cause = |place: &CardPlace| {
        let id = id(view, *place);
        let Some(finding) = view.own(*place).next() else { return id };
        let cause = format!("{} {}", finding.check.title(), clean(view.joint(finding.joint)));
        format!("{id} ({})", cause.trim_end())
    };
    line("look first at: ", &view.digest.plan.review, LOOK, with_cause)
}

/// Files that were not read: what they hold was not checked.
fn unread(view: &View<'_>) -> Option<String> {
    let of = |(trouble, files): (&str, Vec<&Unread>)| {
        let named = files.iter().take(LOOK).map(|file| clean(&file.path.display().to_string()));
        let named = named.collect::<Vec<_>>().join(", ");
        let more = files.len().saturating_sub(LOOK);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        format!("{trouble} (see below why): {named}{more}")
    };
    let all: Vec<String> = by_trouble(&view.outcome.unread).map(of).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

fn line<T>(head: &str, all: &[T], most: usize, one: impl Fn(&T) -> String) -> Option<String> {
    if all.is_empty() {
        return None;
    }
    let named: Vec<String> = all.iter().take(most).map(one).collect();
    let mut text = format!("{head}{}", named.join(", "));
    if all.len() > most {
        let _ = write!(text, " and {} more", all.len() - most);
    }
    Some(text)
}
