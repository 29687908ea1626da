//! Faults in the data: kept, counted, never the end of the run.

use std::sync::Arc;

use arrow::array::{
    ArrayRef, Float32Array, Float32Builder, Float64Array, Int64Array, ListArray, ListBuilder,
    StringArray,
};
use arrow::datatypes::{DataType, Field};
use arrow::record_batch::RecordBatch;
use teleassay::source::{Declared, DeclaredJoint, Role, Source};

use super::support::{
    Layout, Outcome, open, open_declared, parquet, read, recording, refusal, rows,
};

/// A list column from rows; none is a null row, and an inner none a null value.
fn lists(rows: &[Option<Vec<Option<f32>>>]) -> ArrayRef {
    let mut builder = ListBuilder::new(Float32Builder::new());
    for row in rows {
        builder.values().extend(row.iter().flatten().copied());
        builder.append(row.is_some());
    }
    Arc::new(builder.finish())
}

#[test]
fn nulls_and_ragged_vectors_are_kept_and_counted() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("ragged.parquet");
    let mut state = vec![Some(vec![Some(0.5); 3]); 40];
    state[3] = None;
    state[4] = Some(vec![Some(0.1), None, Some(0.3)]);
    state[5] = Some(vec![Some(0.1)]);
    state[6] = Some(vec![Some(0.1); 5]);
    state[7] = Some(vec![Some(f32::INFINITY), Some(f32::NAN), Some(0.3)]);
    state[8] = Some(Vec::new());
    let mut time: Vec<Option<f64>> = (0..40).map(|i| Some(f64::from(i) * 0.02)).collect();
    time[10] = None;
    time[11] = Some(f64::NAN);
    let mut columns = recording(&rows(&[40]), Layout::List);
    columns[0].1 = Arc::new(Float64Array::from(time));
    columns[1].1 = lists(&state);
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;

    let (seen, reasons) = read(&open(&path)?);
    assert!(reasons.is_empty());
    let episode = &seen[0];
    assert_eq!(episode.ragged, 3, "short, long and empty; a null row is missing, not ragged");
    let not_assessed =
        |frame: usize| [0, 1, 2].map(|joint| episode.state_at(joint, frame).is_nan());
    assert_eq!(not_assessed(2), [false; 3]);
    assert_eq!(not_assessed(3), [true; 3]);
    assert_eq!(not_assessed(4), [false, true, false]);
    assert_eq!(not_assessed(5), [false, true, true]);
    assert_eq!(not_assessed(6), [false; 3]);
    assert_eq!(not_assessed(7), [true, true, false]);
    assert_eq!(not_assessed(8), [true; 3]);
    let missing: Vec<usize> = (0..40).filter(|&i| episode.time_s()[i].is_nan()).collect();
    assert_eq!(missing, [10, 11]);
    Ok(())
}

#[test]
fn null_scalars_and_null_structs_are_holes() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("scalars.parquet");
    let mut columns = recording(&rows(&[20]), Layout::Scalars);
    let mut elbow: Vec<Option<f32>> = vec![Some(0.5); 20];
    elbow[7] = None;
    columns[2].1 = Arc::new(Float32Array::from(elbow));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let episode = &read(&open(&path)?).0[0];
    assert!(episode.state_at(1, 7).is_nan() && !episode.state_at(0, 7).is_nan());
    Ok(())
}

#[test]
fn rows_without_an_episode_are_left_out_and_reported() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("orphans.parquet");
    let mut ids: Vec<Option<i64>> = vec![Some(4); 30];
    ids[10] = None;
    ids[11] = None;
    let mut columns = vec![("episode".to_string(), Arc::new(Int64Array::from(ids)) as ArrayRef)];
    columns.extend(recording(&rows(&[30]), Layout::List));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let (seen, reasons) = read(&open(&path)?);
    assert_eq!(seen[0].time.len(), 28);
    assert_eq!(reasons, ["2 rows have no episode id and are left out"]);
    Ok(())
}

#[test]
fn an_all_null_column_is_a_column_of_holes() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("null.parquet");
    let mut columns = recording(&rows(&[20]), Layout::List);
    columns[2].1 = lists(&vec![None; 20]);
    parquet(&path, &RecordBatch::try_from_iter(columns.clone())?, 1000)?;
    let (seen, _) = read(&open(&path)?);
    let action = seen[0].action.clone().unwrap_or_default();
    assert!(action.len() == 60 && action.iter().all(|bits| f32::from_bits(*bits).is_nan()));

    // Without a single follower value nobody knows how many joints there are, unless declared.
    columns[1].1 = lists(&vec![None; 20]);
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    assert!(refusal(open(&path)).contains("null or empty in every row"));
    let joint = |name: &str| DeclaredJoint { name: name.into(), ..DeclaredJoint::default() };
    let joints = ["a", "b", "c"].map(joint).to_vec();
    let dataset = open_declared(&path, &Declared { joints, ..Declared::default() })?;
    assert!(read(&dataset).0[0].state_at(2, 19).is_nan());
    Ok(())
}

