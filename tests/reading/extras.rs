//! Optional columns: found by their names or as declared, read when asked for, never in the way.

use std::sync::Arc;

use arrow::array::{ArrayRef, Float32Array, Float64Array, Int64Array};
use arrow::record_batch::RecordBatch;
use teleassay::model::{AngleUnit, Episode, Extra};
use teleassay::source::{Dataset, Declared, DeclaredCamera, Role, RoleChoice, Source};

use super::support::{
    JOINTS, Layout, Outcome, Row, open, open_declared, parquet, recording, rows, vector,
};

const ALL: &[Extra] = &[
    Extra::Velocity,
    Extra::Effort,
    Extra::Voltage,
    Extra::Temperature,
    Extra::Cameras,
    Extra::Base,
];

fn values(rows: &[Row], scale: f32) -> Vec<[f32; 3]> {
    rows.iter().map(|row| row.state.map(|v| v * scale)).collect()
}

fn floats(count: usize, value: impl Fn(usize) -> f64) -> ArrayRef {
    Arc::new(Float64Array::from_iter_values((0..count).map(value)))
}

fn episodes(dataset: &Dataset) -> Vec<Episode> {
    let mut seen = Vec::new();
    for shard in 0..dataset.shards() {
        let unread = dataset.read(shard, &mut |episode| seen.push(episode.clone()));
        assert!(unread.is_empty(), "{unread:?}");
    }
    seen
}

fn choice(dataset: &Dataset, role: Role) -> Option<&RoleChoice> {
    dataset.roles().iter().find(|choice| choice.role == role)
}

#[test]
fn columns_are_found_by_their_words_in_any_layout() -> Outcome {
    let folder = tempfile::tempdir()?;
    for layout in
        [Layout::List, Layout::LargeList, Layout::FixedSizeList, Layout::Struct, Layout::Scalars]
    {
        let path = folder.path().join(format!("{layout:?}.parquet"));
        let all = rows(&[40]);
        let mut columns = recording(&all, Layout::Scalars);
        columns.extend(vector("follower_velocity", &values(&all, 2.0), layout));
        columns.extend(vector("leader_velocity", &values(&all, 9.0), layout));
        columns.extend(vector("motor_current", &values(&all, 3.0), layout));
        columns.extend(vector("torque", &values(&all, 4.0), layout));
        let volts: ArrayRef = Arc::new(Float32Array::from(vec![12.0; 40]));
        columns.push(("bus_voltage".to_string(), volts));
        columns
            .push(("wrist_cam_frame".to_string(), Arc::new(Int64Array::from_iter_values(0..40))));
        columns.push(("wrist_cam_stamp_ms".to_string(), floats(40, |i| 20.0 * i as f64 - 5.0)));
        parquet(&path, &RecordBatch::try_from_iter(columns)?, 16)?;
        let dataset = open(&path)?;
        let rig = dataset.rig().clone();
        assert_eq!(rig.extras, [Extra::Velocity, Extra::Effort, Extra::Voltage, Extra::Cameras]);
        assert!(episodes(&dataset)[0].extras.velocity.is_none(), "read without being asked for");
        let dataset = dataset.reading(ALL);
        let episode = &episodes(&dataset)[0];
        let extras = &episode.extras;
        let near = |channels: &Option<teleassay::model::Channels>, scale: f32| {
            let Some(channels) = channels else { return false };
            (0..3).all(|joint| {
                let pairs = channels.joint(joint).iter().zip(episode.state.joint(joint));
                pairs.into_iter().all(|(x, s)| (x - scale * s).abs() < 1e-4)
            })
        };
        assert!(near(&extras.velocity, 2.0), "{layout:?}");
        // Of two that would do, the plainer word; the leader's is never taken.
        assert!(near(&extras.effort, 4.0), "{layout:?}");
        assert_eq!(extras.voltage.as_ref().map(|v| (v.joints(), v.joint(0)[39])), Some((1, 12.0)));
        let camera = &extras.cameras[0];
        assert_eq!(
            (&*camera.name, camera.index.as_ref().map(|i| i[39])),
            ("wrist_cam", Some(39.0))
        );
        let stamp = camera.stamp_s.as_ref().map_or(f64::NAN, |s| s[10]);
        assert!((stamp - 0.195).abs() < 1e-12, "{stamp}");
    }
    Ok(())
}

