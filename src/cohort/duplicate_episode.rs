//! Is an episode in the dataset twice? Imported a second time, merged from two copies, replayed.
//!
//! A copy counts double in training and, if one copy is held back for testing, tells the answer
//! before the question.
//!
//! How: two episodes with the same positions and commands, bit for bit and whatever their stamps, are
//! exact copies (by a hash of 64 bits); the later one is named (`exact_copy`). Near copies - noise or
//! rounding added, stamps moved, ends cut - are looked for among the episodes whose joints reach to
//! the same smallest and largest positions: those that agree in at least one of each joint and in two
//! fifths of all are laid over each other at the shift in time that fits best, by cubic interpolation
//! of their sketched poses. Two that then differ by less than half a degree (root mean square over
//! joints and poses), and by less than a tenth of what an episode usually differs from the one most
//! like it, are near copies, the later one is named (`near_copy`). At least three fifths of the
//! longer one must be in both.
//!
//! Traps: an arm that does not move by five degrees is alike by chance, and is left out. Motion that
//! is replayed from a script is meant to be the same: where an episode usually differs from the one
//! most like it by less than two degrees, near copies are not assessed. A copy at another speed is
//! not found, nor one of which more than two fifths were cut. Fewer than 4 episodes have no usual
//! difference: only exact copies are looked for.

use std::collections::HashMap;

use crate::check::{Check, CohortSheet, Params};
use crate::model::{
    CheckSpec, Family, Ledger, Metric, Motion, Param, Reading, SpanList, Unit, count,
};

mod align;
mod alike;
mod best;
mod cell;
mod reach;
#[cfg(test)]
mod tests;

static EXACT: Metric = Metric::of_episode(
    "exact_copy",
    Unit::Count,
    "1 if an earlier episode is the same bit for bit",
)
.above(None, Some(0.0));

static NEAR: Metric = Metric::of_episode(
    "near_copy",
    Unit::Count,
    "1 if an earlier episode is nearly the same, and not bit for bit",
)
.above(Some(0.0), None);

static SAME: Param = Param {
    id: "near_distance",
    summary: "near copies differ by less than this",
    unit: Unit::Radian,
    default: 0.5 * DEGREE,
};

static SHARE: Param = Param {
    id: "near_share",
    summary: "near copies differ by less than this share of the usual difference",
    unit: Unit::Share,
    default: 0.1,
};

static SPEC: CheckSpec = CheckSpec {
    id: "duplicate-episode",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("duplicate_episode.rs"),
    cause: "the same recording was imported, merged or replayed twice",
    remedy: "keep one of the two",
    reference: "common practice, no source; search by random grids: Indyk & Motwani 1998, STOC, \
                604-613",
    metrics: &[&EXACT, &NEAR],
    params: &[&SAME, &SHARE],
};

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// A joint must move this far for an episode to have a motion that is its own.
const MOVES: f32 = 5.0 * DEGREE as f32;
/// Where episodes usually differ by less than this, they follow a script.
const SCRIPTED: f64 = 2.0 * DEGREE;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion();

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let moving = |row: &usize| ledger.motion(*row).is_some_and(|motion| moves(&motion));
    let moving: Vec<usize> = (0..ledger.rows()).filter(moving).collect();
    if moving.len() < 2 {
        sheet.not_assessed(
            &SPEC,
            match moving.len() {
                1 => "1 episode that moves, needs 2".to_owned(),
                none => format!("{none} episodes that move, needs 2"),
            },
        );
        return;
    }
    let exact = exact_copies(ledger, &moving);
    write(sheet, &EXACT, "same as", moving.iter().map(|row| (*row, exact.get(row).copied())));
    let single: Vec<usize> =
        moving.iter().copied().filter(|row| !exact.contains_key(row)).collect();
    match alike::usual_difference(ledger, &single) {
        None => {
            let different = count(single.len(), "different episode");
            sheet.not_assessed(&SPEC, format!("near copies: {different}, needs {}", alike::ENOUGH));
        }
        Some(usual) if usual < SCRIPTED => {
            let reason = format!(
                "near copies: an episode usually differs from the one most like it by {:.2} \
                 degrees, as motion from a script does",
                usual / DEGREE
            );
            sheet.not_assessed(&SPEC, reason);
        }
        Some(usual) => {
            let limit = params.get(&SPEC, &SAME).min(params.get(&SPEC, &SHARE) * usual);
            let near = alike::near_copies(ledger, &single, limit);
            let rows = single.iter().map(|row| (*row, near.get(row).copied()));
            write(sheet, &NEAR, "nearly the same as", rows);
        }
    }
}

fn moves(motion: &Motion<'_>) -> bool {
    let follower = motion.moments.iter().take(motion.joints);
    follower.into_iter().any(|m| m.max - m.min >= MOVES)
}

/// Rows that repeat an earlier one, with the earliest of them.
fn exact_copies(ledger: &Ledger, rows: &[usize]) -> HashMap<usize, usize> {
    let mut first: HashMap<u64, usize> = HashMap::with_capacity(rows.len());
    let mut copies = HashMap::new();
    for &row in rows {
        let Some(motion) = ledger.motion(row) else { continue };
        let known = *first.entry(motion.content).or_insert(row);
        if known != row && ledger.frames()[known] == ledger.frames()[row] {
            copies.insert(row, known);
        }
    }
    copies
}

fn write(
    sheet: &mut CohortSheet,
    metric: &'static Metric,
    words: &str,
    rows: impl Iterator<Item = (usize, Option<usize>)>,
) {
    for (row, of) in rows {
        let note = of.map_or_else(String::new, |of| format!("{words}#{of}"));
        let value = f64::from(u8::from(of.is_some()));
        let spans = SpanList::default();
        let reading = Reading { check: &SPEC, metric, joint: None, value, spans, note: None };
        sheet.tell(row, reading, note);
    }
}
