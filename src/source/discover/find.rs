//! Finds the tables: files, folders, patterns.

use std::collections::HashSet;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use globset::GlobBuilder;
use walkdir::{DirEntry, WalkDir};

use crate::model::Skipped;
use crate::source::discover::natural;
use crate::source::discover::others::Others;
use crate::source::error::SourceError;
use crate::source::format::list::{endings, endings_alone, has_ending};
use crate::source::format::own::of_text;
use crate::source::read_error::{NotRead, ReadError};

/// The tables found, and what could not be looked into or is none.
#[derive(Debug, Default)]
pub(in crate::source) struct Found {
    pub files: Vec<PathBuf>,
    /// The folders that were named, or in which what was named lies: each once, in order.
    pub roots: Vec<PathBuf>,
    pub refused: Vec<NotRead>,
    pub skipped: Skipped,
}

/// Finds every table that the paths name, each once, in natural order within each path.
pub(in crate::source) fn find<P: AsRef<Path>>(paths: &[P]) -> Result<Found, SourceError> {
    let mut found = Found::default();
    let (mut seen, mut roots) = (HashSet::new(), HashSet::new());
    for path in paths.iter().map(AsRef::as_ref) {
        // What is no text is neither a URL nor a pattern.
        let text = path.to_str().unwrap_or_default();
        if text.contains("://") {
            return Err(SourceError::Url(text.to_owned()));
        }
        let mut others = Others::default();
        let refused = &mut found.refused;
        let (root, mut files) = match std::fs::metadata(path) {
            Ok(meta) if meta.is_dir() => {
                let mut texts = Vec::new();
                let wanted = |file: &Path| {
                    let table = is_table(file);
                    if !table && is_alone(file) && of_text(file).is_none() {
                        texts.push(file.to_path_buf());
                    } else if !table {
                        others.add(file);
                    }
                    table
                };
                let files = walk(path, refused, wanted)?;
                (path.to_path_buf(), tables_or(files, texts, &mut others))
            }
            Ok(_) => (path.parent().unwrap_or(path).to_path_buf(), vec![path.to_path_buf()]),
            Err(_) if text.contains(['*', '?', '[', '{']) => pattern(text, refused)?,
            Err(e) => return Err(unreachable(path, e)),
        };
        found.skipped.merge(others.skipped());
        if roots.insert(root.clone()) {
            found.roots.push(root);
        }
        files.sort_by_cached_key(|file| natural::key(file));
        if paths.len() == 1 {
            found.files = files;
        } else {
            found.files.extend(files.into_iter().filter(|file| seen.insert(file.clone())));
        }
    }
    if found.files.is_empty() && found.refused.is_empty() {
        // Packed text is said once: the list is read by a person.
        let plain = endings().chain(endings_alone()).filter(|ending| !ending.contains('.'));
        let plain = plain.collect::<Vec<_>>().join(", *.");
        let others = ["h5", "hdf5"].iter().any(|ending| found.skipped.kinds.contains_key(*ending));
        let convert = if others { "; HDF5 is converted first: docs/pipelines.md" } else { "" };
        let hint =
            format!("name a folder with tables (*.{plain}; text also as .gz or .zst){convert}");
        let what = "holds no tables to check";
        let path: Vec<String> = paths.iter().map(|p| p.as_ref().display().to_string()).collect();
        return Err(SourceError::NothingFound { path: path.join(", "), what, hint });
    }
    Ok(found)
}

