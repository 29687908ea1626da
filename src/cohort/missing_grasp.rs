//! Episodes without a grasp in a session where most have one.
//!
//! An episode that went through the motions with empty jaws teaches to close them next to the
//! object.
//!
//! How: an episode in which no gripper held anything (see grasp), where at least four in five of
//! the session's episodes have a grasp. Jaws that were as far from their command as half of what is
//! usual where something is held were held apart, even if no single stretch of it counts as a grasp.
//!
//! Traps: a task without grasps, or with a gripper that closes on something too soft to stop it,
//! has none anywhere and nothing is said. Fewer than five episodes have no usual way.

use crate::check::{Check, CohortSheet, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Reading, SpanList, Unit, count};
use crate::num::quantile::quantile_in_place;

/// Fewer episodes than this have no usual way.
const ENOUGH: usize = 5;
/// Share of episodes with a grasp from which on its absence is odd.
const MOST: f64 = 0.8;
/// Share of the gap usual in a grasp from which on the jaws were held apart.
const APART: f64 = 0.5;

static WITHOUT_GRASP: Metric = Metric::of_episode(
    "without_grasp",
    Unit::Count,
    "1 if nothing was held although most episodes hold something",
)
.above(Some(0.0), None);

static SPEC: CheckSpec = CheckSpec {
    id: "missing-grasp",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Target,
    advisory: true,
    source: include_str!("missing_grasp.rs"),
    cause: "the gripper closed on nothing, or not at all",
    remedy: "look at the episode and record it again",
    reference: "common practice, no source",
    metrics: &[&WITHOUT_GRASP],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    let grasps = joined(ledger, "grasps", |sum, value| sum + value);
    let gaps = joined(ledger, "widest_gap", f32::max);
    let mut usual: Vec<f32> = grasps
        .iter()
        .zip(&gaps)
        .filter(|(grasps, _)| grasps.is_some_and(|count| count > 0.0))
        .filter_map(|(_, gap)| *gap)
        .collect();
    // Not a number where no gap was measured; nothing is beyond that.
    let apart = APART * quantile_in_place(&mut usual, 0.5);
    let held: Vec<Option<f32>> = grasps
        .iter()
        .zip(&gaps)
        .map(|(grasps, gap)| match (grasps, gap) {
            (Some(0.0), Some(gap)) if f64::from(*gap) >= apart => Some(1.0),
            _ => *grasps,
        })
        .collect();
    let assessed = held.iter().flatten().count();
    let with = held.iter().flatten().filter(|sum| **sum > 0.0).count();
    if assessed < ENOUGH {
        sheet.not_assessed(
            &SPEC,
            format!("{} with a gripper, needs {ENOUGH}", count(assessed, "episode")),
        );
        return;
    }
    if (with as f64) < MOST * assessed as f64 {
        let reason = format!("{with} of {assessed} episodes with a grasp: there is no usual way");
        sheet.not_assessed(&SPEC, reason);
        return;
    }
    for (row, sum) in held.iter().enumerate() {
        if let Some(sum) = sum {
            let value = f64::from(u8::from(*sum == 0.0));
            let spans = SpanList::default();
            let reading = Reading {
                check: &SPEC,
                metric: &WITHOUT_GRASP,
                joint: None,
                value,
                spans,
                note: None,
            };
            sheet.tell(row, reading, String::new());
        }
    }
}

/// A measurement of the grasp check, joined over the grippers of each episode.
fn joined(ledger: &Ledger, metric: &str, join: fn(f32, f32) -> f32) -> Vec<Option<f32>> {
    let mut found: Vec<Option<f32>> = vec![None; ledger.rows()];
    for (check, read, _, values) in ledger.columns() {
        if check.id == "grasp" && read.id == metric {
            for (known, value) in found.iter_mut().zip(values).filter(|(_, v)| v.is_finite()) {
                *known = Some(known.map_or(*value, |known| join(known, *value)));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::tracking::grasp;
    use crate::model::{Row, Sheet};

    fn session(grasps: &[f64]) -> CohortSheet<'static> {
        let gaps: Vec<f64> = grasps.iter().map(|count| 0.16 * count.min(1.0)).collect();
        with_gaps(grasps, &gaps)
    }

    fn with_gaps(grasps: &[f64], gaps: &[f64]) -> CohortSheet<'static> {
        let spec = grasp::CHECK.spec;
        let mut ledger = Ledger::default();
        for (value, gap) in grasps.iter().zip(gaps) {
            let mut written = Sheet::new(spec);
            written.put_joint(spec.metrics[0], 5, *value);
            written.put_joint(spec.metrics[2], 5, *gap);
            ledger.push(Row { frames: 300, ..Row::default() }, written.parts().0);
        }
        let mut sheet = CohortSheet::default();
        CHECK.measure_session(&ledger, &Params::default(), &mut sheet);
        sheet
    }

    #[test]
    fn the_one_without_is_named() {
        let sheet = session(&[1.0, 1.0, 2.0, 0.0, 1.0, 1.0]);
        let values: Vec<f64> = sheet.episodes.iter().map(|(_, r, _)| r.value).collect();
        assert_eq!(values, [0.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
    }

    #[test]
    fn jaws_held_apart_as_far_as_in_the_others_held_something() {
        let grasps = [1.0, 1.0, 2.0, 0.0, 1.0, 1.0, 1.0, 0.0];
        let sheet = with_gaps(&grasps, &[0.16, 0.16, 0.17, 0.16, 0.15, 0.14, 0.16, 0.01]);
        let values: Vec<f64> = sheet.episodes.iter().map(|(_, r, _)| r.value).collect();
        assert_eq!(values, [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]);
    }

    #[test]
    fn a_task_without_grasps_and_a_short_session_say_nothing() {
        assert!(session(&[0.0, 0.0, 1.0, 0.0, 0.0, 1.0]).episodes.is_empty());
        assert_eq!(session(&[1.0, 0.0, 1.0]).not_assessed.len(), 1);
    }
}
