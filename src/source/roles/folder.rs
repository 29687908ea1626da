//! What a file's folders say: hive-style `key=value` keys, and how ids are made unique by folder.

use std::path::{Path, PathBuf};

/// The `key=value` pairs among a file's folders, outermost first.
pub(in crate::source) fn hive_keys(file: &Path) -> impl Iterator<Item = (String, String)> + '_ {
    let folders = file.parent().into_iter().flat_map(Path::components);
    folders.filter_map(|c| {
        let text = c.as_os_str().to_string_lossy();
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

/// The folder that all of these share; what is shown of a folder is what lies below it.
pub(in crate::source) fn common_folder<'a>(folders: impl IntoIterator<Item = &'a Path>) -> PathBuf {
    let mut folders = folders.into_iter();
    let mut common = folders.next().map(Path::to_path_buf).unwrap_or_default();
    for folder in folders {
        while !folder.starts_with(&common) && common.pop() {}
    }
    common
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
    fn the_shared_folder_is_found() {
        let folders = ["d/a/x", "d/a", "d/b"].map(Path::new);
        assert_eq!(common_folder(folders), Path::new("d"));
    }
}