/// All wanted files below a folder. Hidden names and names with a leading `_` are bookkeeping of
/// other tools and are left out, folders too; the folder that was named is taken as it is.
pub(in crate::source) fn walk(
    folder: &Path,
    refused: &mut Vec<NotRead>,
    mut wanted: impl FnMut(&Path) -> bool,
) -> Result<Vec<PathBuf>, SourceError> {
    let hidden = |e: &DirEntry| matches!(e.file_name().as_encoded_bytes(), [b'.' | b'_', ..]);
    let shown = |e: &DirEntry| e.depth() == 0 || !hidden(e);
    let mut files = Vec::new();
    for entry in WalkDir::new(folder).follow_links(true).into_iter().filter_entry(shown) {
        match entry {
            Ok(entry) if entry.file_type().is_file() && wanted(entry.path()) => {
                files.push(entry.into_path());
            }
            Ok(_) => {}
            Err(e) if e.depth() == 0 => {
                let source = e.into_io_error().unwrap_or_else(|| ErrorKind::Other.into());
                return Err(unreachable(folder, source));
            }
            Err(e) => {
                let path = e.path().unwrap_or(folder).to_path_buf();
                refused.push(NotRead { path, error: ReadError::Folders(e) });
            }
        }
    }
    Ok(files)
}

/// All files that a pattern matches, and the folder in front of it. `*` stays within a folder, `**`
/// does not.
fn pattern(text: &str, refused: &mut Vec<NotRead>) -> Result<(PathBuf, Vec<PathBuf>), SourceError> {
    let broken = |e: globset::Error| SourceError::Pattern {
        pattern: text.to_string(),
        why: e.kind().to_string(),
    };
    let glob = GlobBuilder::new(text).literal_separator(true).build().map_err(broken)?;
    let matcher = glob.compile_matcher();
    let fixed: PathBuf = Path::new(text)
        .components()
        .take_while(|c| !c.as_os_str().to_string_lossy().contains(['*', '?', '[', '{']))
        .collect();
    // A pattern without a folder starts here; walked paths then begin with "./", which the
    // pattern does not.
    let here = fixed.as_os_str().is_empty();
    let root = if here { PathBuf::from(".") } else { fixed };
    if !root.is_dir() {
        return Err(SourceError::NoSuchPath(root));
    }
    let matches = |path: &Path| matcher.is_match(if here { bare(path) } else { path });
    let files = walk(&root, refused, matches)?;
    if !here {
        return Ok((root, files));
    }
    Ok((PathBuf::new(), files.into_iter().map(|f| bare(&f).to_path_buf()).collect()))
}

fn bare(path: &Path) -> &Path {
    path.strip_prefix(".").unwrap_or(path)
}

pub(in crate::source) fn is_table(path: &Path) -> bool {
    endings().any(|ending| has_ending(path, ending))
}

/// Whether a file has the name of a table that is read where there are no others.
pub(in crate::source) fn is_alone(path: &Path) -> bool {
    endings_alone().any(|ending| has_ending(path, ending))
}

/// The tables of a folder. Text is read where there is nothing else; next to other tables it is
/// passed over.
fn tables_or(tables: Vec<PathBuf>, texts: Vec<PathBuf>, others: &mut Others) -> Vec<PathBuf> {
    if tables.is_empty() {
        return texts;
    }
    for file in &texts {
        others.add(file);
    }
    tables
}

/// A path that the system would not open, by the reason it gave.
fn unreachable(path: &Path, source: std::io::Error) -> SourceError {
    match source.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => {
            SourceError::NoSuchPath(path.to_path_buf())
        }
        _ => SourceError::Unreachable { path: path.to_path_buf(), source },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_is_not_a_misspelling() {
        // Tests may run as a user whom nothing refuses, so the mapping itself is what is tested.
        let refused = unreachable(Path::new("a"), ErrorKind::PermissionDenied.into());
        assert!(matches!(refused, SourceError::Unreachable { .. }));
        assert!(refused.hint().is_some_and(|hint| hint.contains("permissions")));
        let missing = unreachable(Path::new("a"), ErrorKind::NotFound.into());
        assert!(matches!(missing, SourceError::NoSuchPath(_)));
    }

    #[test]
    fn endings_are_known_in_any_case() {
        assert!(is_table(Path::new("a/b.PARQUET")) && is_table(Path::new("c.arrows")));
        assert!(!is_table(Path::new("a/b.csv")) && !is_table(Path::new("parquet")));
        assert!(is_alone(Path::new("a/b.CSV.gz")) && !is_alone(Path::new(".csv")));
    }
}
