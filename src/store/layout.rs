//! Which columns a measurements file has: known before the first episode is measured.

use std::sync::Arc;

use arrow::datatypes::{DataType, Field, Fields, Schema, SchemaRef};

use crate::model::{CheckSpec, JointId, Metric, Reading, Rig, Scope};

/// One column of readings.
#[derive(Debug, Clone)]
pub(super) struct Slot {
    pub check: &'static CheckSpec,
    pub metric: &'static Metric,
    pub joint: Option<JointId>,
    pub name: String,
}

/// The columns of a measurements file.
#[derive(Debug)]
pub struct StoredColumns {
    pub(super) slots: Vec<Slot>,
    pub(super) joints: Vec<String>,
    /// Number of labels that each episode has.
    pub(super) labels: usize,
    pub(super) schema: SchemaRef,
    /// Paths of the files that episodes are read from.
    pub(super) sources: Vec<String>,
}

impl StoredColumns {
    /// The columns for these checks on this rig.
    pub fn new(rig: &Rig, checks: &[&'static CheckSpec], sources: Vec<String>) -> Self {
        let joints = joint_names(rig);
        let slots: Vec<Slot> = checks.iter().flat_map(|check| of_check(check, &joints)).collect();
        let mut fields = vec![
            Field::new("episode", DataType::Utf8, false),
            Field::new("task", DataType::Utf8, true),
            Field::new("index", DataType::UInt64, false),
            Field::new("input", DataType::UInt32, false),
            Field::new("source", DataType::Utf8, false),
            Field::new("first_row", DataType::UInt64, false),
            Field::new("end_row", DataType::UInt64, false),
            Field::new("frames", DataType::UInt64, false),
            Field::new("start_s", DataType::Float64, false),
            Field::new("duration_s", DataType::Float64, false),
        ];
        fields.extend(
            rig.labels.iter().map(|name| Field::new(label_column(name), DataType::Utf8, true)),
        );
        fields.extend(slots.iter().map(|slot| Field::new(&slot.name, DataType::Float64, true)));
        fields.extend([
            list("spans", DataType::Struct(span_fields())),
            list("notes", DataType::Struct(note_fields())),
            list("not_assessed", DataType::Struct(not_assessed_fields())),
            Field::new("content", DataType::UInt64, true),
            Field::new("moments", DataType::List(item(DataType::Float32)), true),
            Field::new("levels", DataType::Binary, true),
        ]);
        let labels = rig.labels.len();
        Self { slots, joints, labels, schema: Arc::new(Schema::new(fields)), sources }
    }

    /// The reading's column; looked for from `guess` on, since cards hold their readings in order.
    pub(super) fn slot_of(&self, reading: &Reading, guess: usize) -> Option<usize> {
        let same = |slot: &Slot| {
            slot.metric.is(reading.metric)
                && slot.joint == reading.joint
                && slot.check.is(reading.check)
        };
        let (before, from) = self.slots.split_at(guess.min(self.slots.len()));
        let ahead = from.iter().position(same).map(|at| guess + at);
        ahead.or_else(|| before.iter().position(same))
    }
}

/// The column of a label.
pub(super) fn label_column(name: &str) -> String {
    format!("label/{name}")
}

/// The columns of one check.
pub(super) fn of_check(check: &'static CheckSpec, joints: &[String]) -> Vec<Slot> {
    let of_metric = |metric: &'static Metric| -> Vec<Slot> {
        let head = format!("{}/{}", check.id, metric.id);
        match metric.scope {
            Scope::Episode => vec![Slot { check, metric, joint: None, name: head }],
            Scope::Joint => {
                let named = joints.iter().enumerate();
                named
                    .map(|(joint, name)| {
                        let name = format!("{head}/{name}");
                        Slot { check, metric, joint: Some(joint as JointId), name }
                    })
                    .collect()
            }
        }
    };
    check.metrics.iter().flat_map(|metric| of_metric(metric)).collect()
}

/// The joints' names, with the number where the data names two alike: columns must differ.
pub(super) fn joint_names(rig: &Rig) -> Vec<String> {
    let named = rig.joints.iter().enumerate();
    let name = |(number, joint): (usize, &crate::model::Joint)| {
        let alike = rig.joints.iter().filter(|other| other.name == joint.name).count();
        if alike == 1 { joint.name.clone() } else { format!("{}#{number}", joint.name) }
    };
    named.map(name).collect()
}

pub(super) fn span_fields() -> Fields {
    Fields::from(vec![
        Field::new("reading", DataType::Utf8, false),
        Field::new("first_frame", DataType::UInt32, false),
        Field::new("end_frame", DataType::UInt32, false),
        Field::new("from_s", DataType::Float64, false),
        Field::new("to_s", DataType::Float64, false),
    ])
}

pub(super) fn note_fields() -> Fields {
    Fields::from(vec![
        Field::new("reading", DataType::Utf8, false),
        Field::new("note", DataType::Utf8, false),
    ])
}

pub(super) fn not_assessed_fields() -> Fields {
    Fields::from(vec![
        Field::new("check", DataType::Utf8, false),
        Field::new("joint", DataType::Utf8, true),
        Field::new("reason", DataType::Utf8, false),
    ])
}

/// The item of a list.
pub(super) fn item(kind: DataType) -> Arc<Field> {
    Arc::new(Field::new("item", kind, false))
}

fn list(name: &str, kind: DataType) -> Field {
    Field::new(name, DataType::List(item(kind)), false)
}
