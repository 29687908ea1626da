//! What to do, one step each.

use super::super::Compared;
use super::super::words::{message, step};
use crate::compare::{Answer, Group, Row, Verdict};
use crate::report::text::{clean, count};

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
pub(super) fn steps(view: &Compared<'_>) -> Vec<String> {
    let comparison = view.comparison;
    if comparison.identical() {
        return vec!["Train on one of them alone: the other adds nothing.".to_owned()];
    }
    match comparison.advice.verdict {
        Verdict::Correct | Verdict::KeepApart => {
            comparison.advice.steps.iter().map(|one| clean(&step(view, one))).collect()
        }
        Verdict::Merge => {
            let mut steps = vec!["Train on both together, as they are.".to_owned()];
            let done = comparison.rows.iter().filter(|row| row.severity().is_some());
            steps.extend(
                done.filter(|row| row.aspect.group() == Group::Behaviour)
                    .map(|row| format!("Is it meant? {}", clean(&message(view, row)))),
            );
            steps
        }
        Verdict::CannotTell => vec![more_data(view)],
    }
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
