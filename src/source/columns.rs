//! Which column plays which role: as declared, else by type and by the trade's plain words.

use std::path::Path;

use arrow::datatypes::{DataType, Schema};

use super::camera_roles::is_camera;
use super::declared::Declared;
use super::error::SourceError;
use super::folder::hive_keys;
use super::groups::Whose;
use super::shape::{Column, ColumnPath, Shape, columns, find, lower, seen};
use super::vector_roles::{follower, leader};
use super::words::{EPISODE, FRAME, Fit, TASK, id_fit, time_fit, time_unit};
use super::{RoleChoice, TimeUnit};

/// Where the episode's id comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum EpisodeFrom {
    Column(ColumnPath),
    /// The `key=value` folder with this key.
    Key(String),
    /// One file is one episode.
    File,
}

/// The time column.
#[derive(Debug, Clone)]
pub(super) struct TimeColumn {
    pub path: ColumnPath,
    /// Stored type of a plain number; none for Timestamp and Duration types.
    pub number: Option<DataType>,
    /// Ticks a second where the type, the profile or the name says so.
    pub per_second: Option<f64>,
    pub unit_why: &'static str,
}

/// A piece of a joint vector: a list column, or one number.
#[derive(Debug, Clone)]
pub(super) struct Part {
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
pub(super) struct Vectors {
    pub parts: Vec<Part>,
    /// Names from the field's metadata.
    pub names: Vec<String>,
}

/// Every role as it was cast.
#[derive(Debug, Clone)]
pub(super) struct Columns {
    pub episode: EpisodeFrom,
    pub time: Option<TimeColumn>,
    pub state: Vectors,
    pub action: Option<Vectors>,
    pub task: Option<ColumnPath>,
    /// Every column of the table, for those that are optional.
    pub all: Vec<Column>,
    pub choices: Vec<RoleChoice>,
}

/// Everything known of a table while roles are cast.
pub(super) struct Casting<'a> {
    pub file: &'a Path,
    pub schema: &'a Schema,
    pub declared: &'a Declared,
    pub columns: Vec<Column>,
}

/// Casts every role on one file's schema.
pub(super) fn cast(
    file: &Path,
    schema: &Schema,
    declared: &Declared,
) -> Result<Columns, SourceError> {
    let casting = Casting { file, schema, declared, columns: columns(schema) };
    let mut choices = Vec::new();
    let episode = casting.episode(&mut choices)?;
    let time = casting.time(&mut choices)?;
    let state = follower(&casting, &mut choices)?;
    let action = leader(&casting, &state, &mut choices)?;
    let task = casting.task(&mut choices)?;
    casting.frame(&mut choices);
    let all = casting.columns;
    Ok(Columns { episode, time, state, action, task, all, choices })
}

