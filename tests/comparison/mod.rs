//! Two simulated sessions held against each other: what is one process stays quiet, what was
//! planted is found and named, and what cannot be decided is reported. The short form of
//! `benches/comparison.rs`.

#[path = "../../benches/comparison/mod.rs"]
pub mod benchmark;

mod advice;
mod course;

use std::error::Error;

use benchmark::{CHANGES, Change, Report, different, sides, sound};
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;
use teleassay::compare::{Answer, Aspect, Comparison, Row, Scale, Side, Verdict, compare};

type Tested = Result<(), Box<dyn Error + Send + Sync>>;

/// Of 16 pairs of one process one may differ by chance (5 % over all aspects of a pair), of 3
/// planted pairs all must: what the full run measures is kept in `benches/COMPARISON.md`.
#[test]
fn one_process_is_quiet_and_planted_changes_are_named() -> Result<(), String> {
    let report = Report::run(16, 8, 3, 0)?;
    let reported = report.misses.join("\n");
    assert!(report.alike.0 == 16 && report.alike.1 <= 1, "{reported}");
    assert!(report.few.1 == 0, "{reported}");
    for change in CHANGES {
        let (trials, found, others) = report.changes[&change];
        assert!(trials == 3 && found == 3, "{}: {reported}", change.what());
        assert!(others <= 1, "{}: {others} others on the rig", change.what());
    }
    // Suppress must not come from not looking.
    for aspect in [Aspect::Offset, Aspect::Gain, Aspect::Lag, Aspect::Rate, Aspect::Speed] {
        let (rows, same) = report.same[&aspect];
        assert!(rows >= 16 && same * 10 >= rows * 9, "{aspect:?}: {same} of {rows} the same");
    }
    let (rows, same) = report.same_of_few[&Aspect::Workspace];
    assert!(rows == 8 && same == 0, "three episodes say nothing of a workspace: {same}");
    Ok(())
}

fn row<'a>(comparison: &'a Comparison, aspect: Aspect, joint: Option<&str>) -> Option<&'a Row> {
    comparison.rows.iter().find(|row| {
        let own = row.joint.map(|at| comparison.pairs[at].name.as_str());
        row.aspect == aspect && own == joint
    })
}

#[test]
fn a_session_is_the_same_as_itself_whatever_its_size() -> Tested {
    for episodes in [1, 2, 3, 20] {
        let side = sides(&sound(3, episodes), &[])?.pop().ok_or("no side")?;
        let comparison = compare(&side, &side);
        assert!(comparison.identical());
        let measured = comparison.rows.iter().filter(|row| row.measured());
        let other: Vec<&Row> = measured.filter(|row| row.answer != Answer::Same).collect();
        assert!(other.is_empty(), "{episodes} episodes: {other:?}");
        assert!(comparison.rows.len() > 20);
    }
    Ok(())
}

#[test]
fn three_against_three_find_what_is_plain_and_leave_the_rest_open() -> Tested {
    let (a, b) = Change::Offset.pair(0, 3)?;
    let comparison = compare(&a, &b);
    let offset = row(&comparison, Aspect::Offset, Some("elbow")).ok_or("no row")?;
    assert!(matches!(offset.answer, Answer::Different(_)), "{offset:?}");
    assert!(offset.notes.iter().any(|note| note.contains("few episodes: 3 and 3")), "{offset:?}");
    for aspect in [Aspect::Workspace, Aspect::StartPose] {
        let row = row(&comparison, aspect, None).ok_or("no row")?;
        assert_eq!(row.answer, Answer::Inconclusive, "{row:?}");
        assert!(row.needs.is_some_and(|needs| (4..200).contains(&needs)), "{row:?}");
    }
    let (one, other) = Change::Lag.pair(0, 2)?;
    let comparison = compare(&one, &other);
    let open = |row: &&Row| row.aspect != Aspect::Schema && row.answer != Answer::Inconclusive;
    assert_eq!(comparison.rows.iter().find(open), None, "two episodes say nothing at all");
    assert_eq!(comparison.advice.verdict, Verdict::CannotTell);
    Ok(())
}

/// 14.4 degrees on one episode of 20 are a shift of 0.7 in the mean: ranks do not follow it.
#[test]
fn one_episode_with_a_slipped_horn_does_not_make_a_session_differ() -> Tested {
    use teleassay::demo::Fault;
    let recipe = sound(0, 40).with(Fault::NeutralOffset { deg: 14.4 }, Some("elbow"), &[25]);
    let both = sides(&recipe, &[20])?;
    let comparison = compare(&both[0], &both[1]);
    let offset = row(&comparison, Aspect::Offset, Some("elbow")).ok_or("no row")?;
    assert_eq!(offset.answer, Answer::Same, "{offset:?}");
    Ok(())
}

fn fail(error: impl std::fmt::Display) -> TestCaseError {
    TestCaseError::fail(error.to_string())
}

/// What B over A is, A over B is turned round.
fn mirrored(a: &Side, b: &Side) -> Result<(), TestCaseError> {
    let (there, back) = (compare(a, b), compare(b, a));
    prop_assert_eq!(there.rows.len(), back.rows.len());
    // Means are counted in standard deviations of A, which is another on the return.
    for row in there.rows.iter().filter(|row| row.aspect != Aspect::Mean) {
        let joint = row.joint.map(|at| there.pairs[at].name.as_str());
        let neighbour = back.rows.iter().find(|other| {
            let own = other.joint.map(|at| back.pairs[at].name.as_str());
            other.aspect == row.aspect && own == joint
        });
        let Some(neighbour) = neighbour else {
            return Err(fail(format!("no neighbour of {row:?}")));
        };
        prop_assert_eq!(row.answer, neighbour.answer, "{:?} {:?}", row, neighbour);
        prop_assert_eq!(row.episodes, (neighbour.episodes.1, neighbour.episodes.0));
        prop_assert_eq!(row.values, neighbour.values.map(|(x, y)| (y, x)), "{:?}", row.aspect);
        if let (Some(one), Some(other)) = (row.change, neighbour.change) {
            let sign = if row.aspect.scale() == Scale::Share { 1.0 } else { -1.0 };
            prop_assert!((one - sign * other).abs() <= 1e-9 * (1.0 + one.abs()), "{:?}", row);
        }
        if let (Some(one), Some(other)) = (row.p_value, neighbour.p_value) {
            prop_assert!((one - other).abs() <= 1e-6, "{:?} {:?}", row, neighbour);
        }
    }
    let words = |comparison: &Comparison| different(comparison).len();
    prop_assert!(words(&there).abs_diff(words(&back)) <= 2);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_against_b_mirrors_b_against_a(turn in 0usize..200, cut in 3usize..13, plant in 0usize..6) {
        let (a, _) = CHANGES[plant].pair(turn, cut as u64).map_err(fail)?;
        let (_, b) = CHANGES[plant].pair(turn, 14 - cut as u64 / 2).map_err(fail)?;
        mirrored(&a, &b)?;
        let both = sides(&sound(turn, 16), &[cut]).map_err(fail)?;
        mirrored(&both[0], &both[1])?;
    }
}