#[test]
fn what_cannot_be_settled_is_said_and_left_alone() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    let all = rows(&[40]);
    let mut columns = recording(&all, Layout::List);
    columns.extend(vector("velocity_a", &values(&all, 1.0), Layout::List));
    columns.extend(vector("velocity_b", &values(&all, 1.0), Layout::List));
    // One load for three joints, a temperature that is missing for one.
    columns.push(("load".to_string(), floats(40, |_| 1.0)));
    parquet(&path, &RecordBatch::try_from_iter(columns.clone())?, 1000)?;
    let dataset = open(&path)?.reading(ALL);
    assert!(dataset.rig().extras.is_empty());
    let why = |role: Role| choice(&dataset, role).map(|c| c.why.clone()).unwrap_or_default();
    assert!(why(Role::Extra(Extra::Velocity)).contains("both \"velocity_a\" and \"velocity_b\""));
    assert!(
        why(Role::Extra(Extra::Effort)).contains("no column for joint j0"),
        "{}",
        why(Role::Extra(Extra::Effort))
    );
    let one = episodes(&dataset);
    assert!(one[0].extras.velocity.is_none() && one[0].extras.effort.is_none());

    let velocity = vec!["velocity_b".to_string()];
    let declared = Declared { velocity, unit: Some(AngleUnit::Degree), ..Declared::default() };
    let dataset = open_declared(&path, &declared)?.reading(ALL);
    let episode = &episodes(&dataset)[0];
    let read = episode.extras.velocity.as_ref().map_or(f32::NAN, |v| v.joint(1)[7]);
    assert!((read - episode.state.joint(1)[7]).abs() < 1e-9, "speeds are in the unit of positions");

    let camera =
        DeclaredCamera { name: "top".into(), index: Some("gone".into()), ..Default::default() };
    let declared = Declared { cameras: vec![camera], ..Declared::default() };
    let dataset = open_declared(&path, &declared)?;
    let why =
        choice(&dataset, Role::Extra(Extra::Cameras)).map(|c| c.why.clone()).unwrap_or_default();
    assert!(why.contains("no column \"gone\""), "{why}");
    Ok(())
}

#[test]
fn a_list_of_another_width_is_not_used_and_a_file_without_it_has_no_values() -> Outcome {
    let folder = tempfile::tempdir()?;
    let all = rows(&[40]);
    let mut columns = recording(&all, Layout::List);
    columns.extend(vector("effort", &values(&all, 1.0), Layout::List));
    let mut short = columns.clone();
    short.truncate(3);
    parquet(&folder.path().join("a.parquet"), &RecordBatch::try_from_iter(columns)?, 1000)?;
    parquet(&folder.path().join("b.parquet"), &RecordBatch::try_from_iter(short)?, 1000)?;
    let both = episodes(&open(folder.path())?.reading(ALL));
    let missing = |episode: &Episode| {
        let effort = episode.extras.effort.as_ref();
        effort.is_some_and(|e| e.values().iter().all(|v| v.is_nan()))
    };
    assert_eq!(both.iter().map(missing).collect::<Vec<_>>(), [false, true]);

    let path = folder.path().join("wide/0.parquet");
    let mut columns = recording(&all, Layout::List);
    columns[1].1 = vector("follower", &values(&all, 1.0), Layout::List).remove(0).1;
    let pairs: Vec<ArrayRef> = vec![floats(40, |_| 1.0), floats(40, |_| 2.0)];
    let field = |n: usize| {
        let number = arrow::datatypes::DataType::Float64;
        Arc::new(arrow::datatypes::Field::new(JOINTS[n], number, false))
    };
    let pair = arrow::array::StructArray::from(
        pairs.into_iter().enumerate().map(|(n, array)| (field(n), array)).collect::<Vec<_>>(),
    );
    columns.push(("effort".to_string(), Arc::new(pair)));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let dataset = open(&path)?;
    let why =
        choice(&dataset, Role::Extra(Extra::Effort)).map(|c| c.why.clone()).unwrap_or_default();
    assert!(why.contains("2 values a row, the rig has 3 joints"), "{why}");
    Ok(())
}