#[test]
fn rows_out_of_order_stay_where_they_are() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("order.parquet");
    let mut all = rows(&[20]);
    all.swap(4, 5);
    parquet(&path, &RecordBatch::try_from_iter(recording(&all, Layout::List))?, 1000)?;
    let times = read(&open(&path)?).0[0].time_s();
    assert!(times[4] > times[5]);
    Ok(())
}

#[test]
fn a_file_of_another_width_is_left_out_with_both_widths() -> Outcome {
    let folder = tempfile::tempdir()?;
    for name in ["1", "2", "3"] {
        let mut columns = recording(&rows(&[40]), Layout::List);
        if name == "2" {
            columns[1].1 = lists(&vec![Some(vec![Some(0.1); 5]); 40]);
        }
        let path = folder.path().join(format!("{name}.parquet"));
        parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    }
    let (seen, reasons) = read(&open(folder.path())?);
    assert_eq!(seen.iter().map(|s| s.id.as_str()).collect::<Vec<_>>(), ["1", "3"]);
    assert!(reasons[0].contains("holds 5 values") && reasons[0].contains("hold 3"));
    Ok(())
}

#[test]
fn a_leader_with_fewer_joints_is_not_assessed_there_and_the_task_is_read() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("narrow.parquet");
    let mut columns = recording(&rows(&[20]), Layout::List);
    columns[2].1 = lists(&vec![Some(vec![Some(0.1); 2]); 20]);
    let task: ArrayRef = Arc::new(StringArray::from(vec!["plug into pot"; 20]));
    columns.push(("task".to_string(), task));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let dataset = open(&path)?;
    let episode = &read(&dataset).0[0];
    assert_eq!((episode.ragged, episode.task.as_deref()), (0, Some("plug into pot")));
    let action = episode.action.clone().unwrap_or_default();
    assert_eq!(action.iter().filter(|bits| f32::from_bits(**bits).is_nan()).count(), 20);
    let role = dataset.roles().iter().find(|r| r.role == Role::Action);
    assert!(role.is_some_and(|r| r.why.contains("3 joints")));
    Ok(())
}

#[test]
fn degrees_and_counts_are_seen_and_converted_once() -> Outcome {
    let folder = tempfile::tempdir()?;
    let counts: Vec<i32> = (0..300).flat_map(|i| [2048 + i, 1000 + 2 * i, 500]).collect();
    let item = Arc::new(Field::new("item", DataType::Int32, true));
    let offsets = arrow::buffer::OffsetBuffer::from_repeated_length(3, 300);
    let values: ArrayRef = Arc::new(arrow::array::Int32Array::from(counts.clone()));
    let mut columns = recording(&rows(&[300]), Layout::List);
    columns[1].1 = Arc::new(ListArray::new(item, offsets, values, None));
    let path = folder.path().join("counts.parquet");
    parquet(&path, &RecordBatch::try_from_iter(columns.clone())?, 1000)?;
    let dataset = open(&path)?;
    let turn = std::f64::consts::TAU;
    assert_eq!(dataset.rig().joints[0].count, turn / 4096.0);
    let (least, largest) = dataset.rig().joints[1].observed.unwrap_or_default();
    assert!((least - 1000.0 * turn / 4096.0).abs() < 1e-9);
    assert!((largest - 1598.0 * turn / 4096.0).abs() < 1e-9);
    assert!((read(&dataset).0[0].state_at(0, 0) - std::f32::consts::PI).abs() < 1e-6);

    let degrees =
        counts.chunks(3).map(|c| Some(c.iter().map(|v| Some(*v as f32 * 0.088)).collect()));
    columns[1].1 = lists(&degrees.collect::<Vec<_>>());
    let path = folder.path().join("degrees.parquet");
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let rig = open(&path)?.rig().clone();
    assert_eq!((rig.unit.name(), rig.unit_declared), ("deg", false));
    assert!((rig.joints[0].count - 0.088f64.to_radians()).abs() < 1e-6, "the grid is seen");
    Ok(())
}
