//! From numbers to answers: p-values adjusted for their number, and what an answer rests on.

use super::aspect::{Aspect, Limits, Scale, min_std};
use super::row::{Answer, Draft, Row, strata};
use crate::model::Severity;
use crate::num::multiple::holm;
use crate::num::shift::Shift;

/// Fewer episodes than this on a side are noted with a difference.
const FEW: usize = 5;
/// With more episodes no single one drives a median of differences.
const MOST_TO_LEAVE_OUT: usize = 120;
/// More episodes are not practical to record for a comparison.
const MOST_NEEDED: usize = 2_000;

/// The p-values of all of these that have one, in their order, adjusted together.
pub(super) fn adjusted<'a>(drafts: impl IntoIterator<Item = &'a Draft>) -> Vec<f64> {
    holm(&drafts.into_iter().filter_map(|draft| draft.row.p_value).collect::<Vec<f64>>())
}

/// Answers every comparison. `adjusted` yields the adjusted p-values of those that have one, of so
/// many tests in all. `identical`: both sides are the same recordings, so that every measurement is
/// the same by construction. `names` are those of the episodes of A and of B.
pub(super) fn decide(
    drafts: Vec<Draft>,
    (adjusted, tests): (&mut dyn Iterator<Item = f64>, usize),
    identical: bool,
    names: (&[String], &[String]),
) -> Vec<Row> {
    let mut rows = Vec::with_capacity(drafts.len());
    for draft in drafts {
        let p = draft.row.p_value.and_then(|_| adjusted.next());
        rows.push(answer(draft, p, tests, identical, names));
    }
    rows
}

fn answer(
    mut draft: Draft,
    adjusted: Option<f64>,
    tests: usize,
    identical: bool,
    names: (&[String], &[String]),
) -> Row {
    let Row { aspect, limits, change, .. } = draft.row;
    draft.row.p_adjusted = adjusted;
    let size = change.map_or(0.0, f64::abs);
    let sure = adjusted.is_some_and(|p| p < aspect.level());
    draft.row.answer = match severity(size, limits) {
        _ if identical && draft.row.measured() => Answer::Same,
        _ if aspect == Aspect::Schema && !draft.within => Answer::Different(Severity::Fail),
        Some(severity) if sure => Answer::Different(severity),
        _ if draft.within => Answer::Same,
        _ => Answer::Inconclusive,
    };
    match draft.row.answer {
        Answer::Different(_) => rests_on(&mut draft, names),
        Answer::Inconclusive => {
            draft.row.needs = needs(&draft, tests);
            if change.is_some() && draft.row.needs.is_none() {
                draft.row.notes.push("lies at the limit: more episodes would not settle it".into());
            }
        }
        Answer::Same => {}
    }
    draft.row
}

/// A wrong gain looks like droop on the same joint, so droop there says nothing by itself, as in an
/// audit.
pub(super) fn suppress(rows: &mut [Row]) {
    let wrong = |row: &&Row| row.aspect == Aspect::Gain && row.severity().is_some();
    let joints: Vec<Option<usize>> = rows.iter().filter(wrong).map(|row| row.joint).collect();
    for row in rows.iter_mut().filter(|row| row.aspect == Aspect::Sag) {
        if joints.contains(&row.joint) && row.severity().is_some() {
            row.answer = Answer::Inconclusive;
            row.notes = vec!["a gain that differs looks the same: see there".to_owned()];
        }
    }
}

fn severity(size: f64, limits: Limits) -> Option<Severity> {
    if size >= limits.fail {
        Some(Severity::Fail)
    } else {
        (size >= limits.warn).then_some(Severity::Warn)
    }
}

/// Notes what a difference rests on, where that is little.
fn rests_on(draft: &mut Draft, names: (&[String], &[String])) {
    let (m, n) = draft.row.episodes;
    if draft.row.aspect != Aspect::Schema && m.min(n) < FEW {
        draft.row.notes.push(format!("rests on few episodes: {m} and {n}"));
    }
    if let Some((second, row)) = driving(draft) {
        let (names, name) = if second { (names.1, "B") } else { (names.0, "A") };
        let id = names.get(row).map_or("?", String::as_str);
        draft.row.notes.push(format!("one episode drives it: {id} of {name}"));
    }
}

