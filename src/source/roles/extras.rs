//! Optional columns: found when a dataset is opened, read only if a check asks for them.

use crate::model::{Extra, Joint};
use crate::source::declared::Declared;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::camera_roles::{Camera, cameras};
use crate::source::roles::parts::{Columns, DECLARED, Vectors};
use crate::source::roles::sensors::{Sensor, add, sensors};
use crate::source::roles::shape::ColumnPath;
use crate::source::roles::unused::Unused;

/// Every optional column that was found.
#[derive(Debug, Default)]
pub(in crate::source) struct ExtraColumns {
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
        let shown = choices.iter().filter(|choice| choice.role != Role::Frame);
        let mut taken: Vec<String> = shown.flat_map(|choice| choice.columns.clone()).collect();
        let base = base(columns, declared, choices);
        taken.extend(declared.base.iter().flat_map(|b| b.velocity.iter().chain(&b.pose).cloned()));
        let sensors = sensors(&columns.all, declared, joints, &taken, choices);
        let cameras = cameras(&columns.all, declared, &taken, choices);
        Self { sensors, cameras, base }
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

    /// Their columns, each once.
    pub fn paths(&self) -> Vec<ColumnPath> {
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
    let part = |names: &[String]| -> Result<Sensor, Unused> {
        let mut vectors = Vectors::default();
        for name in names {
            let column = columns.all.iter().find(|column| column.name() == *name);
            let column = column.ok_or_else(|| Unused::NoColumn(name.clone()))?;
            add(column, Extra::Base, &[], &mut vectors)?;
        }
        let widths = vectors.parts.iter().map(|part| part.width.unwrap_or(1)).collect();
        Ok(Sensor { kind: Extra::Base, vectors, widths, factors: Vec::new() })
    };
    let both = part(&said.velocity).and_then(|velocity| Ok((velocity, part(&said.pose)?)));
    let names = said.velocity.iter().chain(&said.pose).cloned().collect();
    let role = Role::Extra(Extra::Base);
    match both {
        Ok(found) => {
            let (shape, why) = ("velocity, pose".to_owned(), DECLARED.to_owned());
            choices.push(RoleChoice { role, columns: names, shape, why });
            Some(found)
        }
        Err(unused) => {
            choices.push(RoleChoice::none(role, unused.why()));
            None
        }
    }
}
