//! One recording as Parquet, CSV, TSV and JSON Lines, written by polars for Python (the reference of
//! these formats here), plain and packed: the same readings.

use std::path::Path;
use std::process::Command;

use serde_json::Value;
use teleassay::demo::{Fault, Layout, Recipe, WriteOptions, write};

use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::python::python;

/// Writes the table of a folder in every form of text into folders of their names.
const WRITER: &str = "
import gzip, sys, pathlib, polars, pyarrow as pa
source, target = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
# Text keeps all digits of 64 bits: the reference holds the same numbers.
def wide(name, narrow, kind):
    table = polars.read_parquet(source / name / '*.parquet')
    for file in (source / name).glob('*.parquet'):
        file.unlink()
    table = table.with_columns(polars.col(narrow).cast(kind))
    table.write_parquet(source / name / 'part-0.parquet')
    return table
flat = wide('scalars', polars.Float32, polars.Float64)
lists = wide('lists', polars.List(polars.Float32), polars.List(polars.Float64))
def place(name):
    folder = target / name.replace('.', '-')
    folder.mkdir()
    return folder / ('part-0.' + name)
flat.write_csv(place('csv'))
flat.write_csv(place('tsv'), separator='\\t')
lists.write_ndjson(place('jsonl'))
text = (target / 'csv' / 'part-0.csv').read_bytes()
with gzip.open(place('csv.gz'), 'wb') as out:
    out.write(text)
with pa.CompressedOutputStream(str(place('csv.zst')), 'zstd') as out:
    out.write(text)
comma = flat.write_csv(separator=';').replace('.', ',')
place('comma.csv').write_text(comma)
";

pub(super) fn readings(card: &Value) -> Vec<(String, String, i64, f64)> {
    let of = |episode: &Value| -> Vec<(String, String, i64, f64)> {
        let joints = card["rig"]["joints"].as_array().cloned().unwrap_or_default();
        let place = |name: &Value| joints.iter().position(|joint| joint["name"] == *name);
        let all = episode["readings"].as_array().cloned().unwrap_or_default();
        let one = |r: &Value| {
            let text = |key: &str| r[key].as_str().unwrap_or_default().to_owned();
            let joint = place(&r["joint"]).map_or(-1, |at| at as i64);
            (text("check"), text("metric"), joint, r["value"].as_f64().unwrap_or(f64::NAN))
        };
        all.iter().map(one).collect()
    };
    card["episodes"].as_array().into_iter().flatten().flat_map(of).collect()
}

#[test]
fn text_reads_as_parquet_does() -> Tested {
    let dir = tempfile::tempdir()?;
    let recipe = Recipe { episodes: 6, seed: 61, ..Recipe::default() }
        .with(Fault::DroppedFrames { share: 0.05, burst: 2 }, None, &[1])
        .with(Fault::LagJoint { ms: 250.0 }, Some("shoulder"), &[3]);
    for (name, layout) in [("scalars", Layout::Scalars), ("lists", Layout::List)] {
        let options = WriteOptions { layout, with_papers: false, ..WriteOptions::default() };
        write(&dir.path().join(name), &recipe, &options)?;
    }
    let texts = dir.path().join("texts");
    std::fs::create_dir(&texts)?;
    let output = Command::new(python()?)
        .args(["-c", WRITER])
        .args([dir.path(), texts.as_path()])
        .output()?;
    assert!(output.status.success(), "{}", said(&output));
    let card = |folder: &Path| scorecard(&[folder.as_os_str()]);
    let flat = readings(&card(&dir.path().join("scalars"))?);
    let lists = readings(&card(&dir.path().join("lists"))?);
    assert!(flat.len() > 300);
    for name in ["csv", "tsv", "csv-gz", "csv-zst", "comma-csv", "jsonl"] {
        let found = card(&texts.join(name))?;
        assert_eq!(found["unread"], Value::Array(Vec::new()), "{name}");
        let (found, wanted) = (readings(&found), if name == "jsonl" { &lists } else { &flat });
        assert_eq!(found.len(), wanted.len(), "{name}");
        for (ours, theirs) in found.iter().zip(wanted) {
            assert_eq!((&ours.0, &ours.1, ours.2), (&theirs.0, &theirs.1, theirs.2), "{name}");
            assert_eq!(ours.3, theirs.3, "{name}: {ours:?} {theirs:?}");
        }
    }
    Ok(())
}

