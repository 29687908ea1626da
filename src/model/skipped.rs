//! Files that are not read: of other kinds, of this tool, or unlike the others.

use std::collections::BTreeMap;
use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::name::as_text;

/// Why a file that looks like a recording is not audited.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum UnreadKind {
    /// It, or a part of it, cannot be read.
    #[default]
    Unreadable,
    /// It can be read, and its columns are not those of the other files.
    DifferentColumns,
}

/// A file, or part of one, that could not be read; the rest of the dataset is audited without it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unread {
    /// The file.
    #[serde(with = "as_text")]
    pub path: PathBuf,
    /// Why, in words, with what to do about it.
    pub reason: String,
    /// What kind of trouble that is.
    #[serde(default)]
    pub kind: UnreadKind,
}

impl Unread {
    /// A file that cannot be read.
    #[cfg(any(test, feature = "internals"))]
    pub fn new(path: PathBuf, reason: String) -> Self {
        Self { path, reason, kind: UnreadKind::Unreadable }
    }

    /// Whether its columns are not those of the other files.
    pub fn differs(&self) -> bool {
        self.kind == UnreadKind::DifferentColumns
    }
}

/// Files in a folder of recordings that are no recordings: they are passed over.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Skipped {
    /// How many files of each ending are no tables; an empty ending for names without one.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub kinds: BTreeMap<String, u64>,
    /// Files that this tool wrote.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub own: Vec<OwnFile>,
}

/// A file that this tool wrote.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct OwnFile(#[serde(with = "as_text")] pub PathBuf);

impl Skipped {
    /// Whether nothing was passed over.
    pub fn is_empty(&self) -> bool {
        self.kinds.is_empty() && self.own.is_empty()
    }

    /// Counts one more file of a kind.
    pub fn count(&mut self, ending: &str) {
        *self.kinds.entry(ending.to_lowercase()).or_default() += 1;
    }

    /// Adds those of another part of a dataset.
    pub fn merge(&mut self, other: &Self) {
        for (ending, files) in &other.kinds {
            *self.kinds.entry(ending.clone()).or_default() += files;
        }
        self.own.extend(other.own.iter().cloned());
        self.own.sort();
        self.own.dedup();
    }

    /// The kinds, most files first.
    pub fn by_number(&self) -> Vec<(&str, u64)> {
        let mut kinds: Vec<_> = self.kinds.iter().map(|(ending, n)| (&**ending, *n)).collect();
        kinds.sort_by_key(|(_, files)| std::cmp::Reverse(*files));
        kinds
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_counted_together_and_own_files_once() {
        let mut all = Skipped::default();
        for ending in ["csv", "CSV", "mp4"] {
            all.count(ending);
        }
        all.own.push(OwnFile("b.parquet".into()));
        let mut other = all.clone();
        (0..2).for_each(|_| other.count("mp4"));
        other.own.push(OwnFile("a.json".into()));
        all.merge(&other);
        assert_eq!(all.by_number(), [("csv", 4), ("mp4", 4)]);
        let own: Vec<_> = all.own.iter().map(|file| file.0.display().to_string()).collect();
        assert_eq!(own, ["a.json", "b.parquet"]);
        assert!(!all.is_empty() && Skipped::default().is_empty());
    }

    #[test]
    fn files_of_earlier_versions_say_no_kind() -> Result<(), serde_json::Error> {
        let old: Unread = serde_json::from_str(r#"{"path": "a\\xff", "reason": "cut"}"#)?;
        assert!(!old.differs());
        assert_eq!(serde_json::to_value(&old)?["path"], "a\\xff");
        Ok(())
    }
}
