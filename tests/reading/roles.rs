//! Roles by declaration and by the trade's words.

use std::collections::HashMap;
use std::sync::Arc;

use arrow::array::{Array, ArrayRef, Int64Array, StructArray};
use arrow::datatypes::{Field, Schema};
use arrow::record_batch::RecordBatch;
use teleassay::source::{Dataset, Declared, Role, Source};

use super::support::{
    Layout, Outcome, expected, open, open_declared, parquet, read, recording, rows, vector,
};

fn columns_of(dataset: &Dataset, role: Role) -> Vec<String> {
    let choice = dataset.roles().iter().find(|r| r.role == role);
    choice.map(|r| r.columns.clone()).unwrap_or_default()
}

#[test]
fn scalar_columns_are_declared_by_pattern_or_one_by_one() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    let all = rows(&[30]);
    let states: Vec<_> = all.iter().map(|r| r.state).collect();
    let actions: Vec<_> = all.iter().map(|r| r.action).collect();
    let mut columns = recording(&all, Layout::List);
    columns.truncate(1);
    columns.extend(vector("in", &states, Layout::Scalars));
    // The leader's columns stand in another order, and go by name.
    let mut leader = vector("out", &actions, Layout::Scalars);
    leader.reverse();
    columns.extend(leader);
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let text = |t: &str| t.to_string();
    let by_pattern =
        Declared { state: vec![text("in_*")], action: vec![text("out_*")], ..Declared::default() };
    let one_by_one = Declared {
        state: ["in_waist", "in_elbow", "in_jaw"].map(text).to_vec(),
        action: ["out_waist", "out_elbow", "out_jaw"].map(text).to_vec(),
        ..Declared::default()
    };
    for declared in [by_pattern, one_by_one] {
        let dataset = open_declared(&path, &declared)?;
        assert_eq!(read(&dataset).0, expected(&all));
        let names: Vec<_> = dataset.rig().joints.iter().map(|j| j.name.as_str()).collect();
        assert_eq!(names, ["waist", "elbow", "jaw"]);
        assert_eq!(columns_of(&dataset, Role::State), ["in_waist", "in_elbow", "in_jaw"]);
        assert_eq!(columns_of(&dataset, Role::Action), ["out_waist", "out_elbow", "out_jaw"]);
    }
    Ok(())
}

#[test]
fn a_list_and_a_number_make_one_vector() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    let mut columns = recording(&rows(&[30]), Layout::List);
    let grip: ArrayRef = Arc::new(Int64Array::from_iter_values(0..30));
    columns.push(("grip".to_string(), grip));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let declared =
        Declared { state: vec!["follower".into(), "grip".into()], ..Declared::default() };
    let dataset = open_declared(&path, &declared)?;
    assert_eq!(dataset.rig().joints.len(), 4);
    assert!(dataset.rig().joints[3].gripper);
    Ok(())
}

#[test]
fn velocities_and_the_like_are_not_mistaken_for_positions() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    let mut columns = recording(&rows(&[30]), Layout::List);
    columns[1].0 = "follower_position".to_string();
    columns[2].0 = "leader_position".to_string();
    columns.push(("follower_velocity".to_string(), columns[1].1.clone()));
    columns.push(("frame_index".to_string(), Arc::new(Int64Array::from_iter_values(0..30))));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let dataset = open(&path)?;
    assert_eq!(columns_of(&dataset, Role::State), ["follower_position"]);
    assert_eq!(columns_of(&dataset, Role::Action), ["leader_position"]);
    assert_eq!(columns_of(&dataset, Role::Frame), ["frame_index"]);
    Ok(())
}

#[test]
fn fields_of_structs_are_found_by_their_dotted_names() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    let all = rows(&[30]);
    let mut columns = recording(&all, Layout::List);
    let field =
        |name: &str, array: &ArrayRef| Arc::new(Field::new(name, array.data_type().clone(), true));
    let inner = columns[1].1.clone();
    let pair = vec![
        (field("position", &inner), inner.clone()),
        (field("velocity", &inner), inner.clone()),
    ];
    columns[1] = ("follower".to_string(), Arc::new(StructArray::from(pair)));
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let dataset = open(&path)?;
    assert_eq!(columns_of(&dataset, Role::State), ["follower.position"]);
    assert_eq!(read(&dataset).0, expected(&all));
    Ok(())
}

#[test]
fn joint_names_come_from_the_fields_metadata() -> Outcome {
    let folder = tempfile::tempdir()?;
    for (number, names) in ["waist, elbow ,jaw", "[\"waist\",\"elbow\",\"jaw\"]"].iter().enumerate()
    {
        let path = folder.path().join(format!("{number}.parquet"));
        let batch = RecordBatch::try_from_iter(recording(&rows(&[30]), Layout::FixedSizeList))?;
        let metadata = HashMap::from([("names".to_string(), (*names).to_string())]);
        let fields: Vec<Field> = batch
            .schema()
            .fields()
            .iter()
            .map(|f| match f.name().as_str() {
                "follower" => f.as_ref().clone().with_metadata(metadata.clone()),
                _ => f.as_ref().clone(),
            })
            .collect();
        let batch = RecordBatch::try_new(Arc::new(Schema::new(fields)), batch.columns().to_vec())?;
        parquet(&path, &batch, 1000)?;
        let rig = open(&path)?.rig().clone();
        let names: Vec<_> = rig.joints.iter().map(|j| j.name.as_str()).collect();
        assert_eq!(names, ["waist", "elbow", "jaw"]);
    }
    Ok(())
}

#[test]
fn no_leader_is_no_trouble() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    let mut columns = recording(&rows(&[30]), Layout::List);
    columns.truncate(2);
    parquet(&path, &RecordBatch::try_from_iter(columns)?, 1000)?;
    let dataset = open(&path)?;
    assert_eq!(read(&dataset).0[0].action, None);
    assert!(columns_of(&dataset, Role::Action).is_empty());
    Ok(())
}
