//! The second stage: the roles are decided.

use std::path::PathBuf;

use crate::source::declared::Declared;
use crate::source::error::SourceError;
use crate::source::format::open::{Stamp, TableFile};
use crate::source::format::own::MEASUREMENTS;
use crate::source::format::table::Kept;
use crate::source::located::{Located, Passed};
use crate::source::read_error::{NotRead, ReadError};
use crate::source::role::RoleChoice;
use crate::source::roles::decide::decide;
use crate::source::roles::parts::Columns;

/// The files, and which column plays which role.
#[derive(Debug)]
pub(in crate::source) struct Resolved {
    pub files: Vec<PathBuf>,
    pub passed: Passed,
    pub columns: Columns,
    pub choices: Vec<RoleChoice>,
    /// The file that showed the columns, where it was parsed whole.
    pub parsed: Option<Parsed>,
}

/// A file that was parsed whole.
#[derive(Debug)]
pub(in crate::source) struct Parsed {
    /// Number of the file.
    pub file: usize,
    pub stamp: Stamp,
    pub kept: Kept,
}

impl Resolved {
    /// Decides the roles on the first file that has columns for them. Files that cannot be opened
    /// are noted when they are indexed.
    pub fn of(located: Located, declared: &Declared) -> Result<Self, SourceError> {
        let Located { files, mut passed } = located;
        let mut first_error = None;
        for (number, path) in files.iter().enumerate() {
            let Ok(TableFile { stamp, table }) = TableFile::open(path) else { continue };
            match decide(path, &table.written_schema(), declared) {
                Ok((columns, choices)) => {
                    let kept = table.held().and_then(|_| table.keep());
                    let parsed = kept.map(|kept| Parsed { file: number, stamp, kept });
                    return Ok(Self { files, passed, columns, choices, parsed });
                }
                Err(e @ (SourceError::MissingRole { .. } | SourceError::NoSuchColumn { .. })) => {
                    // Another table may lie next to the recordings; the first good one decides.
                    first_error.get_or_insert(e);
                }
                Err(e) => return Err(e),
            }
        }
        if let Some(error) = first_error {
            return Err(error);
        }
        for path in files {
            match TableFile::open(&path) {
                Err(ReadError::Own(what)) => return Err(own(path, what)),
                Err(error) => passed.note(path, error),
                Ok(_) => {}
            }
        }
        Err(all_unread(&passed.refused))
    }
}

/// Nothing but what this tool wrote.
fn own(path: PathBuf, what: &'static str) -> SourceError {
    let hint = if what == MEASUREMENTS {
        format!("use judge: teleassay judge {}", path.display())
    } else {
        "name the recordings that it was made of".to_owned()
    };
    SourceError::Own { path, what, hint }
}

/// Not a single file is of use.
pub(in crate::source) fn all_unread(refused: &[NotRead]) -> SourceError {
    let of_use = |file: &&NotRead| !matches!(file.error, ReadError::NoRows);
    let Some(first) = refused.iter().find(of_use).or(refused.first()) else {
        let (path, reason) = (PathBuf::new(), "no file".to_owned());
        return SourceError::AllUnread { files: 0, path, reason, hint: None };
    };
    let path = first.path.clone();
    if matches!(first.error, ReadError::NoRows) {
        let path = path.display().to_string();
        let (what, hint) = ("holds no rows: there is nothing to check", String::new());
        return SourceError::NothingFound { path, what, hint };
    }
    let (reason, hint) = (first.error.to_string(), first.error.hint().map(str::to_owned));
    SourceError::AllUnread { files: refused.len(), path, reason, hint }
}
