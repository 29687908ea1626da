//! What lies next to recordings and is none: counted by kind, and this tool's own files named.

use std::path::Path;

use crate::model::{OwnFile, Skipped};
use crate::source::format::own::{Text, of_text};

/// Kinds of files that this tool writes as text.
const OWN_KINDS: &[&str] = &["json", "jsonl", "csv", "xml"];
/// So many files are looked into: a folder may hold one of them for each of a million episodes, and what
/// is not looked into is counted by its kind.
const MOST: usize = 1000;
/// The profile lies there to be read.
const PROFILE: &str = "teleassay.toml";

/// The files of a folder that are no tables.
#[derive(Debug, Default)]
pub(super) struct Others {
    skipped: Skipped,
    looked_into: usize,
}

impl Others {
    /// Counts a file.
    pub fn add(&mut self, file: &Path) {
        let ending = file.extension().unwrap_or_default().to_string_lossy().to_lowercase();
        if file.file_name().is_some_and(|name| name == PROFILE) {
            return;
        }
        if OWN_KINDS.contains(&ending.as_str()) && self.looked_into < MOST {
            self.looked_into += 1;
            match of_text(file) {
                Some(Text::Output(_)) => return self.skipped.own.push(OwnFile(file.into())),
                Some(Text::Answers) => return,
                None => {}
            }
        }
        self.skipped.count(&ending);
    }

    /// All of them.
    pub fn skipped(&self) -> &Skipped {
        &self.skipped
    }
}
