//! The plan of action: what is wrong by cause, what to do about it, the episodes that show it as
//! links to them, and what can be done with what is recorded.

use std::fmt::Write as _;

use minijinja::Value;

use super::template::class;
use crate::judge::{Affected, Cause, Extent};
use crate::model::{CardPlace, Severity};
use crate::report::advice::{command, with_options};
use crate::report::causes::told;
use crate::report::text::{clean, count};
use crate::report::view::View;
use crate::report::words::data_line;

/// Causes shown before the rest is folded.
const MOST: usize = 14;
/// Episodes of a cause that are named, and of a list.
const OF_A_CAUSE: usize = 12;
const OF_ALL: usize = 30;

/// The causes, those that are shown at once and those that are folded below them, and the episodes to
/// leave out or to recover.
pub(super) fn plan(view: &View<'_>) -> Value {
    let causes: Vec<Value> = view.digest.causes.iter().map(|cause| one(view, cause)).collect();
    let failing = view.digest.causes.iter().filter(|c| c.severity == Severity::Fail).count();
    let title = match (failing, causes.len()) {
        (_, 0) => "",
        (0, _) => "What to look at",
        (1, _) => "What to fix",
        _ => "What to fix, most minutes lost first",
    };
    let (shown, folded) = causes.split_at(causes.len().min(MOST));
    let more = format!("{} more", count(folded.len(), "cause"));
    let plan = &view.digest.plan;
    let recover: Vec<CardPlace> = plan.recover.iter().map(|one| one.place).collect();
    let lists = [("Exclude or record again", &plan.exclude), ("Recoverable", &recover)];
    let lists: Vec<Value> = lists.iter().filter_map(|(title, at)| list(view, title, at)).collect();
    let copy = command(view);
    minijinja::context! { title, shown, folded, more, lists, copy }
}

fn one(view: &View<'_>, cause: &Cause) -> Value {
    let told = told(view, cause, OF_A_CAUSE);
    let named = cause.failing().take(OF_A_CAUSE);
    let episodes: Vec<Value> = named.map(|one| episode(view, one)).collect();
    let failing = cause.failing().count();
    let data = match cause.extent {
        Extent::Session(at) => {
            let finding = &view.session_findings()[at];
            with_options(data_line(finding.metric, finding.severity), &told.options)
        }
        Extent::Episodes(_) => told.data,
    };
    minijinja::context! {
        class => class(told.status),
        word => told.status.word(),
        what => told.what,
        heading => if failing == 1 { "episode" } else { "episodes" },
        more => failing - episodes.len(),
        episodes,
        warn => cause.affected().len() - failing,
        cause => told.cause,
        fix => told.fix,
        data,
        also => told.also,
        lost => told.lost,
    }
}

/// Episodes as links; none where there are none or all are meant.
fn list(view: &View<'_>, title: &str, places: &[CardPlace]) -> Option<Value> {
    let all = view.outcome.cards.len();
    if places.is_empty() {
        return None;
    }
    let shown =
        if places.len() == all && all > 1 { &[] } else { &places[..places.len().min(OF_ALL)] };
    let more = match (shown.len(), places.len()) {
        (0, all) => format!("all of {}", count(all as u64, "episode")),
        (shown, all) if shown < all => format!(" and {} more", all - shown),
        _ => String::new(),
    };
    let link = |place: &CardPlace| {
        let id = &view.card(*place).key.id;
        minijinja::context! { id => clean(id), address => address(id) }
    };
    let links: Vec<Value> = shown.iter().map(link).collect();
    Some(minijinja::context! { title, links, more })
}

/// An episode: its name, its address in the page, and the seconds in which it shows.
fn episode(view: &View<'_>, one: &Affected) -> Value {
    let id = &view.card(one.place).key.id;
    let ends = || one.spans_s.iter().flatten().copied();
    let (from, to) = (ends().fold(f64::INFINITY, f64::min), ends().fold(f64::MIN, f64::max));
    let (from, to) = (format!("{from:.1}"), format!("{to:.1}"));
    let time = match one.spans_s.first() {
        None => String::new(),
        // A clock that runs backward has its ends the other way round.
        Some([first, last]) if from == to || last < first => format!("at {from} s"),
        Some(_) => format!("{from}-{to} s"),
    };
    minijinja::context! { id => clean(id), address => address(id), time }
}

/// The address of an episode in the page, as the script reads it: percent-encoded (RFC 3986, all
/// but unreserved signs).
fn address(id: &str) -> String {
    let mut address = String::from("#episode=");
    for byte in id.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            address.push(char::from(byte));
        } else {
            let _ = write!(address, "%{byte:02X}");
        }
    }
    address
}

#[cfg(test)]
mod tests {
    use super::address;

    #[test]
    fn an_address_is_percent_encoded() {
        assert_eq!(address("run-1.a_b~"), "#episode=run-1.a_b~");
        // RFC 3986, section 2.5: the letter A with a grave accent.
        assert_eq!(address("\u{c0}"), "#episode=%C3%80");
        assert_eq!(address("\"><b> '%"), "#episode=%22%3E%3Cb%3E%20%27%25");
    }
}
