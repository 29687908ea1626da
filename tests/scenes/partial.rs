//! Where not everything can be looked at: the first line says what was.

use std::sync::Arc;

use arrow::array::{Array as _, ArrayRef, StructArray};
use arrow::datatypes::Field;
use teleassay::demo::{Fault, Recipe};

use super::{Tested, audit, session};
use crate::support::tables;

const NONE: [&str; 0] = [];

fn sound() -> Recipe {
    Recipe { episodes: 12, seed: 21, ..Recipe::default() }
}

/// Without a leader nothing is usable for training, and following was not looked at.
#[test]
fn without_a_leader() -> Tested {
    let dir = tempfile::tempdir()?;
    let batch = tables::without(&tables::session(12)?, "leader")?;
    tables::parquet(&dir.path().join("part-0.parquet"), &batch)?;
    let seen = audit(dir.path(), &NONE)?;
    seen.has(&["no actions", "racking", "not assessed", "no leader"]);
    seen.lacks(&["Usable.", "servo", "FAIL"]);
    Ok(())
}

/// One check says nothing of the others.
#[test]
fn with_one_check() -> Tested {
    let dir = session(&sound())?;
    let seen = audit(dir.path(), &["--only", "dropped-frames"])?;
    seen.begins(". ok Timing: ok. Signals, limits, mapping, tracking and motion were not assessed")
        .exits(0)
        .has(&["left out by --only, --skip or the profile"])
        .lacks(&["Usable."]);
    Ok(())
}

/// A check that is skipped leaves its family assessed.
#[test]
fn without_one_check() -> Tested {
    let dir = session(&sound())?;
    let seen = audit(dir.path(), &["--skip", "spikes"])?;
    seen.begins(". ok Usable. All 12 episodes are within their limits.").exits(0);
    Ok(())
}

/// A whole family that was skipped is named, also after a failure.
#[test]
fn a_failure_with_a_family_left_out() -> Tested {
    let recipe = sound().with(Fault::DroppedFrames { share: 0.06, burst: 3 }, None, &[4]);
    let dir = session(&recipe)?;
    let seen = audit(dir.path(), &["--only", "dropped-frames,spikes"])?;
    seen.exits(1).has(&["Exclude or re-record 1 of 12 episodes", "tracking and motion were not"]);
    Ok(())
}

/// The unit is guessed without a profile, and that is said; with one it is declared.
#[test]
fn a_guessed_unit_is_said() -> Tested {
    let dir = session(&sound())?;
    audit(dir.path(), &NONE)?
        .has(&["read as: deg (declared), 30 Hz (declared), 6 joints and leader by name"]);
    std::fs::remove_file(dir.path().join("teleassay.toml"))?;
    let seen = audit(dir.path(), &NONE)?;
    seen.has(&["read as: deg (guessed), 30.0 Hz (measured), 6 joints and leader by name"]);
    assert!(seen.lines[1..4].iter().any(|line| line.contains("(guessed)")), "{}", seen.text);
    Ok(())
}

/// Two arms in one table: the joint that is at fault is named with its arm.
#[test]
fn two_arms() -> Tested {
    let recipe = Recipe { joints: 14, episodes: 12, seed: 23, ..Recipe::default() };
    let names = recipe.rig();
    let joint = names.joints.iter().find(|j| j.name.contains("elbow")).ok_or("no elbow")?;
    let recipe = recipe.with(Fault::NeutralOffset { deg: 8.0 }, Some(&joint.name), &[]);
    let seen = audit(session(&recipe)?.path(), &NONE)?;
    seen.begins("x FAIL Fix the rig first").has(&[&format!("neutral offset {}", joint.name)]);
    Ok(())
}

/// Two arms as nested columns: read by their whole path, and each joint named with its arm.
#[test]
fn two_nested_arms() -> Tested {
    let dir = tempfile::tempdir()?;
    let batch = tables::session(6)?;
    let rotated = |name: &str| {
        tables::relisted(&batch, name, |_, mut values| {
            values.rotate_left(1);
            Some(values)
        })
    };
    let dead = |row: usize, values: Vec<f32>| {
        // The elbow of the left follower never moves.
        let _ = row;
        let mut values = values;
        values[2] = 12.5;
        Some(values)
    };
    let arm = |follower: ArrayRef, leader: ArrayRef| -> ArrayRef {
        let field =
            |name: &str, of: &ArrayRef| Arc::new(Field::new(name, of.data_type().clone(), true));
        let fields = vec![field("follower", &follower), field("leader", &leader)];
        Arc::new(StructArray::new(fields.into(), vec![follower, leader], None))
    };
    let leader = Arc::clone(batch.column_by_name("leader").ok_or("no leader")?);
    let left = arm(tables::relisted(&batch, "follower", dead)?, leader);
    let right = arm(rotated("follower")?, rotated("leader")?);
    let bare = tables::without(&tables::without(&batch, "leader")?, "follower")?;
    let nested = tables::with(&tables::with(&bare, "left", &left)?, "right", &right)?;
    tables::parquet(&dir.path().join("part-0.parquet"), &nested)?;
    let seen = audit(dir.path(), &NONE)?;
    seen.exits(1).has(&["12 joints and leader by name", "dead joint left"]);
    Ok(())
}

/// A file that cannot be read stands in the first lines, and is not a pass.
#[test]
fn a_file_that_cannot_be_read() -> Tested {
    let dir = session(&sound())?;
    std::fs::write(dir.path().join("part-9.parquet"), b"PAR1, and then nothing")?;
    let seen = audit(dir.path(), &NONE)?;
    seen.begins("- n/a Cannot be assessed: 1 file could not be read.").exits(1);
    seen.has(&["part-9.parquet", "not a pass"]).lacks(&["Usable."]);
    Ok(())
}

/// Long names are whole at 80 columns.
#[test]
fn long_names() -> Tested {
    let dir = tempfile::tempdir()?;
    let long = "a_take_of_the_nursery_on_the_third_bench_at_the_window_on_a_rainy_day";
    let batch = tables::without(&tables::session(2)?, "episode")?;
    tables::parquet(&dir.path().join(format!("{long}.parquet")), &batch)?;
    let seen = audit(dir.path(), &NONE)?;
    let whole = seen.text.split_whitespace().collect::<String>();
    // Two takes in one file: the clock jumps where they meet.
    assert!(whole.contains(&format!(":{long}(")), "{}", seen.text);
    Ok(())
}

#[test]
fn one_episode() -> Tested {
    let dir = session(&Recipe { episodes: 1, seed: 31, ..Recipe::default() })?;
    audit(dir.path(), &NONE)?.begins(". ok Usable. The one episode is within its limits.");
    Ok(())
}
