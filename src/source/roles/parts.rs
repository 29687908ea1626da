//! What is known of the columns that play a role.

use arrow::datatypes::DataType;

use crate::source::declared::TimeUnit;
use crate::source::roles::shape::{Column, ColumnPath, lower};

/// Why a declared column was chosen.
pub(in crate::source) const DECLARED: &str = "declared";

/// Where the episode's id comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::source) enum EpisodeFrom {
    Column(ColumnPath),
    /// The `key=value` folder with this key.
    Key(String),
    /// One file is one episode.
    File,
}

/// The time column.
#[derive(Debug, Clone)]
pub(in crate::source) struct TimeColumn {
    pub path: ColumnPath,
    /// Stored type of a plain number; none for Timestamp and Duration types.
    pub number: Option<DataType>,
    /// Ticks a second where the type, the profile or the name says so.
    pub per_second: Option<f64>,
    pub unit_why: &'static str,
}

/// A piece of a joint vector: a list column, or one number.
#[derive(Debug, Clone)]
pub(in crate::source) struct Part {
    pub path: ColumnPath,
    pub element: DataType,
    /// A list rather than a single number.
    pub list: bool,
    /// Values a row where the type states it.
    pub width: Option<usize>,
    /// The joint's name where a column or a struct's field gives one.
    pub name: Option<String>,
}

/// The columns that hold a joint vector.
#[derive(Debug, Clone, Default)]
pub(in crate::source) struct Vectors {
    pub parts: Vec<Part>,
    /// Names from the field's metadata.
    pub names: Vec<String>,
}

/// The column of every role.
#[derive(Debug)]
pub(in crate::source) struct Columns {
    pub episode: EpisodeFrom,
    pub time: Option<TimeColumn>,
    pub state: Vectors,
    pub action: Option<Vectors>,
    pub task: Option<ColumnPath>,
    /// Columns to group episodes by.
    pub labels: Vec<ColumnPath>,
    /// Every column of the table, for those that are optional.
    pub all: Vec<Column>,
}

impl Columns {
    /// The parts of the state, then those of the action.
    pub fn parts(&self) -> impl Iterator<Item = &Part> {
        std::iter::once(&self.state).chain(&self.action).flat_map(|vectors| &vectors.parts)
    }
}

/// Ticks of a declared unit to a second.
pub(in crate::source) fn per_second(unit: TimeUnit) -> f64 {
    (1.0 / unit.seconds()).round()
}

impl Vectors {
    /// Whether the values are whole numbers.
    pub fn integer(&self) -> bool {
        self.parts.iter().all(|p| p.element.is_integer())
    }

    /// The shape in plain words, once the widths are known.
    pub fn words(&self, widths: &[usize]) -> String {
        let text = |(part, width): (&Part, &usize)| {
            let number = lower(&part.element);
            if part.list { format!("list of {width} x {number}") } else { number }
        };
        let scalars = self.parts.iter().all(|p| !p.list);
        match (self.parts.as_slice(), scalars) {
            ([first, ..], true) => format!("{} x {}", self.parts.len(), lower(&first.element)),
            _ => self.parts.iter().zip(widths).map(text).collect::<Vec<_>>().join(", "),
        }
    }
}
