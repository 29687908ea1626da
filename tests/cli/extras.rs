//! Load, cameras, a base and a URDF, from a file to the scorecard.

use std::error::Error;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, AsArray, Float32Array, Float32Builder, Float64Array, Int64Array, ListBuilder,
    RecordBatch,
};
use arrow::datatypes::{Float32Type, Float64Type};

use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::card::{findings, list, value};
use crate::support::tables::{parquet, relisted, session, with};

/// Rows for which the follower is held: 1.7 s at 30 Hz.
const HELD: usize = 51;

/// One episode in which a joint loses its torque where its leader goes farthest, with its load at
/// its largest just before, a camera that repeats every 25th image, and a base that slips.
fn planted(path: &Path) -> Result<usize, Box<dyn Error>> {
    let batch = session(1)?;
    let rows = batch.num_rows();
    let leader = batch.column_by_name("leader").ok_or("leader")?.as_list::<i32>();
    let leader: Vec<Vec<f32>> = (0..rows)
        .map(|row| leader.value(row).as_primitive::<Float32Type>().values().to_vec())
        .collect();
    let path_of = |joint: usize, from: usize| -> f32 {
        let held = leader[from..from + HELD].windows(2);
        held.map(|pair| (pair[1][joint] - pair[0][joint]).abs()).sum()
    };
    let places = (0..5).flat_map(|joint| (40..rows - HELD - 40).map(move |from| (joint, from)));
    let (joint, from) = places
        .max_by(|a, b| path_of(a.0, a.1).total_cmp(&path_of(b.0, b.1)))
        .ok_or("too few rows")?;
    let before = batch.column_by_name("follower").ok_or("follower")?.as_list::<i32>();
    let read = |row: usize| before.value(row).as_primitive::<Float32Type>().values()[joint];
    let (held, end) = (read(from), from + HELD);
    let missed = held - read(end);
    let follower = relisted(&batch, "follower", |row, mut values| {
        if (from..end).contains(&row) {
            values[joint] = held;
        } else if row >= end {
            // Torque is back: the joint goes half of what is left in each frame.
            values[joint] += missed * 0.5f32.powi((row - end + 1) as i32);
        }
        Some(values)
    })?;
    let mut load = ListBuilder::new(Float32Builder::new());
    for row in 0..rows {
        let strained = (from.saturating_sub(20)..from).contains(&row);
        load.append_value((0..6).map(|j| Some(if j == joint && strained { 950.0 } else { 120.0 })));
    }
    let time = batch.column_by_name("time").ok_or("time")?.as_primitive::<Float64Type>().clone();
    let stamps = Float64Array::from_iter_values(time.values().iter().map(|t| t - 0.004));
    let image = Int64Array::from_iter_values((0..rows as i64).map(|row| row - row / 25));
    let floats = |value: &dyn Fn(usize) -> f32| -> ArrayRef {
        Arc::new(Float32Array::from_iter_values((0..rows).map(value)))
    };
    let first = time.value(0);
    let columns: [(&str, ArrayRef); 9] = [
        ("follower", follower),
        ("follower_load", Arc::new(load.finish())),
        ("wrist_camera_stamp", Arc::new(stamps)),
        ("wrist_camera_frame", Arc::new(image)),
        ("v", floats(&|_| 0.5)),
        ("w", floats(&|_| 0.0)),
        ("x", floats(&|row| (0.4 * (time.value(row) - first)) as f32)),
        ("y", floats(&|_| 0.0)),
        ("yaw", floats(&|_| 0.0)),
    ];
    let put = |batch: RecordBatch, (name, column): &(&str, ArrayRef)| with(&batch, name, column);
    parquet(path, &columns.iter().try_fold(batch, put)?)?;
    Ok(joint)
}

