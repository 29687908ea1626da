//! What is advised, and what must be equal.

use std::error::Error;
use std::sync::Arc;

use teleassay::compare::{Answer, Aspect, Comparison, Correction, Side, Verdict, compare};
use teleassay::demo::{Fault, Recipe};
use teleassay::model::{AngleUnit, Ledger, Rig, Row};

use super::benchmark::{Change, sides, sound};
use super::row;

type Tested = Result<(), Box<dyn Error + Send + Sync>>;

fn ways(comparison: &Comparison) -> Vec<(Aspect, &Correction)> {
    comparison.advice.steps.iter().map(|step| (step.aspect, &step.way)).collect()
}

#[test]
fn one_process_may_be_merged() -> Tested {
    let both = sides(&sound(0, 40), &[20])?;
    let comparison = compare(&both[0], &both[1]);
    assert_eq!(comparison.advice.verdict, Verdict::Merge, "{:?}", comparison.rows);
    assert!(comparison.advice.steps.is_empty() && comparison.worst().is_none());
    Ok(())
}

/// The correction undoes what was planted: 2 degrees, a tenth, nine tenths of the rate.
#[test]
fn corrections_are_those_that_undo_what_was_planted() -> Tested {
    let (a, b) = Change::Offset.pair(0, 20)?;
    let comparison = compare(&a, &b);
    let steps = ways(&comparison);
    assert!(
        matches!(steps[..], [(Aspect::Offset, Correction::Subtract(angle))] if (angle.to_degrees() - 2.0).abs() < 0.2),
        "{steps:?}"
    );
    assert_eq!(comparison.advice.verdict, Verdict::Correct);
    // 2 degrees are a tenth of the standard deviation of an elbow's action, 10 to 40 degrees.
    let cost = comparison.advice.cost.unwrap_or(f64::NAN);
    assert!((0.04..0.3).contains(&cost), "{cost}");
    let (a, b) = Change::Gain.pair(0, 20)?;
    let steps = compare(&a, &b);
    let steps = ways(&steps);
    assert!(
        steps.iter().any(|step| matches!(step, (Aspect::Gain, Correction::Multiply(by)) if (by - 1.0 / 1.1).abs() < 0.01)),
        "{steps:?}"
    );
    let (a, b) = Change::Rate.pair(0, 20)?;
    let comparison = compare(&a, &b);
    let steps = ways(&comparison);
    assert!(
        matches!(steps[..], [(Aspect::Rate, Correction::Resample(hz))] if (hz - 30.0).abs() < 0.3),
        "{steps:?}"
    );
    Ok(())
}

#[test]
fn a_servos_lag_is_not_shifted_away() -> Tested {
    let (a, b) = Change::Lag.pair(1, 20)?;
    let comparison = compare(&a, &b);
    assert_eq!(comparison.advice.verdict, Verdict::KeepApart);
    assert!(
        ways(&comparison).contains(&(Aspect::Lag, &Correction::None)),
        "{:?}",
        ways(&comparison)
    );
    Ok(())
}

#[test]
fn what_must_be_equal_is_a_failure_where_it_is_not() -> Tested {
    let side = sides(&sound(0, 8), &[])?.pop().ok_or("no side")?;
    let with = |change: &dyn Fn(&mut Rig)| {
        let mut rig = Rig::clone(&side.rig);
        change(&mut rig);
        Side { rig: Arc::new(rig), ..side.clone() }
    };
    let cases: [(&str, Side); 4] = [
        ("unit", with(&|rig| rig.unit = AngleUnit::Radian)),
        ("joints", with(&|rig| rig.joints[1].name = "second".into())),
        ("grippers", with(&|rig| rig.joints[0].gripper = true)),
        ("leader", Side { leader: false, ..side.clone() }),
    ];
    for (what, other) in cases {
        let comparison = compare(&side, &other);
        let differs: Vec<&str> =
            comparison.schema.iter().filter(|p| p.differs).map(|p| p.what).collect();
        assert_eq!(differs, [what]);
        let schema = row(&comparison, Aspect::Schema, None).ok_or("no row")?;
        assert!(matches!(schema.answer, Answer::Different(_)), "{what}");
        assert!(schema.notes.iter().any(|note| note.starts_with(what)), "{:?}", schema.notes);
        let converted = matches!(ways(&comparison)[..], [(Aspect::Schema, Correction::Words(_))]);
        assert_eq!(converted, what == "unit", "{what}: {:?}", ways(&comparison));
    }
    // Other joints have no neighbours, so nothing of them is called the same.
    let mut all = with(&|rig| rig.joints.iter_mut().for_each(|j| j.name.push('2')));
    all.name = "others".into();
    let comparison = compare(&side, &all);
    assert!(comparison.pairs.is_empty());
    let offset = row(&comparison, Aspect::Offset, None).ok_or("no row")?;
    assert_eq!(offset.answer, Answer::Inconclusive);
    Ok(())
}

