//! What to do, one step each; what several steps have in common is said once.

use minijinja::Value;

use super::super::Compared;
use super::super::words::{message, step};
use crate::compare::{Answer, Aspect, Group, Row, Verdict};
use crate::report::text::{clean, count};

/// Words at the end that steps share before they are put under one heading.
const SHARED: usize = 4;

/// What stands above the steps.
pub(super) fn title(view: &Compared<'_>) -> &'static str {
    match view.comparison.advice.verdict {
        _ if view.comparison.identical() => "What to do",
        Verdict::KeepApart => "Why not",
        Verdict::Correct => "What to do before merging",
        Verdict::Merge | Verdict::CannotTell => "What to do",
    }
}

/// What to do, one step each.
pub(super) fn steps(view: &Compared<'_>) -> Vec<Value> {
    let comparison = view.comparison;
    let plain = |texts: Vec<String>| -> Vec<Value> {
        texts.iter().map(|text| minijinja::context! { text => clean(text) }).collect()
    };
    if comparison.identical() {
        return plain(vec!["Train on one of them alone: the other adds nothing.".to_owned()]);
    }
    match comparison.advice.verdict {
        Verdict::Correct | Verdict::KeepApart => {
            let of = comparison.advice.steps.iter().map(|one| (one.aspect, step(view, one)));
            together(of.collect())
        }
        Verdict::Merge => {
            let mut steps = vec!["Train on both together, as they are.".to_owned()];
            let done = comparison.rows.iter().filter(|row| row.severity().is_some());
            steps.extend(
                done.filter(|row| row.aspect.group() == Group::Behaviour)
                    .map(|row| format!("Is it meant? {}", message(view, row))),
            );
            plain(steps)
        }
        Verdict::CannotTell => plain(vec![more_data(view)]),
    }
}

/// Steps of one aspect that end in the same words, under these words; all others as they are.
fn together(steps: Vec<(Aspect, String)>) -> Vec<Value> {
    let mut groups: Vec<(Aspect, Vec<String>)> = Vec::new();
    for (aspect, text) in steps {
        match groups
            .iter_mut()
            .find(|(known, all)| *known == aspect && shared([&all[0], &text]) >= SHARED)
        {
            Some((_, all)) => all.push(text),
            None => groups.push((aspect, vec![text])),
        }
    }
    let one = |(aspect, texts): &(Aspect, Vec<String>)| {
        let [first, _, ..] = texts.as_slice() else {
            return minijinja::context! { text => clean(&texts[0]) };
        };
        let end = texts.iter().map(|text| shared([first, text])).min().unwrap_or(0);
        let parts: Vec<String> = texts.iter().map(|text| clean(split(text, end).0)).collect();
        let parts = parts.iter().map(|part| part.trim_end_matches([':', ' ']).to_owned());
        let text = clean(&format!("{}: {}", aspect.title(), split(first, end).1));
        minijinja::context! { text, parts => parts.collect::<Vec<String>>() }
    };
    groups.iter().map(one).collect()
}

/// How many words at their end two texts share.
fn shared([a, b]: [&str; 2]) -> usize {
    a.split(' ').rev().zip(b.split(' ').rev()).take_while(|(a, b)| a == b).count()
}

/// A text without its last words, and these.
fn split(text: &str, words: usize) -> (&str, &str) {
    let spaces = text.match_indices(' ').rev().nth(words.saturating_sub(1));
    spaces.map_or(("", text), |(at, _)| (&text[..at], &text[at + 1..]))
}

/// How many episodes would tell what is open on the rig.
fn more_data(view: &Compared<'_>) -> String {
    let open = |row: &&Row| {
        row.aspect.group() == Group::Rig && row.answer == Answer::Inconclusive && row.measured()
    };
    let needs = view.comparison.rows.iter().filter(open).filter_map(|row| row.needs).max();
    match needs {
        Some(needs) => format!(
            "Record until each side has about {}, then compare again.",
            count(needs as u64, "episode")
        ),
        None => "Inconclusive: the reason is given below, under each aspect.".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(steps: &[(Aspect, &str)]) -> Vec<String> {
        let steps = steps.iter().map(|(aspect, text)| (*aspect, (*text).to_owned()));
        let one = |step: &Value| {
            let parts = step.get_attr("parts").unwrap_or_default();
            format!("{} {parts}", step.get_attr("text").unwrap_or_default())
        };
        together(steps.collect()).iter().map(one).collect()
    }

    #[test]
    fn what_steps_of_an_aspect_share_is_said_once() {
        let found = texts(&[
            (Aspect::Lag, "lag elbow: the servo or its bus, as said"),
            (Aspect::Lag, "lag jaw: the servo or its bus, as said"),
            (Aspect::Offset, "offset jaw: subtract 4 deg from jaw of B's follower (or not)"),
            (Aspect::Offset, "offset waist: subtract 2 deg from waist of B's follower (or not)"),
            (Aspect::Rate, "rate: the servo or its bus, as said"),
        ]);
        assert_eq!(found.len(), 3, "{found:?}");
        assert_eq!(found[0], "lag: the servo or its bus, as said ['lag elbow', 'lag jaw']");
        assert!(found[1].starts_with("offset: of B's follower (or not) ['offset jaw: sub"));
        assert!(found[1].contains("subtract 2 deg from waist']"), "{}", found[1]);
    }
}