/// The episode without which the difference is gone: whether it is B's, and its row.
fn driving(draft: &Draft) -> Option<(bool, usize)> {
    let (m, n) = draft.row.episodes;
    if draft.samples.is_empty() || m + n > MOST_TO_LEAVE_OUT {
        return None;
    }
    let gone = |shift: &Shift| {
        let (low, high) = shift.interval;
        shift.estimate.abs() < draft.row.limits.warn || (low <= 0.0 && high >= 0.0)
    };
    for stratum in 0..draft.samples.len() {
        for second in [false, true] {
            let of = |samples: &[super::row::Sample]| {
                if second { samples[stratum].1.len() } else { samples[stratum].0.len() }
            };
            for at in 0..of(&draft.samples) {
                let mut rest = draft.samples.clone();
                let side = if second { &mut rest[stratum].1 } else { &mut rest[stratum].0 };
                let (row, _) = side.remove(at);
                let shift = Shift::of(&strata(&rest), 0.95, min_std(draft.row.limits));
                if shift.is_some_and(|shift| gone(&shift)) {
                    return Some((second, row));
                }
            }
        }
    }
    None
}

/// Episodes to a side that would probably settle it, from the standard deviation seen; none
/// where the change is so near the limit that no number would.
fn needs(draft: &Draft, tests: usize) -> Option<usize> {
    let (m, n) = draft.row.episodes;
    let now = 2.0 * m as f64 * n as f64 / (m + n).max(1) as f64;
    let Some(change) = draft.row.change.filter(|_| draft.error.is_finite()) else {
        // The standard deviation is not known: enough for a rank test.
        return (draft.row.aspect != Aspect::Schema).then_some(8);
    };
    let warn = draft.row.limits.warn;
    let size = change.abs();
    // A shift beyond the margin must be significant among all tests; one within must fit inside.
    let (room, deviates) = if draft.row.p_value.is_none_or(|p| p > 0.05) {
        // No evidence of a change: assume half of the equivalence margin.
        ((warn - size).max(0.5 * warn), 2.0)
    } else if size >= warn && draft.row.aspect.scale() != Scale::Share {
        (size, (2.0 * (2.0 * tests as f64 / 0.05).ln()).sqrt())
    } else {
        ((warn - size).abs(), 2.0)
    };
    if room < 0.1 * warn {
        return None;
    }
    let needed = now * (deviates * draft.error / room).powi(2);
    // One more than there are, or the rank test would have decided.
    let needed = (needed.ceil().max(now + 1.0).max(8.0)) as usize;
    (needed <= MOST_NEEDED).then_some(needed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::scalar::draft;

    fn decided(a: &[f64], b: &[f64]) -> Row {
        let rows = |degrees: &[f64]| degrees.iter().map(|d| d.to_radians()).enumerate().collect();
        let draft = draft(Aspect::Offset, None, vec![(rows(a), rows(b))], 0.03);
        let names = |ids: &str| ids.chars().map(String::from).collect::<Vec<String>>();
        let mut p = adjusted([&draft]).into_iter();
        let names = (names("pqrst"), names("uvwxy"));
        decide(vec![draft], (&mut p, 1), false, (&names.0, &names.1)).remove(0)
    }

    /// 1 degree matters. Without the fourth episode of B the change is 0.93.
    #[test]
    fn an_episode_without_which_nothing_differs_is_named() {
        let row = decided(&[0.0, 0.02, 0.04, -0.03, 0.01], &[0.9, 0.95, 0.92, 1.5, 0.96]);
        assert_eq!(row.answer, Answer::Different(Severity::Warn));
        assert_eq!(row.notes, ["one episode drives it: x of B"]);
        let firm = decided(&[0.0, 0.02, 0.04, -0.03, 0.01], &[3.1, 3.2, 3.15, 3.0, 3.1]);
        assert_eq!((firm.answer, firm.notes.len()), (Answer::Different(Severity::Fail), 0));
    }

    #[test]
    fn the_three_answers() {
        let near = decided(&[0.0, 0.1, 0.2, 0.1, 0.0], &[0.1, 0.3, 0.2, 0.1, 0.2]);
        assert_eq!((near.answer, near.needs), (Answer::Same, None));
        let wild = decided(&[0.0, 2.0, -2.0, 1.0, -1.0], &[0.5, 2.5, -1.5, 1.5, -0.5]);
        assert_eq!(wild.answer, Answer::Inconclusive);
        assert!(wild.needs.is_some_and(|needs| (10..100).contains(&needs)), "{wild:?}");
        // Significant but within the margin: a tenth of a degree.
        let small = decided(&[0.0, 0.001, 0.002, 0.001, 0.0], &[0.1, 0.101, 0.102, 0.1, 0.1]);
        assert_eq!(small.answer, Answer::Same);
        let few = decided(&[0.0, 0.1], &[9.0, 9.1, 9.2]);
        assert!(few.answer == Answer::Inconclusive && few.notes[0].contains("2 and 3 episodes"));
    }
}
