//! Columns in a wrong unit and exchanged arms: the session is stopped by its sixth episode.

use std::error::Error;
use std::f32::consts::PI;
use std::fs;

use super::running::{Place, Watching, writer};
use crate::support::binary::Tested;
use crate::support::tables::{parquet, relisted, rows, with};
use arrow::array::{ArrayRef, AsArray as _, RecordBatch};
use arrow::datatypes::Float32Type;
use teleassay::demo::Recipe;

/// Episodes of each session.
const EPISODES: usize = 8;
/// Joints of one arm.
const ARM: usize = 6;

/// Sound rows of one arm or two in degrees, spoilt, and watched: what the first stop says.
fn stopped(
    joints: usize,
    spoil: impl FnOnce(&RecordBatch) -> Result<RecordBatch, Box<dyn Error>>,
) -> Result<String, Box<dyn Error>> {
    let place = Place::new()?;
    let recipe = Recipe { episodes: EPISODES as u64, joints, seed: 5, ..Recipe::default() };
    let made = place.file("made");
    let batch = spoil(&rows(&made, &recipe)?)?;
    fs::copy(made.join("teleassay.toml"), place.file("teleassay.toml"))?;
    let table = place.file("spoilt.parquet");
    parquet(&table, &batch)?;
    let watching = Watching::start(&place, &[])?;
    let mut writer = writer(&table, &place.folder, "renamed", 0.1, EPISODES)?;
    watching.until(EPISODES)?;
    assert!(writer.wait()?.success());
    let ended = watching.end()?;
    let lines: Vec<&str> = ended.lines.lines().collect();
    let stop = lines.iter().position(|line| line.contains("STOP: fix the rig first"));
    let stop = stop.ok_or_else(|| ended.lines.clone())?;
    let before = lines[..stop].iter().filter(|line| line.contains("  ep ")).count();
    assert!((5..=6).contains(&before), "stopped after {before} episodes: {}", ended.lines);
    assert_eq!(ended.status.code(), Some(1), "{}", ended.errors);
    Ok(lines[stop].to_owned())
}

/// The follower in radians where the leader is in degrees: one joint, or all of them.
fn in_radians(batch: &RecordBatch, joint: Option<usize>) -> Result<RecordBatch, Box<dyn Error>> {
    let follower = relisted(batch, "follower", |_, values| {
        let to =
            |(at, value)| if joint.is_none_or(|j| j == at) { value * PI / 180.0 } else { value };
        Some(values.into_iter().enumerate().map(to).collect())
    })?;
    with(batch, "follower", &follower)
}

#[test]
fn a_joint_in_another_unit_stops_the_session_by_its_name() -> Tested {
    let said = stopped(ARM, |batch| in_radians(batch, Some(2)))?;
    assert!(said.contains("elbow unit mismatch 57.3 x"), "{said}");
    Ok(())
}

#[test]
fn a_follower_in_another_unit_stops_the_session() -> Tested {
    let said = stopped(ARM, |batch| in_radians(batch, None))?;
    assert!(said.contains("waist unit mismatch 57.3 x"), "{said}");
    Ok(())
}

/// One side's rows, each number from its own side or from the other.
fn exchanged(
    batch: &RecordBatch,
    side: &str,
    from_other: impl Fn(usize) -> bool,
) -> Result<ArrayRef, Box<dyn Error>> {
    let other = if side == "leader" { "follower" } else { "leader" };
    let other = batch.column_by_name(other).ok_or("no such column")?.as_list::<i32>();
    relisted(batch, side, |row, own| {
        let other = other.value(row);
        let other = other.as_primitive::<Float32Type>().values();
        let one = |(at, value)| if from_other(at) { other[at] } else { value };
        Some(own.into_iter().enumerate().map(one).collect())
    })
}

#[test]
fn exchanged_sides_of_a_rig_of_two_arms_stop_the_session() -> Tested {
    for (from, what) in [(0, "both arms"), (ARM, "the right arm")] {
        let said = stopped(2 * ARM, |batch| {
            let leader = exchanged(batch, "leader", |at| at >= from)?;
            let follower = exchanged(batch, "follower", |at| at >= from)?;
            with(&with(batch, "leader", &leader)?, "follower", &follower)
        })?;
        assert!(said.contains("arm swap ") && said.contains(" ms"), "{what}: {said}");
    }
    Ok(())
}

/// The left arm's readings under the names of the right one's, and the other way round.
#[test]
fn a_left_arm_under_the_name_of_the_right_one_stops_the_session() -> Tested {
    let said = stopped(2 * ARM, |batch| {
        let follower = relisted(batch, "follower", |_, mut values| {
            values.rotate_left(ARM);
            Some(values)
        })?;
        with(batch, "follower", &follower)
    })?;
    assert!(said.contains("joint swap"), "{said}");
    Ok(())
}
