//! Simulated sessions in their order, each held against the first: since when does what differ?

use teleassay::compare::{
    Answer, Aspect, Comparison, CourseLine, Side, Since, Undecided, compare, course,
    decide_together,
};
use teleassay::demo::{Fault, Recipe};
use teleassay::num::multiple::holm;

use super::Tested;
use super::benchmark::{sides, sound};

/// Four sessions of one rig, the elbow of the chosen ones off by 2 degrees.
fn sessions(off: &[usize]) -> Result<Vec<Side>, Box<dyn std::error::Error + Send + Sync>> {
    let mut all = Vec::new();
    for at in 0..4 {
        let mut recipe = Recipe { seed: 90_000 + at as u64, ..sound(0, 16) };
        recipe.servo.between_joints = 0.0;
        if off.contains(&at) {
            recipe = recipe.with(Fault::NeutralOffset { deg: 2.0 }, Some("elbow"), &[]);
        }
        all.extend(sides(&recipe, &[])?);
    }
    Ok(all)
}

fn together(all: &[Side]) -> Vec<Comparison> {
    let pair = |of: &'_ Side| Undecided::of(&all[0], of);
    let pairs = all[1..].iter().map(|of| (pair(of), of.episodes.as_slice())).collect();
    decide_together(&all[0], pairs)
}

/// What differs on the rig, and since when.
fn differs(lines: &[CourseLine]) -> Vec<(Aspect, Option<&str>, Since)> {
    let rig = |line: &&CourseLine| line.aspect < Aspect::Workspace && line.worst().is_some();
    let all = lines.iter().filter(rig);
    all.map(|line| (line.aspect, line.joint.as_deref(), line.since())).collect()
}

#[test]
fn a_change_is_dated_and_one_process_has_none() -> Tested {
    for (off, from, apart) in [
        (&[2, 3][..], Some(2), &[][..]),
        (&[1], None, &[1]),
        (&[], None, &[]),
        (&[1, 3], Some(3), &[1]),
    ] {
        let all = sessions(off)?;
        let lines = course(&together(&all));
        let expected = (!off.is_empty())
            .then(|| (Aspect::Offset, Some("elbow"), Since { from, apart: apart.to_vec() }));
        assert_eq!(differs(&lines), Vec::from_iter(expected), "{off:?}");
        assert!(lines.len() > 20 && lines.iter().all(|line| line.points.len() == 4));
    }
    Ok(())
}

/// Holm over the p-values of all pairs, and everything else as of two.
#[test]
fn p_values_are_adjusted_over_all_pairs() -> Tested {
    let all = sessions(&[2])?;
    let many = together(&all);
    let alone: Vec<Comparison> = all[1..].iter().map(|of| compare(&all[0], of)).collect();
    // The rows of a comparison are sorted; Holm does not depend on the order.
    let p: Vec<f64> =
        alone.iter().flat_map(|one| &one.rows).filter_map(|row| row.p_value).collect();
    let adjusted = holm(&p);
    let found: Vec<f64> =
        many.iter().flat_map(|one| &one.rows).filter_map(|row| row.p_adjusted).collect();
    assert!(found.len() == adjusted.len() && found.len() > 90, "{}", found.len());
    assert!(found.iter().zip(&adjusted).all(|(x, y)| (x - y).abs() < 1e-12));
    for (many, alone) in many.iter().zip(&alone) {
        for (one, other) in many.rows.iter().zip(&alone.rows) {
            assert_eq!((one.change, one.interval), (other.change, other.interval));
            // A stricter level makes no new difference.
            let differs = |answer: Answer| matches!(answer, Answer::Different(_));
            assert!(!differs(one.answer) || differs(other.answer), "{one:?}");
        }
    }
    assert_eq!(together(&all[..2]), [compare(&all[0], &all[1])], "of two nothing changes");
    Ok(())
}

/// All that was measured on a session may go once it is held against the first.
#[test]
fn a_session_without_its_measurements_keeps_its_size() -> Tested {
    let all = sessions(&[])?;
    let bare = all[1].ledger.bare();
    assert_eq!((bare.rows(), bare.duration_s()), (16, all[1].ledger.duration_s()));
    assert!(bare.size() * 50 < all[1].ledger.size(), "{} {}", bare.size(), all[1].ledger.size());
    Ok(())
}
