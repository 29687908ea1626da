//! Where the values of each joint, the ids and the frame counter are stored.

use crate::model::AngleUnit;
use crate::source::copy::edit::Cell;
use crate::source::dataset::Dataset;
use crate::source::role::Role;
use crate::source::roles::parts::{EpisodeFrom, Vectors};
use crate::source::roles::shape::Shape;
use crate::source::source_trait::Source as _;

/// Where the ids of episodes are stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoredIds {
    /// In a column: its path, and whether it holds whole numbers.
    Column(Vec<String>, bool),
    /// In the name of a folder with this key.
    Folder(String),
    /// In the name of the file.
    File,
}

/// Where values are stored.
#[derive(Debug, Clone)]
pub struct Places {
    /// The follower's joints, in the order of the rig.
    pub state: Vec<Cell>,
    /// The leader's.
    pub action: Vec<Cell>,
    /// The follower's columns.
    pub state_columns: Vec<Vec<String>>,
    /// The leader's columns.
    pub action_columns: Vec<Vec<String>>,
    /// Ids of episodes.
    pub ids: StoredIds,
    /// The frame counter.
    pub frame: Option<Vec<String>>,
    /// The time column.
    pub time: Option<Vec<String>>,
    /// Why no joint has a place of its own, if so.
    pub none: Option<&'static str>,
    factors: Vec<f64>,
    offsets: Vec<f32>,
    unit: AngleUnit,
}

impl Places {
    /// Of a dataset.
    pub fn of(source: &Dataset) -> Self {
        let layout = source.stored().1;
        let columns = &layout.columns;
        let cells = |vectors: &Vectors, widths: &[usize]| -> Vec<Cell> {
            let parts = vectors.parts.iter().zip(widths);
            let cells = parts.flat_map(|(part, width)| {
                let indices = if part.list { (0..*width).map(Some).collect() } else { vec![None] };
                indices.into_iter().map(|index| Cell { path: part.path.clone(), index })
            });
            cells.collect()
        };
        let paths =
            |vectors: &Vectors| vectors.parts.iter().map(|part| part.path.clone()).collect();
        let none = source.rig().stored.is_some().then_some(
            "the stored numbers are not one to a joint on both sides (rotations, or joints paired by \
             name)",
        );
        let frame = source.roles().iter().find(|choice| choice.role == Role::Frame);
        let frame = frame.and_then(|choice| choice.columns.first());
        let frame = frame.and_then(|name| columns.all.iter().find(|column| column.name() == *name));
        let ids = match &columns.episode {
            EpisodeFrom::Column(path) => {
                let stored = columns.all.iter().find(|column| column.path == *path);
                let number =
                    stored.is_some_and(|column| matches!(column.shape(), Shape::Number(_)));
                StoredIds::Column(path.clone(), number)
            }
            EpisodeFrom::Key(key) => StoredIds::Folder(key.clone()),
            EpisodeFrom::File => StoredIds::File,
        };
        Self {
            state: cells(&columns.state, &layout.widths.state),
            action: columns
                .action
                .as_ref()
                .map_or_else(Vec::new, |action| cells(action, &layout.widths.action)),
            state_columns: paths(&columns.state),
            action_columns: columns.action.as_ref().map_or_else(Vec::new, paths),
            ids,
            frame: frame.map(|column| column.path.clone()),
            time: columns.time.as_ref().map(|time| time.path.clone()),
            none,
            factors: layout.scaling.factors.clone(),
            offsets: layout.scaling.offsets.clone(),
            unit: source.rig().unit,
        }
    }

    /// What is stored for a value of a joint in radians or metres.
    pub fn stored(&self, joint: usize, value: f64) -> f64 {
        let offset = self.offsets.get(joint).copied().unwrap_or(0.0);
        (value - f64::from(offset)) / self.factors.get(joint).copied().unwrap_or(1.0)
    }

    /// What is stored for a difference of two such values.
    pub fn stored_difference(&self, joint: usize, difference: f64) -> f64 {
        difference / self.factors.get(joint).copied().unwrap_or(1.0)
    }

    /// One turn, as it is stored; none where values are no angles.
    pub fn turn(&self) -> Option<f64> {
        match self.unit {
            AngleUnit::Radian => Some(std::f64::consts::TAU),
            AngleUnit::Degree => Some(360.0),
            AngleUnit::Counts { per_turn } => Some(per_turn),
            AngleUnit::Normalized { .. } => None,
        }
    }
}
