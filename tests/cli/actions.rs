//! Actions that carry no command: the verdict says so, and is never that the session is usable.

use std::error::Error;

use arrow::array::{AsArray, RecordBatch};
use arrow::datatypes::Float32Type;

use crate::support::binary::{Tested, run};
use crate::support::tables::{parquet, relisted, session, with, without};

/// The first lines of the report on a folder of one table.
fn verdict(batch: &RecordBatch) -> Result<String, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    parquet(&dir.path().join("t.parquet"), batch)?;
    let output = run(&["audit".as_ref(), dir.path().as_os_str()])?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let lines: Vec<&str> = text.lines().take(4).map(str::trim).collect();
    Ok(lines.join(" "))
}

/// The session with actions made from the states of all rows.
fn made(
    whole: &RecordBatch,
    action: impl Fn(&dyn Fn(usize) -> Vec<f32>, usize) -> Vec<f32>,
) -> Result<RecordBatch, Box<dyn Error>> {
    let states = whole.column_by_name("follower").ok_or("no follower")?.as_list::<i32>();
    let state = |row: usize| {
        let row = row.min(whole.num_rows() - 1);
        states.value(row).as_primitive::<Float32Type>().values().to_vec()
    };
    let column = relisted(whole, "leader", |row, _| Some(action(&state, row)))?;
    with(whole, "leader", &column)
}

fn dice(row: usize, joint: usize) -> f32 {
    let mut mixed = ((row * 16 + joint) as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    mixed = (mixed ^ (mixed >> 31)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    (mixed >> 40) as f32 / (1u32 << 23) as f32 - 1.0
}

#[test]
fn worthless_actions_are_never_usable() -> Tested {
    let whole = session(8)?;
    let noisy = made(&whole, |state, row| {
        state(row).iter().enumerate().map(|(j, v)| v + 0.05 * dice(row, j)).collect()
    })?;
    let rounded = made(&whole, |state, row| {
        state(row + 1).iter().map(|v| (v * 4.0).round() / 4.0).collect()
    })?;
    let old = made(&whole, |state, row| state(row - usize::from(dice(row, 9) > 0.0).min(row)))?;
    let cases = [
        (made(&whole, |state, row| state(row))?, "Do not train on these actions"),
        (made(&whole, |state, row| state(row + 2))?, "copies of the state 2 frames later"),
        (noisy, "with noise"),
        (rounded, "the next observations"),
        (old, "changing age"),
        (without(&whole, "leader")?, "there are no actions"),
    ];
    for (batch, words) in &cases {
        let said = verdict(batch)?;
        assert!(said.contains(words) && !said.contains("Usable"), "{words}: {said}");
    }
    assert!(!verdict(&whole)?.contains("carry no command"));
    Ok(())
}
