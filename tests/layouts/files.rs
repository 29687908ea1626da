//! One recording as Parquet, `NumPy` and MCAP, a file for each episode, by the reference writers of
//! these formats (numpy 2.4, mcap 1.6 with mcap-ros2-support and mcap-protobuf-support 0.6): the same
//! readings.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use teleassay::demo::{Fault, Layout, Recipe, WriteOptions, write};

use super::text::readings;
use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::python::python;

const WRITER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/layouts/files.py");

/// Writes a session of five episodes in every format below `dir`.
fn written(dir: &Path) -> Result<PathBuf, Box<dyn std::error::Error>> {
    let recipe = Recipe { episodes: 5, seed: 63, ..Recipe::default() }
        .with(Fault::DroppedFrames { share: 0.05, burst: 2 }, None, &[1])
        .with(Fault::LagJoint { ms: 250.0 }, Some("shoulder"), &[3]);
    let layout = Layout::Scalars;
    let options = WriteOptions { layout, with_papers: false, ..WriteOptions::default() };
    let source = dir.join("source");
    write(&source, &recipe, &options)?;
    let out = dir.join("files");
    std::fs::create_dir(&out)?;
    let output = Command::new(python()?)
        .args([Path::new(WRITER), &source.join("part-0.parquet"), &out])
        .output()?;
    assert!(output.status.success(), "{}", said(&output));
    Ok(out)
}

#[test]
fn arrays_and_message_logs_read_as_parquet_does() -> Tested {
    let dir = tempfile::tempdir()?;
    let out = written(dir.path())?;
    for (reference, names) in [
        ("parquet", &["npz", "npy", "mcap-cdr", "mcap-json", "mcap-protobuf"][..]),
        ("parquet-vectors", &["npz-vectors"]),
    ] {
        let wanted = scorecard(&[out.join(reference)])?;
        let of_reference = readings(&wanted);
        assert!(of_reference.len() > 250);
        for name in names {
            let found = scorecard(&[out.join(name)])?;
            assert_eq!(found["unread"], Value::Array(Vec::new()), "{name}");
            assert_eq!(found["session"]["counts"], wanted["session"]["counts"], "{name}");
            let found = readings(&found);
            assert_eq!(found.len(), of_reference.len(), "{name}");
            for (ours, theirs) in found.iter().zip(&of_reference) {
                assert_eq!(ours, theirs, "{name}");
            }
        }
    }
    Ok(())
}

/// What a log or an archive holds besides is named, and how topics were put together is said.
#[test]
fn what_is_not_read_is_shown() -> Tested {
    let dir = tempfile::tempdir()?;
    let out = written(dir.path())?;
    let shown = |name: &str| -> Result<String, Box<dyn std::error::Error>> {
        let output = run(&["columns".as_ref(), out.join(name).as_os_str()])?;
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        Ok(String::from_utf8_lossy(&output.stdout).into_owned())
    };
    let text = shown("npz")?;
    assert!(text.contains("images") && text.contains("2 x 2"), "{text}");
    assert!(text.contains("its values are not read"), "{text}");
    let text = shown("mcap-cdr")?;
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("last message at or before each frame (by stamp)"), "{text}");
    assert!(words.contains("0.0 ms in the median"), "{text}");
    Ok(())
}

/// Damaged files are one clear line each, and the good ones next to them are audited.
#[test]
fn damaged_files_are_named() -> Tested {
    let dir = tempfile::tempdir()?;
    let out = written(dir.path())?;
    for (name, ending, words) in [
        ("npz", "npz", "no zip archive"),
        ("npy", "npy", "bytes: the file is damaged or cut short"),
        ("mcap-cdr", "mcap", "message log"),
        ("mcap-json", "mcap", "message log"),
    ] {
        let folder = out.join(name);
        let damaged = folder.join(format!("episode-2.{ending}"));
        let bytes = std::fs::read(&damaged)?;
        std::fs::write(&damaged, &bytes[..bytes.len() / 2])?;
        let card = scorecard(&[&folder])?;
        assert_eq!(card["session"]["episodes"], 4, "{name}");
        let unread = card["unread"].as_array().ok_or("no list")?;
        assert_eq!(unread.len(), 1, "{name}");
        let text = unread[0].to_string();
        assert!(text.contains("episode-2") && text.contains(words), "{name}: {text}");
    }
    Ok(())
}

fn piped(args: &[&str], bytes: &[u8]) -> Result<Output, Box<dyn std::error::Error>> {
    let mut child = Command::new(assert_cmd::cargo::cargo_bin("teleassay"))
        .args(args)
        .env("NO_COLOR", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()?;
    let mut stdin = child.stdin.take().ok_or("no standard input")?;
    stdin.write_all(bytes)?;
    drop(stdin);
    Ok(child.wait_with_output()?)
}

/// Any program can pipe frames in, here an Arrow IPC stream by pyarrow.
#[test]
fn standard_input_is_a_dataset() -> Tested {
    let dir = tempfile::tempdir()?;
    let out = written(dir.path())?;
    let file = out.join("parquet/episode-1.parquet");
    let script = "import sys, pyarrow as pa, pyarrow.parquet as pq\n\
        table = pq.read_table(sys.argv[1])\n\
        with pa.ipc.new_stream(sys.stdout.buffer, table.schema) as out: out.write_table(table)";
    let stream = Command::new(python()?).args(["-c", script]).arg(&file).output()?.stdout;
    assert!(stream.len() > 1000);
    let args = ["audit", "-", "--format", "json", "--json-detail", "full"];
    let output = piped(&args, &stream)?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    let found: Value = serde_json::from_slice(&output.stdout)?;
    assert_eq!(found["episodes"][0]["episode"], "stdin");
    let wanted = scorecard(&[&file])?;
    assert_eq!(readings(&found), readings(&wanted));
    assert!(!readings(&found).is_empty());
    let output = piped(&args, b"")?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("standard input (-) is empty"), "{}", said(&output));
    let output = piped(&args, b"episode,time\n")?;
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    Ok(())
}