#[test]
fn a_copy_of_the_state_is_another_kind_of_action() -> Tested {
    let recipe = sound(0, 8);
    let copied = recipe.clone().with(Fault::ActionIsState, None, &[]);
    let (a, b) = (sides(&recipe, &[])?, sides(&copied, &[])?);
    let comparison = compare(&a[0], &b[0]);
    let differs: Vec<_> = comparison.schema.iter().filter(|p| p.differs).collect();
    assert!(differs.len() == 1 && differs[0].what == "action kind", "{differs:?}");
    assert!(differs[0].b.contains("copy of the state"), "{differs:?}");
    assert_eq!(comparison.advice.verdict, Verdict::KeepApart);
    Ok(())
}

/// A side of whose episodes every second one shows another task, at another pace.
fn two_tasks(turn: usize, names: [&str; 2]) -> Result<Side, Box<dyn Error + Send + Sync>> {
    let slow = Recipe { seed: 31 + turn as u64, ..sound(0, 12) };
    let mut fast = Recipe { seed: 71 + turn as u64, ..sound(0, 12) };
    fast.operator.pace *= 2.0;
    let sides = [sides(&slow, &[])?, sides(&fast, &[])?];
    let mut ledger = Ledger::default();
    for (side, name) in sides.iter().zip(names) {
        let task: Arc<str> = name.into();
        let own = &side[0].ledger;
        // Row by row, so that the task can be put on.
        for at in 0..own.rows() {
            let readings: Vec<_> = own
                .columns()
                .filter(|column| column.3.get(at).is_some_and(|v| v.is_finite()))
                .map(|(check, metric, joint, values)| teleassay::model::Reading {
                    check,
                    metric,
                    joint,
                    value: f64::from(values[at]),
                    spans: teleassay::model::SpanList::default(),
                    note: None,
                })
                .collect();
            let row = Row {
                frames: own.frames()[at] as usize,
                duration_s: own.duration_s()[at],
                task: Some(&task),
                motion: own.motion(at),
            };
            ledger.push(row, &readings);
        }
    }
    let episodes = (0..ledger.rows()).map(|at| at.to_string()).collect();
    Ok(Side { ledger, episodes, ..sides[0][0].clone() })
}

/// The same hands on the same tasks in another mixture are the same; a task that only one side
/// shows is said and left out.
#[test]
fn behaviour_is_compared_within_common_tasks() -> Tested {
    let (a, b) = (two_tasks(0, ["pot", "tray"])?, two_tasks(1, ["pot", "tray"])?);
    let comparison = compare(&a, &b);
    assert_eq!(comparison.tasks.common.len(), 2);
    let speed = row(&comparison, Aspect::Speed, None).ok_or("no row")?;
    assert!(speed.answer == Answer::Same && speed.episodes == (24, 24), "{speed:?}");
    let other = two_tasks(2, ["pot", "rack"])?;
    let comparison = compare(&a, &other);
    let tasks = &comparison.tasks;
    assert_eq!((tasks.common.len(), tasks.only_a.len(), tasks.only_b.len()), (1, 1, 1));
    let speed = row(&comparison, Aspect::Speed, None).ok_or("no row")?;
    assert!(speed.answer == Answer::Same && speed.episodes == (12, 12), "{speed:?}");
    // One task became twice as slow and the other twice as fast: no common shift, and yet not the
    // same.
    let comparison = compare(&a, &two_tasks(3, ["tray", "pot"])?);
    for aspect in [Aspect::Length, Aspect::Speed] {
        let turned = row(&comparison, aspect, None).ok_or("no row")?;
        assert_eq!(turned.answer, Answer::Inconclusive, "{turned:?}");
    }
    let none = compare(&a, &two_tasks(4, ["shelf", "rack"])?);
    assert!(none.tasks.common.is_empty());
    let speed = row(&none, Aspect::Speed, None).ok_or("no row")?;
    assert_eq!(speed.answer, Answer::Inconclusive);
    Ok(())
}
