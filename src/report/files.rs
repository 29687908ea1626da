//! Files that were not audited, in words: unreadable, unlike the others, of other kinds.

use std::fmt::Write as _;

use super::text::{clean, count};
use crate::model::{Skipped, Unread, path_text};

/// Kinds of files, and own files, that are named before a list is cut.
const MOST: usize = 4;

/// What keeps a file from being audited: `not read`, or `different columns`.
pub(super) fn trouble(file: &Unread) -> &'static str {
    if file.differs() { "different columns" } else { "not read" }
}

/// The files by what keeps them from being audited; nothing for none.
pub(super) fn by_trouble(files: &[Unread]) -> impl Iterator<Item = (&'static str, Vec<&Unread>)> {
    [false, true].into_iter().filter_map(|differs| {
        let some: Vec<&Unread> = files.iter().filter(|file| file.differs() == differs).collect();
        Some((trouble(some.first()?), some))
    })
}

/// How many there are of either: `2 files could not be read and 1 has different columns`.
pub(super) fn not_audited(files: &[Unread]) -> Option<String> {
    let differ = files.iter().filter(|file| file.differs()).count();
    let broken = files.len() - differ;
    let have = if differ == 1 { "has" } else { "have" };
    match (broken, differ) {
        (0, 0) => None,
        (_, 0) => Some(format!("{} could not be read", count(broken as u64, "file"))),
        (0, _) => Some(format!("{} {have} different columns", count(differ as u64, "file"))),
        _ => Some(format!(
            "{} could not be read and {differ} {have} different columns",
            count(broken as u64, "file")
        )),
    }
}

/// What was passed over: `12 csv, 3 mp4; written by this tool: report.json`.
pub(super) fn skipped(skipped: &Skipped) -> Option<String> {
    let kinds = skipped.by_number();
    let kind = |(ending, files): &(&str, u64)| match *ending {
        "" => format!("{files} without an ending"),
        ending => format!("{files} {}", clean(ending)),
    };
    let mut text = kinds.iter().take(MOST).map(kind).collect::<Vec<_>>().join(", ");
    if kinds.len() > MOST {
        let more: u64 = kinds.iter().skip(MOST).map(|(_, files)| files).sum();
        let _ = write!(text, " and {more} of other kinds");
    }
    if !skipped.own.is_empty() {
        let names = skipped.own.iter().take(MOST).map(|file| {
            let name = file.0.file_name().map_or(file.0.as_path(), std::path::Path::new);
            clean(&path_text(name))
        });
        let names = names.collect::<Vec<_>>().join(", ");
        let separator = if text.is_empty() { "" } else { "; " };
        let _ = write!(text, "{separator}written by this tool: {names}");
        if skipped.own.len() > MOST {
            let _ = write!(text, " and {} more", skipped.own.len() - MOST);
        }
    }
    (!text.is_empty()).then_some(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{OwnFile, UnreadKind};

    #[test]
    fn what_was_passed_over_is_counted_by_kind() {
        let mut all = Skipped::default();
        assert_eq!(skipped(&all), None);
        all.own.push(OwnFile("data/m.parquet".into()));
        assert_eq!(skipped(&all).as_deref(), Some("written by this tool: m.parquet"));
        (0..12).for_each(|_| all.count("csv"));
        let text = "12 csv; written by this tool: m.parquet";
        assert_eq!(skipped(&all).as_deref(), Some(text));
        all.own.clear();
        for ending in ["mp4", "mp4", "", "md", "png", "txt"] {
            all.count(ending);
        }
        let text = "12 csv, 2 mp4, 1 without an ending, 1 md and 2 of other kinds";
        assert_eq!(skipped(&all).as_deref(), Some(text));
    }

    #[test]
    fn other_columns_are_not_called_unread() {
        let mut files = vec![Unread::new("a".into(), "is cut short".into())];
        assert_eq!(not_audited(&files).as_deref(), Some("1 file could not be read"));
        let mut other = files[0].clone();
        other.kind = UnreadKind::DifferentColumns;
        files.extend([other.clone(), other.clone()]);
        let text = "1 file could not be read and 2 have different columns";
        assert_eq!(not_audited(&files).as_deref(), Some(text));
        assert_eq!(not_audited(&[other.clone()]).as_deref(), Some("1 file has different columns"));
        assert_eq!((trouble(&other), not_audited(&[])), ("different columns", None));
    }
}