#[test]
fn optional_columns_reach_the_scorecard() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("t.parquet");
    let joint = planted(&place)?;
    let place = place.to_string_lossy().into_owned();
    let output = run(&["columns", &place])?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(text.contains("effort") && text.contains("follower_load"), "{text}");
    assert!(text.contains("wrist_camera_frame"), "{text}");

    let card = scorecard(&[&place])?;
    let episode = &list(&card, "episodes")[0];
    let lost = findings(episode, "tracking-loss");
    let named = format!("j{joint}");
    let lost = lost.iter().find(|f| f["joint"] == named.as_str()).ok_or("nothing lost")?;
    let message = lost["message"].as_str().unwrap_or_default();
    assert!(message.contains("load bears it out: 100 %"), "{message}");
    let repeated = value(episode, "camera-frames", "repeated_share");
    assert!((repeated - 0.04).abs() < 0.005, "{repeated}");
    assert!((value(episode, "camera-skew", "skew_frames") - 0.12).abs() < 0.01);
    // No second arm and no declared base: named once for the session, on no card.
    let names = |not_assessed: &[serde_json::Value], check: &str| {
        not_assessed.iter().any(|h| h["check"] == check)
    };
    for check in ["base-motion", "two-arm-consistency"] {
        assert!(names(list(&card["session"], "not_assessed"), check), "{check}");
        assert!(!names(list(episode, "not_assessed"), check), "{check}");
    }
    let output = run(&["audit", &place, "--all"])?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("no base columns (base-motion)"), "{text}");

    let profile = dir.path().join("p.toml");
    std::fs::write(
        &profile,
        "[base]\nvelocity = [\"v\", \"w\"]\npose = [\"x\", \"y\", \"yaw\"]\n",
    )?;
    let card = scorecard(&[&place, "--profile", &profile.to_string_lossy()])?;
    let off = value(&list(&card, "episodes")[0], "base-motion", "way_off");
    assert!((off - 0.2).abs() < 0.01, "{off}");

    // Notes of findings and readings of optional columns come back from the stored scorecard.
    let stored = dir.path().join("stored.parquet").to_string_lossy().into_owned();
    let profile = profile.to_string_lossy().into_owned();
    let shared = ["--profile", &profile, "--format", "json", "--json-detail", "full"];
    let audited = run(&[&["audit", &place, "--out-measurements", &stored], &shared[..]].concat())?;
    let judged = run(&[&["judge", &stored], &shared[..]].concat())?;
    let text = String::from_utf8(audited.stdout)?;
    assert!(text.contains("load bears it out") && text.contains("way_off"));
    assert_eq!(String::from_utf8(judged.stdout)?, text);
    Ok(())
}

#[test]
fn a_urdf_is_an_option_and_a_line_of_the_profile() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    assert!(run(&["demo", &place, "--episodes", "2", "--layout", "scalars"])?.status.success());
    std::fs::remove_file(Path::new(&place).join("teleassay.toml"))?;
    let urdf = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/urdf/nursery-arm.urdf");
    let urdf = urdf.to_string_lossy().into_owned();
    let output = run(&["columns", &place, "--urdf", &urdf])?;
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{}", said(&output));
    assert!(text.contains("-115 to 129 deg, at most 315 deg/s"), "{text}");
    assert!(text.contains("limits from nursery-arm.urdf: waist, elbow"), "{text}");
    let card = scorecard(&[&place, "--urdf", &urdf])?;
    assert_eq!(list(&card["rig"], "joints")[0]["upper"], 2.25);
    assert!(!list(&card["rig"], "notices").is_empty());

    std::fs::copy(&urdf, dir.path().join("arm.urdf"))?;
    let profile = dir.path().join("p.toml");
    std::fs::write(&profile, "[rig]\nurdf = \"arm.urdf\"\n")?;
    let profile = profile.to_string_lossy().into_owned();
    let card = scorecard(&[&place, "--profile", &profile])?;
    assert_eq!(list(&card["rig"], "joints")[0]["lower"], -2.0);
    let output = run(&["audit", &place, "--urdf", "gone.urdf"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("gone.urdf: no such file"), "{}", said(&output));
    Ok(())
}