impl Casting<'_> {
    fn episode(&self, choices: &mut Vec<RoleChoice>) -> Result<EpisodeFrom, SourceError> {
        let usable = |c: &Column| match c.shape() {
            Shape::Text => true,
            Shape::Number(number) => number.is_integer(),
            _ => false,
        };
        let key = |wanted: &dyn Fn(&str) -> bool| {
            hive_keys(self.file).map(|(key, _)| key).filter(|key| wanted(key)).last()
        };
        let (from, columns, shape, why) = if let Some(name) = &self.declared.episode {
            match self.declared_column("episode", name) {
                Ok(column) if usable(&column) => self.by_column(column, DECLARED.to_string()),
                Ok(column) => {
                    return Err(self.wrong(&column, "episode", "an integer or a text"));
                }
                Err(missing) => match key(&|k| k == name.as_str()) {
                    Some(key) => by_key(key, DECLARED.to_string()),
                    None => return Err(missing),
                },
            }
        } else {
            let fits = |c: &Column| id_fit(&c.name(), EPISODE).filter(|_| usable(c));
            let line = |c: &str| format!("episode = \"{c}\"");
            if let Some((column, why)) = self.best("episode", fits, line)? {
                self.by_column(column, why)
            } else if let Some(key) = key(&|k| id_fit(k, EPISODE).is_some()) {
                let why = format!("the folders are named {key}=…");
                by_key(key, why)
            } else {
                let why = "no episode column: one file is one episode".to_string();
                (EpisodeFrom::File, Vec::new(), "file".to_string(), why)
            }
        };
        choices.push(RoleChoice { role: "episode", columns, shape, why });
        Ok(from)
    }

    #[expect(clippy::unused_self, reason = "reads as one of the family")]
    fn by_column(&self, column: Column, why: String) -> (EpisodeFrom, Vec<String>, String, String) {
        let (name, shape) = (column.name(), column.shape().words());
        (EpisodeFrom::Column(column.path), vec![name], shape, why)
    }

    fn time(&self, choices: &mut Vec<RoleChoice>) -> Result<Option<TimeColumn>, SourceError> {
        let usable = |c: &Column| matches!(c.shape(), Shape::Number(_) | Shape::Time { .. });
        let chosen = if let Some(name) = &self.declared.time {
            let column = self.declared_column("time", name)?;
            if !usable(&column) {
                return Err(self.wrong(&column, "time", "a number or a timestamp"));
            }
            Some((column, DECLARED.to_string()))
        } else {
            let by_type = Fit { weak: true, foreign: 0, shape: 0, longer: false };
            let fits = |c: &Column| {
                let fit = match c.shape() {
                    Shape::Time { .. } => Some(time_fit(&c.name()).unwrap_or(by_type)),
                    Shape::Number(_) => time_fit(&c.name()),
                    _ => None,
                };
                // A image's stamp is taken for the row's only where there is no other.
                fit.map(|fit| Fit { weak: fit.weak || is_camera(&c.name()), ..fit })
            };
            self.best("time", fits, |c| format!("time = \"{c}\""))?
        };
        let Some((column, why)) = chosen else {
            if self.declared.rate_hz.is_some() {
                let why = "no time column: frames counted at the declared rate".to_string();
                let shape = "none".to_string();
                choices.push(RoleChoice { role: "time", columns: Vec::new(), shape, why });
                return Ok(None);
            }
            return Err(self.missing(
                "looks like time stamps",
                "declare [columns] time = \"…\" in the profile, or give the rate with --rate HZ",
            ));
        };
        let (number, per_second, unit_why) = match column.shape() {
            Shape::Time { per_second } => (None, Some(per_second), "unit from the type"),
            Shape::Number(number) => {
                let (unit, why) = match (self.declared.time_unit, time_unit(&column.name())) {
                    (Some(unit), _) => (Some(unit), "unit declared"),
                    (None, Some(unit)) => (Some(unit), "unit from the name"),
                    (None, None) => (None, "unit from the size of the steps"),
                };
                (Some(number), unit.map(per_second), why)
            }
            _ => (None, None, ""),
        };
        let (columns, shape) = (vec![column.name()], column.shape().words());
        choices.push(RoleChoice { role: "time", columns, shape, why });
        Ok(Some(TimeColumn { path: column.path, number, per_second, unit_why }))
    }

    fn task(&self, choices: &mut Vec<RoleChoice>) -> Result<Option<ColumnPath>, SourceError> {
        let integer = |c: &Column| matches!(c.shape(), Shape::Number(n) if n.is_integer());
        let usable = |c: &Column| c.shape() == Shape::Text || integer(c);
        let chosen = if let Some(name) = &self.declared.task {
            let column = self.declared_column("task", name)?;
            if !usable(&column) {
                return Err(self.wrong(&column, "task", "a text or an integer"));
            }
            Some((column, DECLARED.to_string()))
        } else {
            // A task in words is worth more than its number.
            let fits = |c: &Column| {
                let fit = id_fit(&c.name(), TASK).filter(|_| usable(c))?;
                Some(Fit { weak: integer(c), ..fit })
            };
            self.best("task", fits, |c| format!("task = \"{c}\""))?
        };
        Ok(chosen.map(|(column, why)| {
            let (columns, shape) = (vec![column.name()], column.shape().words());
            choices.push(RoleChoice { role: "task", columns, shape, why });
            column.path
        }))
    }

    /// The frame counter is only shown: frames are counted by their rows.
    fn frame(&self, choices: &mut Vec<RoleChoice>) {
        let integer = |c: &Column| matches!(c.shape(), Shape::Number(n) if n.is_integer());
        let fits = |c: &Column| id_fit(&c.name(), FRAME).filter(|f| f.foreign == 0 && integer(c));
        let taken = |c: &Column| choices.iter().any(|r| r.columns.contains(&c.name()));
        let best = self.columns.iter().filter(|c| !taken(c)).filter_map(|c| Some((fits(c)?, c)));
        if let Some((_, column)) = best.min_by_key(|(fit, _)| *fit) {
            let (columns, shape) = (vec![column.name()], column.shape().words());
            let why = "the name says so; shown only".to_string();
            choices.push(RoleChoice { role: "frame", columns, shape, why });
        }
    }

    /// The one column that fits best; two that fit equally well are an error.
    fn best(
        &self,
        role: &'static str,
        fits: impl Fn(&Column) -> Option<Fit>,
        line: impl Fn(&str) -> String,
    ) -> Result<Option<(Column, String)>, SourceError> {
        let mut all: Vec<_> =
            self.columns.iter().filter_map(|c| Some((fits(c)?, c.clone()))).collect();
        all.sort_by_key(|(fit, _)| *fit);
        if let [(a, first), (b, second), ..] = all.as_slice()
            && a == b
        {
            return Err(self.two(role, &first.name(), &second.name(), line(&first.name())));
        }
        Ok(all.into_iter().next().map(|(_, column)| {
            let why = format!("the name says \"{}\"", column.name());
            (column, why)
        }))
    }

    /// A declared column.
    pub fn declared_column(&self, role: &'static str, name: &str) -> Result<Column, SourceError> {
        find(self.schema, name).ok_or_else(|| SourceError::NoSuchColumn {
            path: self.file.to_path_buf(),
            role,
            column: name.to_string(),
            seen: seen(self.schema),
        })
    }

    /// Two candidates for a role.
    pub fn two(&self, role: &'static str, a: &str, b: &str, line: String) -> SourceError {
        let (first, second) = (a.to_string(), b.to_string());
        SourceError::TwoCandidates { path: self.file.to_path_buf(), role, first, second, line }
    }

    /// A column of the wrong type.
    pub fn wrong(&self, column: &Column, role: &'static str, wanted: &'static str) -> SourceError {
        SourceError::WrongShape {
            path: self.file.to_path_buf(),
            column: column.name(),
            shape: column.shape().words(),
            role,
            wanted,
        }
    }

    /// A role that nothing plays.
    pub fn missing(&self, looks_like: &'static str, way_out: &str) -> SourceError {
        SourceError::MissingRole {
            path: self.file.to_path_buf(),
            looks_like,
            seen: seen(self.schema),
            way_out: way_out.to_string(),
        }
    }
}

/// Why a declared column was chosen.
pub(super) const DECLARED: &str = "declared";

fn by_key(key: String, why: String) -> (EpisodeFrom, Vec<String>, String, String) {
    (EpisodeFrom::Key(key.clone()), vec![key], "folder key".to_string(), why)
}

/// Ticks of a declared unit to a second.
pub(super) fn per_second(unit: TimeUnit) -> f64 {
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

/// Which words are looked for, by whose columns they are.
impl Whose {
    /// The role's name.
    pub fn role(self) -> &'static str {
        match self {
            Self::Follower => "state",
            Self::Leader => "action",
        }
    }
}
