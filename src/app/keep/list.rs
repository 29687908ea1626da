//! Lists of episodes that a person names: ids, or files with ids, also those that an audit wrote.

use std::collections::HashSet;
use std::path::Path;

use serde_json::Value;

use crate::app::AppError;
use crate::model::name_bytes;
use crate::profile::nearest;
use crate::source::text_file;

/// What is stated in a file or on the command line about each episode: ids, as bytes of a line.
#[derive(Debug, Default)]
pub(super) struct Listed {
    ids: Vec<Vec<u8>>,
    /// Where they come from, for an error.
    from: String,
}

impl Listed {
    /// Reads ids, and files with ids.
    pub fn read(option: &str, named: &[String]) -> Result<Option<Self>, AppError> {
        if named.is_empty() {
            return Ok(None);
        }
        let mut listed = Self { ids: Vec::new(), from: option.to_owned() };
        for name in named {
            let path = Path::new(name);
            if path.is_file() {
                listed.ids.extend(of_file(path)?);
            } else {
                listed.ids.push(name.trim().as_bytes().to_vec());
            }
        }
        Ok(Some(listed))
    }

    /// Which of these ids are listed; an error where one is listed that is not there.
    pub fn among(&self, ids: &[&str]) -> Result<Vec<bool>, AppError> {
        let wanted: HashSet<&[u8]> = self.ids.iter().map(Vec::as_slice).collect();
        let found: Vec<bool> =
            ids.iter().map(|id| forms(id).any(|form| wanted.contains(&*form))).collect();
        let known: HashSet<Vec<u8>> = ids.iter().flat_map(|id| forms(id)).collect();
        let unknown = self.ids.iter().find(|id| !known.contains(*id));
        let Some(unknown) = unknown else { return Ok(found) };
        let text = String::from_utf8_lossy(unknown).into_owned();
        let what = format!("{}: there is no episode or file \"{text}\"", self.from);
        let near = nearest(&text, ids.iter().copied());
        let hint = near.map_or_else(
            || "ids are as `teleassay audit --format json` writes them".to_owned(),
            |near| format!("did you mean \"{near}\"?"),
        );
        Err(AppError::input(what).with_hint(hint))
    }
}

/// How an id may be written: as reports do, and as a list of one id a line does.
fn forms(id: &str) -> impl Iterator<Item = Vec<u8>> + use<> {
    let mut line = Vec::new();
    for byte in name_bytes(id).iter() {
        match byte {
            b'\n' | b'\r' => line.extend(format!("\\x{byte:02x}").bytes()),
            _ => line.push(*byte),
        }
    }
    [id.as_bytes().to_vec(), line].into_iter()
}

fn of_file(path: &Path) -> Result<Vec<Vec<u8>>, AppError> {
    let wrong = |what: &str, hint: &str| {
        Err(AppError::input(format!("{}: {what}", path.display())).with_hint(hint.to_owned()))
    };
    let bytes = read(path)?;
    if bytes.starts_with(b"PAR1") {
        return wrong("is a Parquet list", "write the list as .txt, .csv or .json");
    }
    let text = bytes.trim_ascii_start();
    if text.starts_with(b"{") {
        let Ok(document) = serde_json::from_slice::<Value>(text) else {
            return wrong("is no JSON document", "write the list again, or one id a line");
        };
        let episodes = document["episodes"].as_array();
        let ids = episodes.into_iter().flatten().filter_map(|one| one["episode"].as_str());
        return Ok(ids.map(|id| id.as_bytes().to_vec()).collect());
    }
    let mut lines = lines(&bytes);
    let head: Vec<String> = lines.first().map(|line| cells(line)).unwrap_or_default();
    if let Some(column) = head.iter().position(|name| name == "episode") {
        let rows = lines.drain(1..).map(|line| cells(&line));
        let ids = rows.filter_map(|row| row.into_iter().nth(column));
        return Ok(ids.map(String::into_bytes).collect());
    }
    Ok(lines)
}

/// The bytes of a list.
pub(super) fn read(path: &Path) -> Result<Vec<u8>, AppError> {
    text_file::bytes(path).map_err(|error| {
        let what = format!("{}: cannot be read: {error}", path.display());
        AppError::input(what).with_hint("check the spelling and the permissions")
    })
}

fn lines(bytes: &[u8]) -> Vec<Vec<u8>> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let lines = bytes.split(|byte| *byte == b'\n');
    let lines = lines.map(|line| line.strip_suffix(b"\r").unwrap_or(line));
    lines.filter(|line| !line.is_empty()).map(<[u8]>::to_vec).collect()
}

/// The cells of a line of CSV; quotes may hold commas.
pub(super) fn cells(line: &[u8]) -> Vec<String> {
    let text = String::from_utf8_lossy(line);
    let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        match sign {
            '"' if quoted && signs.peek() == Some(&'"') => {
                cell.push('"');
                signs.next();
            }
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(std::mem::take(&mut cell)),
            other => cell.push(other),
        }
    }
    cells.push(cell);
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_come_from_words_lines_tables_and_documents() -> Result<(), Box<dyn std::error::Error>> {
        let folder = tempfile::tempdir()?;
        let ids = ["0", "a, b", "day/7", "12"];
        let of = |name: &str, text: &str| -> Result<Vec<bool>, Box<dyn std::error::Error>> {
            let path = folder.path().join(name);
            std::fs::write(&path, text)?;
            let listed = Listed::read("--episodes", &[path.display().to_string()])?;
            Ok(listed.ok_or("none")?.among(&ids)?)
        };
        let wanted = [false, true, false, true];
        assert_eq!(of("a.txt", "a, b\r\n12\r\n")?, wanted);
        assert_eq!(of("a.csv", "list,episode,path\nkeep,\"a, b\",x\nkeep,12,y\n")?, wanted);
        let json = r#"{"schema": "teleassay/list/1", "episodes": [{"episode": "a, b"}, {"episode": "12"}]}"#;
        assert_eq!(of("a.json", json)?, wanted);
        let words = Listed::read("--episodes", &["12".to_owned(), "day/7".to_owned()])?;
        assert_eq!(words.ok_or("none")?.among(&ids)?, [false, false, true, true]);
        let words = Listed::read("--episodes", &["day/8".to_owned()])?.ok_or("none")?;
        let error = words.among(&ids).err().ok_or("an error")?;
        assert_eq!(error.hint(), Some("did you mean \"day/7\"?"));
        Ok(())
    }
}
