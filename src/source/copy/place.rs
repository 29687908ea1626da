//! Where the values of each joint, the ids and the frame counter are stored.

use crate::model::{AngleUnit, Take};
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

/// Where the values of a joint are on one side, and how they are stored.
#[derive(Debug, Clone, PartialEq)]
pub struct Slot {
    /// Where they are.
    pub cell: Cell,
    /// Radians, or metres, to one stored unit.
    pub factor: f64,
    /// What is added after that.
    pub offset: f64,
}

impl Slot {
    /// What is stored for a value in radians or metres.
    pub fn stored(&self, value: f64) -> f64 {
        (value - self.offset) / self.factor
    }

    /// What is stored for a difference of two such values.
    pub fn stored_difference(&self, difference: f64) -> f64 {
        difference / self.factor
    }
}

/// Where values are stored.
#[derive(Debug, Clone)]
pub struct Places {
    /// The follower's joints, in the order of the rig; none for a joint without a number of its own.
    pub state: Vec<Option<Slot>>,
    /// The leader's.
    pub action: Vec<Option<Slot>>,
    /// The follower's columns.
    pub state_columns: Vec<Vec<String>>,
    /// The leader's columns.
    pub action_columns: Vec<Vec<String>>,
    /// Whether both sides store the same joints in the same order.
    pub in_order: bool,
    /// Ids of episodes.
    pub ids: StoredIds,
    /// The frame counter.
    pub frame: Option<Vec<String>>,
    /// The time column.
    pub time: Option<Vec<String>>,
    unit: AngleUnit,
}

impl Places {
    /// Of a dataset.
    pub fn of(source: &Dataset) -> Self {
        let columns = &source.stored().1.columns;
        let paths =
            |vectors: &Vectors| vectors.parts.iter().map(|part| part.path.clone()).collect();
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
        let (state, action) = slots(source);
        let index = |slots: &[Option<Slot>]| -> Vec<Option<Option<usize>>> {
            slots.iter().map(|slot| slot.as_ref().map(|slot| slot.cell.index)).collect()
        };
        let whole = |slots: &[Option<Slot>]| slots.iter().all(Option::is_some);
        let in_order = whole(&state) && whole(&action) && index(&state) == index(&action);
        Self {
            in_order: in_order && ordered(source),
            state,
            action,
            state_columns: paths(&columns.state),
            action_columns: columns.action.as_ref().map_or_else(Vec::new, paths),
            ids,
            frame: frame.map(|column| column.path.clone()),
            time: columns.time.as_ref().map(|time| time.path.clone()),
            unit: source.rig().unit,
        }
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

/// The cells of a side, in the order in which its numbers are stored.
fn cells(vectors: &Vectors, widths: &[usize]) -> Vec<Cell> {
    let parts = vectors.parts.iter().zip(widths);
    let cells = parts.flat_map(|(part, width)| {
        let indices = if part.list { (0..*width).map(Some).collect() } else { vec![None] };
        indices.into_iter().map(|index| Cell { path: part.path.clone(), index })
    });
    cells.collect()
}

/// Whether number by number both sides store the same joint.
fn ordered(source: &Dataset) -> bool {
    let Some(stored) = &source.rig().stored else { return true };
    let place = |take: &Take| match take {
        Take::One { from, .. } => Some(*from),
        _ => None,
    };
    let mut entries = stored.entries.iter();
    entries
        .all(|entry| place(&entry.state).is_some() && place(&entry.state) == place(&entry.action))
}

type Slots = Vec<Option<Slot>>;

/// The slots of state and action, in the order of the rig.
fn slots(source: &Dataset) -> (Slots, Slots) {
    let layout = source.stored().1;
    let state = cells(&layout.columns.state, &layout.widths.state);
    let action = layout.columns.action.as_ref();
    let action = action.map_or_else(Vec::new, |action| cells(action, &layout.widths.action));
    let joints = source.rig().joints.len();
    let Some(stored) = &source.rig().stored else {
        let scaling = &layout.scaling;
        let slot = |cells: &[Cell], at: usize| {
            let factor = scaling.factors.get(at).copied().unwrap_or(1.0);
            let offset = f64::from(scaling.offsets.get(at).copied().unwrap_or(0.0));
            cells.get(at).map(|cell| Slot { cell: cell.clone(), factor, offset })
        };
        let of = |cells: &[Cell]| (0..joints).map(|at| slot(cells, at)).collect();
        return (of(&state), of(&action));
    };
    let (mut followers, mut leaders) = (vec![None; joints], vec![None; joints]);
    let slot = |cells: &[Cell], take: &Take| match take {
        Take::One { from, factor, offset, .. } => {
            let cell = cells.get(*from)?.clone();
            Some(Slot { cell, factor: *factor, offset: *offset })
        }
        _ => None,
    };
    for entry in &stored.entries {
        let at = usize::from(entry.joint);
        if at < joints {
            followers[at] = slot(&state, &entry.state);
            leaders[at] = slot(&action, &entry.action);
        }
    }
    (followers, leaders)
}