/// Next to Parquet, text is something else: notes, an export.
#[test]
fn text_next_to_tables_is_passed_over() -> Tested {
    let dir = tempfile::tempdir()?;
    let options = WriteOptions { with_papers: false, ..WriteOptions::default() };
    write(dir.path(), &Recipe { episodes: 2, seed: 62, ..Recipe::default() }, &options)?;
    std::fs::write(dir.path().join("notes.csv"), "who,what\nada,\"first try\"\n")?;
    let card = scorecard(&[dir.path()])?;
    assert_eq!(card["unread"], Value::Array(Vec::new()));
    assert_eq!(card["session"]["episodes"], 2);
    assert!(card["skipped"].to_string().contains("csv"), "{}", card["skipped"]);
    Ok(())
}

/// One large text is parsed in as many parts as there are threads.
#[test]
fn a_large_text_is_the_same_with_one_thread_and_with_two() -> Tested {
    let dir = tempfile::tempdir()?;
    let row = |at: usize| {
        let (episode, time_s) = (at / 600, (at % 600) as f64 / 30.0);
        let angle = |late: f64| (0.7 * (time_s - late) + episode as f64).sin();
        format!("{episode},{time_s:.4},{:.6},{:.6}\n", angle(0.08), angle(0.0))
    };
    let names = std::iter::once("episode,time,follower,leader\n".to_owned());
    let text: String = names.chain((0..60_000).map(row)).collect();
    std::fs::write(dir.path().join("all.csv"), text)?;
    let card = |threads: &str| {
        scorecard(&["--threads".as_ref(), threads.as_ref(), dir.path().as_os_str()])
    };
    let (one, two) = (card("1")?, card("2")?);
    assert_eq!(one["session"]["episodes"], 100);
    assert_eq!(one, two);
    Ok(())
}

/// Each of many files is parsed by polars in its own pool: threads that took up the next file while they
/// waited for it ran out of stack between 500 and 1,000 files.
#[test]
fn a_folder_of_many_text_files_is_read() -> Tested {
    let dir = tempfile::tempdir()?;
    let row = |at: usize| {
        let (time_s, angle) = (at as f64 / 30.0, (at as f64 * 0.1).sin());
        format!("{time_s:.4},{angle:.4},{angle:.4}\n")
    };
    let text: String =
        std::iter::once("time,follower,leader\n".to_owned()).chain((0..30).map(row)).collect();
    for file in 0..1_500 {
        std::fs::write(dir.path().join(format!("{file:04}.csv")), &text)?;
    }
    let card = scorecard(&["--threads".as_ref(), "2".as_ref(), dir.path().as_os_str()])?;
    assert_eq!(card["unread"], Value::Array(Vec::new()));
    assert_eq!(card["session"]["episodes"], 1_500);
    Ok(())
}

/// Damaged text is one clear line each, with file and place.
#[test]
fn damaged_text_is_named() -> Tested {
    let cases: [(&str, &[u8], &str); 6] = [
        ("a.csv", b"time,follower_0\n0.0,1.0\n0.1,1.0,2.0\n", "a.csv"),
        ("b.csv", b"0.0,1.0\n0.1,1.1\n", "no line of names"),
        ("c.jsonl", b"{\"time\": 0}\n{\"time\": \n", "line 2 is no JSON object"),
        ("d.jsonl", b"{\"time\": 0}\n{\"time\": \"late\"}\n", "column \"time\", row 2: is a text"),
        ("e.csv.gz", b"\x1f\x8b\x08\x00cut", "cannot be unpacked"),
        ("f.csv", b"time,follower\n0.0,\"[1, 2]\"\n0.1,\"[1, a]\"\n", "row 2: is no JSON array"),
    ];
    for (name, bytes, wanted) in cases {
        let dir = tempfile::tempdir()?;
        std::fs::write(dir.path().join(name), bytes)?;
        let output = run(&["audit".as_ref(), dir.path().as_os_str()])?;
        assert_eq!(output.status.code(), Some(2), "{name}: {}", said(&output));
        let text = said(&output);
        assert!(text.contains(name) && text.contains(wanted), "{name}: {text}");
    }
    Ok(())
}
