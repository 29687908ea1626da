//! A look at the first rows of optional columns.

use arrow::record_batch::RecordBatch;

use crate::model::{Extra, Joint};
use crate::source::format::table::Table;
use crate::source::rig::clock;
use crate::source::rig::robust::typical_step;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::extras::ExtraColumns;
use crate::source::roles::parts::TimeColumn;
use crate::source::roles::sensors::{Sensor, factors};
use crate::source::roles::unused::Unused;
use crate::source::shard::nested;
use crate::source::shard::stamps::StampView;
use crate::source::shard::vectors::VectorView;

/// Rows that are looked at to see how many values lists hold and in what unit stamps are.
const PROBED: u64 = 512;

/// Looks at the first rows of a table: widths of lists, units of stamps. What does not fit is
/// taken out, with a word about it.
pub(in crate::source) fn probe(
    extras: &mut ExtraColumns,
    table: &dyn Table,
    rows: u64,
    joints: &[Joint],
    positions: &[f64],
    period_s: f64,
    choices: &mut [RoleChoice],
) {
    let mut batch: Option<RecordBatch> = None;
    // Should it fail, the rows themselves will say so when they are read.
    let rows = 0..rows.min(PROBED);
    let _ = table.scan(&extras.paths(), std::slice::from_ref(&rows), &mut |first| {
        batch = Some(first.clone());
        false
    });
    let wanted = joints.len();
    extras.sensors.retain_mut(|sensor| {
        let seen = batch.as_ref().and_then(|batch| width(batch, sensor));
        let values = seen.unwrap_or_else(|| sensor.widths.iter().sum());
        let shared = sensor.kind == Extra::Voltage && values == 1;
        if values == wanted || shared {
            if let [width] = sensor.widths.as_mut_slice() {
                *width = values;
            }
            sensor.factors = factors(sensor, joints, positions);
            describe(choices, sensor.kind, &sensor.vectors.words(&sensor.widths));
            return true;
        }
        refuse(choices, sensor.kind, &Unused::Count { found: values, joints: wanted });
        false
    });
    if let Some((velocity, pose)) = &mut extras.base {
        for sensor in [&mut *velocity, &mut *pose] {
            if let Some(seen) = batch.as_ref().and_then(|batch| width(batch, sensor))
                && let [width] = sensor.widths.as_mut_slice()
            {
                *width = seen;
            }
            sensor.factors = vec![1.0; sensor.widths.iter().sum()];
        }
        let (speeds, places) = (velocity.factors.len(), pose.factors.len());
        if !(matches!(speeds, 2 | 3) && places == 3) {
            refuse(choices, Extra::Base, &Unused::Base { speeds, places });
            extras.base = None;
        }
    }
    for stamp in extras.cameras.iter_mut().filter_map(|camera| camera.stamp.as_mut()) {
        if stamp.per_second.is_none() {
            let step = batch.as_ref().and_then(|batch| step(batch, &stamp.path));
            let (path, number) = (stamp.path.clone(), stamp.number.clone());
            let column = TimeColumn { path, number, per_second: None, unit_why: "" };
            let rate_hz = Some(period_s.recip()).filter(|hz| hz.is_finite());
            stamp.per_second = Some(clock::ticks(&column, step, rate_hz));
        }
    }
}

/// Values a row of a lone list, by most of the rows; none for scalars.
fn width(batch: &RecordBatch, sensor: &Sensor) -> Option<usize> {
    let [part] = sensor.vectors.parts.as_slice() else { return None };
    if !part.list {
        return None;
    }
    let view = VectorView::of(batch, &sensor.vectors, &sensor.widths).ok()?;
    let mut lengths = view.lengths(0, batch.num_rows());
    let middle = lengths.len() / 2;
    (!lengths.is_empty()).then(|| *lengths.select_nth_unstable(middle).1)
}

/// The usual step between stamps that are not the same, in ticks.
fn step(batch: &RecordBatch, path: &[String]) -> Option<f64> {
    nested::at(batch, path)?;
    let mut stamps = vec![f64::NAN; batch.num_rows()];
    StampView::of(batch, path, 1.0).ok()?.fill(0..batch.num_rows(), &mut stamps);
    typical_step(std::iter::once(stamps.as_slice()))
}

fn describe(choices: &mut [RoleChoice], kind: Extra, shape: &str) {
    for choice in
        choices.iter_mut().filter(|c| c.role == Role::Extra(kind) && !c.columns.is_empty())
    {
        shape.clone_into(&mut choice.shape);
    }
}

fn refuse(choices: &mut [RoleChoice], kind: Extra, unused: &Unused) {
    for choice in choices.iter_mut().filter(|c| c.role == Role::Extra(kind)) {
        choice.why = format!("not used: {}: {unused}", choice.columns.join(", "));
        choice.columns.clear();
        choice.shape = "none".to_string();
    }
}
