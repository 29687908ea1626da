//! A comparison of two sessions: on a terminal, as Markdown, as JSON, as a page.

mod html;
mod markdown;
mod sentence;
mod terminal;
mod words;

pub mod shape;

use std::io::{self, Write};

pub use html::comparison_html;
pub use markdown::comparison_markdown;
pub use terminal::comparison;

use crate::compare::{Comparison, Row, Side};
use crate::model::Unread;
use crate::source::{Input, RoleChoice};

/// The JSON Schema (draft 2020-12) of the comparison.
pub const COMPARISON_SCHEMA: &str = include_str!("../comparison.schema.json");

/// One side, and where it came from.
#[derive(Debug, Clone, Copy)]
pub struct ComparedSide<'a> {
    /// What was compared.
    pub side: &'a Side,
    /// Files that were read.
    pub inputs: &'a [Input],
    /// Files that could not be read.
    pub unread: &'a [Unread],
    /// Which column plays which role.
    pub roles: &'a [RoleChoice],
    /// Whether it was read from a scorecard, and not from the data.
    pub stored: bool,
}

/// What a renderer of a comparison is given.
#[derive(Debug, Clone, Copy)]
pub struct Compared<'a> {
    /// The comparison.
    pub comparison: &'a Comparison,
    /// What B is compared with.
    pub a: ComparedSide<'a>,
    /// What is compared.
    pub b: ComparedSide<'a>,
    /// The command that gave this, as it can be pasted: `teleassay compare monday tuesday`.
    pub command: &'a str,
    /// Columns to write to, at least 80.
    pub width: usize,
}

impl Compared<'_> {
    /// The joint's name; empty for what concerns no joint.
    fn joint(&self, joint: Option<usize>) -> &str {
        joint.and_then(|at| self.comparison.pairs.get(at)).map_or("", |pair| pair.name.as_str())
    }

    /// Whether a row's joint is linear.
    fn linear(&self, row: &Row) -> bool {
        row.joint.and_then(|at| self.comparison.pairs.get(at)).is_some_and(|pair| pair.linear)
    }
}

/// Writes the machine-readable comparison, two spaces to a level, ending in a line break.
///
/// # Errors
/// If the output cannot be written.
pub fn comparison_json(view: &Compared<'_>, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &shape::Document::of(view))?;
    writeln!(out)
}
