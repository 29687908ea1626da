//! What a renderer of a course is given.

use std::collections::BTreeSet;
use std::path::Path;

use super::super::compared::{Compared, ComparedSide};
use crate::compare::CourseLine;
use crate::model::Unread;
use crate::report::text::clean;

/// What a renderer of a course is given.
#[derive(Debug, Clone)]
pub struct Courses<'a> {
    /// Each session after the first, compared with the first; at least one.
    pub pairs: Vec<Compared<'a>>,
    /// The course of each aspect, worst first.
    pub lines: &'a [CourseLine],
    /// The command that gave this, as it can be pasted.
    pub command: &'a str,
    /// Columns to write to, at least 80.
    pub width: usize,
}

impl<'a> Courses<'a> {
    /// All sessions in their order.
    pub(super) fn sides(&self) -> impl Iterator<Item = &ComparedSide<'a>> {
        let first = self.pairs.iter().take(1).map(|pair| &pair.a);
        first.chain(self.pairs.iter().map(|pair| &pair.b))
    }

    /// How many there are.
    pub(super) fn sessions(&self) -> usize {
        self.pairs.len() + 1
    }

    /// What each is called in a sentence: the last part of its path where no two have the same, else
    /// its path, with its number where a session is there twice.
    pub(super) fn names(&self) -> Vec<String> {
        let whole: Vec<&str> = self.sides().map(|of| of.side.name.as_str()).collect();
        let last = |name: &&str| {
            let part = Path::new(name).file_name().unwrap_or_default();
            part.to_string_lossy().into_owned()
        };
        let short: Vec<String> = whole.iter().map(last).collect();
        if apart(&short) {
            return short.iter().map(|name| clean(name)).collect();
        }
        let numbered = |(name, number): (&&str, usize)| format!("{} ({number})", clean(name));
        if apart(&whole) {
            return whole.iter().map(|name| clean(name)).collect();
        }
        whole.iter().zip(1..).map(numbered).collect()
    }

    /// Files of all sessions that were not compared.
    pub(super) fn unread(&self) -> Vec<Unread> {
        self.sides().flat_map(|of| of.unread).cloned().collect()
    }
}

/// Whether no two are the same, and none is empty.
fn apart<T: AsRef<str>>(names: &[T]) -> bool {
    let set: BTreeSet<&str> = names.iter().map(AsRef::as_ref).collect();
    set.len() == names.len() && !set.contains("")
}
