//! What a renderer of a comparison is given.

use crate::compare::{Comparison, Row, Side};
use crate::model::Unread;
use crate::source::{Input, RoleChoice};

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
    /// Whether it was read from a measurements file, and not from the data.
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
    pub(super) fn joint(&self, joint: Option<usize>) -> &str {
        joint.and_then(|at| self.comparison.pairs.get(at)).map_or("", |pair| pair.name.as_str())
    }

    /// Whether a row's joint is linear.
    pub(super) fn linear(&self, row: &Row) -> bool {
        row.joint.and_then(|at| self.comparison.pairs.get(at)).is_some_and(|pair| pair.linear)
    }
}
