//! How files that this tool wrote are recognised: they are no recordings, wherever they lie.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use parquet::file::metadata::FileMetaData;

/// A kind of file that this tool writes, by the key in its Parquet metadata.
struct Kind {
    key: &'static str,
    what: &'static str,
}

/// Every kind of Parquet file.
static KINDS: &[Kind] = &[
    Kind { key: "teleassay.scorecard", what: MEASUREMENTS },
    Kind { key: "teleassay.findings", what: "is a table of findings" },
    Kind { key: "teleassay.list", what: "is a list of episodes" },
];

/// What is said of a measurements file.
pub(in crate::source) const MEASUREMENTS: &str = "is a measurements file";

/// How the tables that this tool writes as CSV begin: measurements, findings, lists.
pub const CSV_HEADS: [&str; 3] = [
    "episode,task,frames,duration_s,verdict,worst_check,worst_joint",
    "scope,episode,path,first_row,end_row,task,severity,check",
    "list,episode,path,first_row,end_row,task,frames",
];

/// How the answer key of a simulated session begins.
const ANSWERS: &str = "teleassay/answers/";

/// How the lines of a report begin: an episode, or the session where there is none.
const LINES: [&str; 2] =
    ["{\"kind\":\"episode\",\"episode\":\"", "{\"kind\":\"session\",\"episode\":null,\"source\":"];

/// A file of text that this tool wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::source) enum Text {
    /// Something that it found.
    Output(&'static str),
    /// The answer key of its simulated sessions.
    Answers,
}

/// What a Parquet file is, if this tool wrote it.
pub(in crate::source) fn of_parquet(metadata: &FileMetaData) -> Option<&'static str> {
    let pairs = metadata.key_value_metadata()?;
    let known = |kind: &&Kind| pairs.iter().any(|pair| pair.key == kind.key);
    KINDS.iter().find(known).map(|kind| kind.what)
}

/// What a file of text is by its first bytes, if this tool wrote it.
pub(in crate::source) fn of_head(head: &[u8]) -> Option<Text> {
    let head = match std::str::from_utf8(head) {
        Ok(head) => head,
        // A cut sign at the end.
        Err(error) => std::str::from_utf8(&head[..error.valid_up_to()]).unwrap_or_default(),
    };
    if CSV_HEADS.iter().any(|known| head.starts_with(known)) {
        return Some(Text::Output("is a table of this tool"));
    }
    if head.contains("<testsuites name=\"teleassay\"") {
        return Some(Text::Output("is a JUnit report of this tool"));
    }
    if LINES.iter().any(|known| head.starts_with(known)) {
        return Some(Text::Output("is a report of this tool"));
    }
    let json = head.strip_prefix('{')?.trim_start().strip_prefix("\"schema\":")?;
    let schema = json.trim_start().strip_prefix('"')?;
    if schema.starts_with(ANSWERS) {
        return Some(Text::Answers);
    }
    schema.starts_with("teleassay/").then_some(Text::Output("is a report of this tool"))
}

/// The same of a file; none where it cannot be opened.
pub(in crate::source) fn of_text(path: &Path) -> Option<Text> {
    let mut head = [0; 160];
    // A pipe waits for its writer when it is opened.
    let mut file = path.is_file().then(|| File::open(path).ok())??;
    let mut read = 0;
    while let Ok(more @ 1..) = file.read(&mut head[read..]) {
        read += more;
    }
    of_head(&head[..read])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reports_are_recognised_and_other_texts_are_not() {
        let of = |text: &str| of_head(text.as_bytes());
        for own in [
            "{\n  \"schema\": \"teleassay/scorecard/1\",\n",
            "{\"schema\":\"teleassay/comparison/1\"",
            "<?xml version=\"1.0\"?>\n<testsuites name=\"teleassay\" tests=\"3\"",
            "{\"kind\":\"episode\",\"episode\":\"17\",\"source\":{\"path\":",
            "{\"kind\":\"session\",\"episode\":null,\"source\":null",
            CSV_HEADS[1],
        ] {
            assert!(matches!(of(own), Some(Text::Output(_))), "{own}");
        }
        assert_eq!(of("{\n  \"schema\": \"teleassay/answers/1\""), Some(Text::Answers));
        for other in [
            "",
            "episode,task\n",
            "{\"schema\": \"other/1\"}",
            "teleassay",
            "{}",
            "{\"kind\":\"a\"}",
        ] {
            assert_eq!(of(other), None, "{other}");
        }
        assert!(of_head(b"{\"schema\": \"teleassay/list/1\", \"a\": \"\xe2\x82").is_some());
    }
}
