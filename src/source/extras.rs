//! Optional columns: found when a dataset is opened, read only if a check asks for them.

use arrow::record_batch::RecordBatch;

use super::RoleChoice;
use super::camera_roles::{Camera, cameras};
use super::clock;
use super::columns::{Columns, DECLARED, TimeColumn, Vectors};
use super::declared::Declared;
use super::nested;
use super::robust::typical_step;
use super::sensors::{Sensor, add, factors, misfit, sensors};
use super::shape::ColumnPath;
use super::stamps::StampView;
use super::table::Table;
use super::vectors::VectorView;
use crate::model::{Extra, Joint, count};

/// Rows that are looked at to see how many values lists hold and in what unit stamps are.
const PROBED: u64 = 512;

/// Every optional column that was found.
#[derive(Debug, Default)]
pub(super) struct ExtraColumns {
    pub sensors: Vec<Sensor>,
    pub cameras: Vec<Camera>,
    /// Velocity and pose of the base.
    pub base: Option<(Sensor, Sensor)>,
}

impl ExtraColumns {
    /// Finds them among a table's columns.
    pub fn find(
        columns: &Columns,
        declared: &Declared,
        joints: &[Joint],
        choices: &mut Vec<RoleChoice>,
    ) -> Self {
        let shown = choices.iter().filter(|choice| choice.role != "frame");
        let mut taken: Vec<String> = shown.flat_map(|choice| choice.columns.clone()).collect();
        let base = base(columns, declared, choices);
        taken.extend(declared.base.iter().flat_map(|b| b.velocity.iter().chain(&b.pose).cloned()));
        let sensors = sensors(&columns.all, declared, joints, &taken, choices);
        let cameras = cameras(&columns.all, declared, &taken, choices);
        Self { sensors, cameras, base }
    }

    /// Looks at the first rows of a table: widths of lists, units of stamps. What does not fit is
    /// taken out, with a word about it.
    pub fn probe(
        &mut self,
        table: &Table,
        rows: u64,
        joints: &[Joint],
        positions: &[f64],
        period_s: f64,
        choices: &mut [RoleChoice],
    ) {
        let mut batch: Option<RecordBatch> = None;
        // Should it fail, the rows themselves will say so when they are read.
        let rows = 0..rows.min(PROBED);
        let _ = table.scan(&self.paths(), std::slice::from_ref(&rows), &mut |first| {
            batch = Some(first.clone());
            false
        });
        let wanted = joints.len();
        self.sensors.retain_mut(|sensor| {
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
            refuse(choices, sensor.kind, &misfit(values, wanted));
            false
        });
        if let Some((velocity, pose)) = &mut self.base {
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
                let what = format!(
                    "velocity has {} (forward, or forward and sideways; then turn), \
                     pose {places} (x, y, yaw)",
                    count(speeds, "value")
                );
                refuse(choices, Extra::Base, &what);
                self.base = None;
            }
        }
        for stamp in self.cameras.iter_mut().filter_map(|camera| camera.stamp.as_mut()) {
            if stamp.per_second.is_none() {
                let step = batch.as_ref().and_then(|batch| step(batch, &stamp.path));
                let (path, number) = (stamp.path.clone(), stamp.number.clone());
                let column = TimeColumn { path, number, per_second: None, unit_why: "" };
                let rate_hz = Some(period_s.recip()).filter(|hz| hz.is_finite());
                stamp.per_second = Some(clock::ticks(&column, step, rate_hz));
            }
        }
    }

    /// Whether the table has none.
    pub fn is_empty(&self) -> bool {
        self.sensors.is_empty() && self.cameras.is_empty() && self.base.is_none()
    }

    /// The kinds that were found.
    pub fn kinds(&self) -> Vec<Extra> {
        let mut kinds: Vec<Extra> = self.sensors.iter().map(|sensor| sensor.kind).collect();
        kinds.extend((!self.cameras.is_empty()).then_some(Extra::Cameras));
        kinds.extend(self.base.is_some().then_some(Extra::Base));
        kinds
    }

    fn paths(&self) -> Vec<ColumnPath> {
        let base = self.base.iter().flat_map(|(velocity, pose)| [velocity, pose]);
        let vectors = self.sensors.iter().chain(base).flat_map(|sensor| &sensor.vectors.parts);
        let stamps = self.cameras.iter().filter_map(|c| c.stamp.as_ref().map(|s| &s.path));
        let cameras = self.cameras.iter().filter_map(|c| c.index.as_ref());
        let mut paths: Vec<_> =
            vectors.map(|part| &part.path).chain(stamps).chain(cameras).cloned().collect();
        paths.sort();
        paths.dedup();
        paths
    }
}

/// The base is never guessed: too many things have a velocity.
fn base(
    columns: &Columns,
    declared: &Declared,
    choices: &mut Vec<RoleChoice>,
) -> Option<(Sensor, Sensor)> {
    let said = declared.base.as_ref()?;
    let part = |names: &[String]| -> Result<Sensor, String> {
        let mut vectors = Vectors::default();
        for name in names {
            let column = columns.all.iter().find(|column| column.name() == *name);
            let column = column.ok_or_else(|| format!("there is no column \"{name}\""))?;
            add(column, Extra::Base, &[], &mut vectors)?;
        }
        let widths = vectors.parts.iter().map(|part| part.width.unwrap_or(1)).collect();
        Ok(Sensor { kind: Extra::Base, vectors, widths, factors: Vec::new() })
    };
    let both = part(&said.velocity).and_then(|velocity| Ok((velocity, part(&said.pose)?)));
    let names = said.velocity.iter().chain(&said.pose).cloned().collect();
    let (found, names, shape, why) = match both {
        Ok(found) => (Some(found), names, "velocity, pose", DECLARED.to_string()),
        Err(why) => (None, Vec::new(), "none", format!("not used: {why}")),
    };
    choices.push(RoleChoice { role: "base", columns: names, shape: shape.to_string(), why });
    found
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
    for choice in choices.iter_mut().filter(|c| c.role == kind.word() && !c.columns.is_empty()) {
        shape.clone_into(&mut choice.shape);
    }
}

fn refuse(choices: &mut [RoleChoice], kind: Extra, what: &str) {
    for choice in choices.iter_mut().filter(|c| c.role == kind.word()) {
        choice.why = format!("not used: {}: {what}", choice.columns.join(", "));
        choice.columns.clear();
        choice.shape = "none".to_string();
    }
}
