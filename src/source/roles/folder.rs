//! What a file's folders say: hive-style `key=value` keys, and how ids are made unique by folder.

use std::path::{Component, Path, PathBuf};

use crate::model::name_text;

/// The `key=value` pairs among a file's folders, outermost first.
pub(in crate::source) fn hive_keys(file: &Path) -> impl Iterator<Item = (String, String)> + '_ {
    let folders = file.parent().into_iter().flat_map(Path::components);
    folders.filter_map(|c| {
        let text = name_text(c.as_os_str());
        let (key, value) = text.split_once('=')?;
        (!key.is_empty()).then(|| (key.to_string(), value.to_string()))
    })
}

/// A file's folder without the `key=value` part of one key: where its episodes live.
pub(in crate::source) fn folder_of(file: &Path, without_key: Option<&str>) -> PathBuf {
    let folders = file.parent().into_iter().flat_map(Path::components);
    folders
        .filter(|c| {
            let text = c.as_os_str().to_string_lossy();
            let key = text.split_once('=').map(|(key, _)| key);
            key.is_none() || key != without_key
        })
        .collect()
}

/// What of a path lies below a folder.
pub(in crate::source) fn below<'a>(path: &'a Path, folder: &Path) -> &'a Path {
    path.strip_prefix(folder).unwrap_or(path)
}

/// A path with the same separators on every system.
pub(in crate::source) fn slashed(path: &Path) -> String {
    let parts = path.components().filter(|part| !matches!(part, Component::CurDir));
    parts.map(|part| name_text(part.as_os_str())).collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_come_from_folders_only() {
        let file = Path::new("data/session=a/episode=7/part=1.parquet");
        let keys: Vec<_> = hive_keys(file).collect();
        let pair = |k: &str, v: &str| (k.to_string(), v.to_string());
        assert_eq!(keys, [pair("session", "a"), pair("episode", "7")]);
        assert_eq!(folder_of(file, Some("episode")), Path::new("data/session=a"));
        assert_eq!(folder_of(file, None), Path::new("data/session=a/episode=7"));
    }

    #[test]
    fn what_lies_below_a_folder_is_written_alike_everywhere() {
        let below = |path, folder| slashed(below(Path::new(path), Path::new(folder)));
        assert_eq!(below("data/a/x", "data"), "a/x");
        assert_eq!(below("./a/x", "."), "a/x");
        assert_eq!(below("data", "data"), "");
        assert_eq!(below("elsewhere/a", "data"), "elsewhere/a");
    }
}
