//! Decides the role of each column that is no joint vector, and calls for those that are.

use std::path::Path;

use arrow::datatypes::Schema;

use crate::source::declared::Declared;
use crate::source::error::SourceError;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::camera_roles::is_camera;
use crate::source::roles::candidates::Candidates;
use crate::source::roles::folder::hive_keys;
use crate::source::roles::parts::{Columns, DECLARED, EpisodeFrom, TimeColumn, per_second};
use crate::source::roles::shape::{Column, ColumnPath, Shape, columns};
use crate::source::roles::vector_roles::{follower, leader};
use crate::source::roles::words::{EPISODE, FRAME, Fit, TASK, id_fit, time_fit, time_unit};

/// Decides every role on one file's schema.
pub(in crate::source) fn decide(
    file: &Path,
    schema: &Schema,
    declared: &Declared,
) -> Result<(Columns, Vec<RoleChoice>), SourceError> {
    let candidates = Candidates { file, schema, declared, columns: columns(schema) };
    let mut choices = Vec::new();
    let episode = candidates.episode(&mut choices)?;
    let time = candidates.time(&mut choices)?;
    let state = follower(&candidates, &mut choices)?;
    let action = leader(&candidates, &state, &mut choices)?;
    let task = candidates.task(&mut choices)?;
    let labels = candidates.labels(&mut choices)?;
    candidates.frame(&mut choices);
    let all = candidates.columns;
    Ok((Columns { episode, time, state, action, task, labels, all }, choices))
}

impl Candidates<'_> {
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
            match self.declared_column(Role::Episode, name) {
                Ok(column) if usable(&column) => Self::by_column(column, DECLARED.to_string()),
                Ok(column) => {
                    return Err(self.wrong(&column, Role::Episode, "an integer or a text"));
                }
                Err(missing) => match key(&|k| k == name.as_str()) {
                    Some(key) => by_key(key, DECLARED.to_string()),
                    None => return Err(missing),
                },
            }
        } else {
            let fits = |c: &Column| id_fit(&c.name(), EPISODE).filter(|_| usable(c));
            let line = |c: &str| format!("episode = \"{c}\"");
            if let Some((column, why)) = self.best(Role::Episode, fits, line)? {
                Self::by_column(column, why)
            } else if let Some(key) = key(&|k| id_fit(k, EPISODE).is_some()) {
                let why = format!("the folders are named {key}=…");
                by_key(key, why)
            } else {
                let why = "no episode column: one file is one episode".to_string();
                (EpisodeFrom::File, Vec::new(), "file".to_string(), why)
            }
        };
        choices.push(RoleChoice { role: Role::Episode, columns, shape, why });
        Ok(from)
    }

    fn by_column(column: Column, why: String) -> (EpisodeFrom, Vec<String>, String, String) {
        let (name, shape) = (column.name(), column.shape().words());
        (EpisodeFrom::Column(column.path), vec![name], shape, why)
    }

    fn time(&self, choices: &mut Vec<RoleChoice>) -> Result<Option<TimeColumn>, SourceError> {
        let usable = |c: &Column| matches!(c.shape(), Shape::Number(_) | Shape::Time { .. });
        let chosen = if let Some(name) = &self.declared.time {
            let column = self.declared_column(Role::Time, name)?;
            if !usable(&column) {
                return Err(self.wrong(&column, Role::Time, "a number or a timestamp"));
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
                // The stamp of an image is taken for the row's only where there is no other.
                fit.map(|fit| Fit { weak: fit.weak || is_camera(&c.name()), ..fit })
            };
            self.best(Role::Time, fits, |c| format!("time = \"{c}\""))?
        };
        let Some((column, why)) = chosen else {
            if self.declared.rate_hz.is_some() {
                let why = "no time column: frames counted at the declared rate".to_string();
                choices.push(RoleChoice::none(Role::Time, why));
                return Ok(None);
            }
            return Err(self.missing(
                "looks like time stamps",
                "name it with --time COLUMN, or in a profile: [columns] time = \"…\"; or give the rate \
                 with --rate HZ",
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
        choices.push(RoleChoice { role: Role::Time, columns, shape, why });
        Ok(Some(TimeColumn { path: column.path, number, per_second, unit_why }))
    }

    fn task(&self, choices: &mut Vec<RoleChoice>) -> Result<Option<ColumnPath>, SourceError> {
        let integer = |c: &Column| matches!(c.shape(), Shape::Number(n) if n.is_integer());
        let usable = |c: &Column| c.shape() == Shape::Text || integer(c);
        let chosen = if let Some(name) = &self.declared.task {
            let column = self.declared_column(Role::Task, name)?;
            if !usable(&column) {
                return Err(self.wrong(&column, Role::Task, "a text or an integer"));
            }
            Some((column, DECLARED.to_string()))
        } else {
            // A task in words is worth more than its number.
            let fits = |c: &Column| {
                let fit = id_fit(&c.name(), TASK).filter(|_| usable(c))?;
                Some(Fit { weak: integer(c), ..fit })
            };
            self.best(Role::Task, fits, |c| format!("task = \"{c}\""))?
        };
        Ok(chosen.map(|(column, why)| {
            let (columns, shape) = (vec![column.name()], column.shape().words());
            choices.push(RoleChoice { role: Role::Task, columns, shape, why });
            column.path
        }))
    }

    /// Columns to group episodes by: declared only.
    fn labels(&self, choices: &mut Vec<RoleChoice>) -> Result<Vec<ColumnPath>, SourceError> {
        let names = &self.declared.labels;
        let mut found = Vec::new();
        for name in names {
            let column = self.declared_column(Role::Label, name)?;
            let integer = matches!(column.shape(), Shape::Number(n) if n.is_integer());
            if column.shape() != Shape::Text && !integer {
                return Err(self.wrong(&column, Role::Label, "a text or an integer"));
            }
            found.push(column);
        }
        if let Some(first) = found.first() {
            let (columns, shape) = (names.clone(), first.shape().words());
            let why = DECLARED.to_string();
            choices.push(RoleChoice { role: Role::Label, columns, shape, why });
        }
        Ok(found.into_iter().map(|column| column.path).collect())
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
            choices.push(RoleChoice { role: Role::Frame, columns, shape, why });
        }
    }
}

fn by_key(key: String, why: String) -> (EpisodeFrom, Vec<String>, String, String) {
    (EpisodeFrom::Key(key.clone()), vec![key], "folder key".to_string(), why)
}
