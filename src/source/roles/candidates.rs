//! What is known of a table while roles are decided, and what all roles need of it.

use std::path::Path;

use arrow::datatypes::Schema;

use crate::source::declared::Declared;
use crate::source::error::SourceError;
use crate::source::role::Role;
use crate::source::roles::shape::{Column, find, seen};
use crate::source::roles::words::Fit;

/// Everything known of a table while roles are decided.
pub(in crate::source) struct Candidates<'a> {
    pub file: &'a Path,
    pub schema: &'a Schema,
    pub declared: &'a Declared,
    pub columns: Vec<Column>,
}

impl Candidates<'_> {
    /// The one column that fits best; two that fit equally well are an error.
    pub fn best(
        &self,
        role: Role,
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

    /// Whether a profile lists several columns for a role that holds a vector.
    pub fn declares_several(&self, role: Role) -> bool {
        let listed = match role {
            Role::State => &self.declared.state,
            Role::Action => &self.declared.action,
            _ => return false,
        };
        listed.len() > 1
    }

    /// A declared column.
    pub fn declared_column(&self, role: Role, name: &str) -> Result<Column, SourceError> {
        find(self.schema, name).ok_or_else(|| SourceError::NoSuchColumn {
            path: self.file.to_path_buf(),
            role,
            column: name.to_string(),
            seen: seen(self.schema),
        })
    }

    /// Two candidates for a role.
    pub fn two(&self, role: Role, a: &str, b: &str, line: String) -> SourceError {
        let (first, second) = (a.to_string(), b.to_string());
        SourceError::TwoCandidates { path: self.file.to_path_buf(), role, first, second, line }
    }

    /// A column of the wrong type.
    pub fn wrong(&self, column: &Column, role: Role, wanted: &'static str) -> SourceError {
        SourceError::WrongShape {
            path: self.file.to_path_buf(),
            column: column.name(),
            shape: column.shape().words(),
            role,
            wanted,
        }
    }

    /// A role that nothing plays.
    pub fn missing(&self, looks_like: &'static str, hint: &'static str) -> SourceError {
        SourceError::MissingRole {
            path: self.file.to_path_buf(),
            looks_like,
            seen: seen(self.schema),
            hint,
        }
    }
}
