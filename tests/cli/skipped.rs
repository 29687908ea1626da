//! Files next to recordings that are none, and tables of other columns.

use std::error::Error;
use std::fs;
use std::process::{Command, Output};
use std::sync::Arc;

use arrow::array::{Float64Array, RecordBatch};
use parquet::arrow::ArrowWriter;
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said};
use crate::support::card::list;

fn session() -> Result<TempDir, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("s").to_string_lossy().into_owned();
    let output = run(&["demo", &place, "--episodes", "8"])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    Ok(dir)
}

fn ran(dir: &TempDir, args: &[&str]) -> Result<Output, Box<dyn Error>> {
    let program = assert_cmd::cargo::cargo_bin!("teleassay");
    Ok(Command::new(program).current_dir(dir.path()).args(args).output()?)
}

fn report(dir: &TempDir, args: &[&str]) -> Result<Value, Box<dyn Error>> {
    let output = ran(dir, &[args, &["--format", "json"]].concat())?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    Ok(serde_json::from_slice(&output.stdout)?)
}

#[test]
fn other_files_are_counted_and_own_files_are_known() -> Tested {
    let dir = session()?;
    let before = report(&dir, &["audit", "s"])?;
    // The profile and the answer key of the demo are no surprise.
    assert_eq!(before["skipped"], json!({"kinds": [], "own": []}));
    let plain = String::from_utf8(ran(&dir, &["audit", "s"])?.stdout)?;
    assert!(!plain.contains("skipped:"), "{plain}");
    for number in 0..12 {
        fs::write(dir.path().join(format!("s/notes-{number}.csv")), "a,b\n1,2\n")?;
    }
    fs::write(dir.path().join("s/README"), "how it was recorded")?;
    fs::write(dir.path().join("s/wrist.MP4"), [0, 1, 2])?;
    let written = [
        ("--out-json", "r.json"),
        ("--out-measurements", "m.parquet"),
        ("--out-findings", "f.parquet"),
        ("--out-findings", "f.csv"),
        ("--out-measurements", "m.csv"),
        ("--out-keep-list", "keep.parquet"),
        ("--out-drop-list", "drop.json"),
        ("--out-drop-list", "drop.csv"),
        ("--out-junit", "junit.xml"),
    ];
    for (option, name) in written {
        let path = format!("s/{name}");
        let output = ran(&dir, &["audit", "s", "-q", option, &path])?;
        assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    }
    let after = report(&dir, &["audit", "s"])?;
    assert_eq!(after["session"], before["session"]);
    assert_eq!((&after["unread"], &after["different_columns"]), (&json!([]), &json!([])));
    let kinds = json!([
        {"ending": "csv", "files": 12},
        {"ending": "", "files": 1},
        {"ending": "mp4", "files": 1},
    ]);
    assert_eq!(after["skipped"]["kinds"], kinds);
    let mut own: Vec<String> = written.iter().map(|(_, name)| format!("s/{name}")).collect();
    own.sort();
    assert_eq!(after["skipped"]["own"], json!(own));
    let output = ran(&dir, &["audit", "s"])?;
    let text = String::from_utf8(output.stdout)?;
    let words: Vec<&str> = text.split_whitespace().collect();
    let words = words.join(" ");
    assert!(words.contains("skipped: 12 csv, 1 without an ending, 1 mp4"), "{text}");
    let text = String::from_utf8(ran(&dir, &["columns", "s"])?.stdout)?;
    assert!(text.contains("skipped  12 csv"), "{text}");
    // A later judgement says the same.
    ran(&dir, &["audit", "s", "-q", "--out-measurements", "m.parquet"])?;
    assert_eq!(report(&dir, &["judge", "m.parquet"])?["skipped"], after["skipped"]);
    Ok(())
}

#[test]
fn what_this_tool_wrote_is_not_audited() -> Tested {
    let dir = session()?;
    let files =
        ["--out-measurements", "m.parquet", "--out-json", "r.json", "--out-findings", "f.csv"];
    ran(&dir, &[&["audit", "s", "-q"], &files[..]].concat())?;
    for (file, what, hint) in [
        (
            "m.parquet",
            "is a measurements file, not a recording",
            "use judge: teleassay judge m.parquet",
        ),
        ("r.json", "is a report of this tool, not a recording", "name the recordings"),
        ("f.csv", "is a table of this tool, not a recording", "name the recordings"),
    ] {
        let output = ran(&dir, &["audit", file])?;
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        let text = said(&output);
        assert!(text.contains(&format!("{file}: {what}")) && text.contains(hint), "{text}");
    }
    // Next to recordings it is passed over, also where a shell names it.
    let found = report(&dir, &["audit", "s/part-0.parquet", "m.parquet", "r.json"])?;
    assert_eq!(found["skipped"]["own"], json!(["m.parquet", "r.json"]));
    assert_eq!(found["unread"], json!([]));
    Ok(())
}

#[test]
fn other_columns_are_no_damage() -> Tested {
    let dir = session()?;
    let values = Float64Array::from(vec![1.0, 2.0]);
    let batch = RecordBatch::try_from_iter([("weight", Arc::new(values) as _)])?;
    let mut writer = ArrowWriter::try_new(
        fs::File::create(dir.path().join("s/scale.parquet"))?,
        batch.schema(),
        None,
    )?;
    writer.write(&batch)?;
    writer.close()?;
    fs::write(dir.path().join("s/cut.parquet"), "PAR1 and no more")?;
    let found = report(&dir, &["audit", "s", "--fail-on", "never"])?;
    let paths = |key: &str| list(&found, key).iter().map(|f| f["path"].clone()).collect::<Vec<_>>();
    assert_eq!(paths("different_columns"), ["s/scale.parquet"]);
    assert_eq!(paths("unread"), ["s/cut.parquet"]);
    let output = ran(&dir, &["audit", "s", "--fail-on", "never"])?;
    // Neither was checked, and that is never a pass.
    assert_eq!(output.status.code(), Some(1));
    let text = String::from_utf8(output.stdout)?;
    for line in ["different columns: s/scale.parquet", "not read: s/cut.parquet"] {
        assert!(text.contains(line), "{text}");
    }
    let text = String::from_utf8(ran(&dir, &["audit", "s", "--all"])?.stdout)?;
    for line in ["different columns, so not audited:", "not read, so not audited:"] {
        assert!(text.contains(line), "{text}");
    }
    let plain = String::from_utf8(ran(&dir, &["audit", "s", "--plain"])?.stdout)?;
    assert!(plain.contains("\ndifferent-columns\ts/scale.parquet\t"), "{plain}");
    Ok(())
}
