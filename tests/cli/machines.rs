//! Files for machines, through the binary on the demo session: read by `DuckDB`, pandas and polars in
//! one line each, small by default, and the same whoever reads them.

use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

use super::schema::faults;
use crate::support::binary::{Tested, run, said};
use crate::support::card::list;
use crate::support::python::python;

/// A folder with a demo session `s`.
fn session(episodes: &str) -> Result<TempDir, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("s");
    let output = run(&["demo", &place.to_string_lossy(), "--episodes", episodes])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    Ok(dir)
}

/// Runs a command in a folder that must judge something, and gives what it printed.
fn ran(dir: &Path, args: &[&str]) -> Result<String, Box<dyn Error>> {
    let program = assert_cmd::cargo::cargo_bin!("teleassay");
    let output = Command::new(program).current_dir(dir).args(args).output()?;
    let code = output.status.code();
    assert!(matches!(code, Some(0 | 1)), "exit {code:?} of {args:?}: {}", said(&output));
    Ok(String::from_utf8(output.stdout)?)
}

/// Runs a script of Python in a folder, and gives what it printed.
fn script(dir: &Path, text: &str) -> Result<Value, Box<dyn Error>> {
    let output = Command::new(python()?).current_dir(dir).args(["-c", text]).output()?;
    assert!(output.status.success(), "{}", said(&output));
    Ok(serde_json::from_slice(&output.stdout)?)
}

/// Each file in one line of each library. `DuckDB` 2.0, pandas 3.1 and polars 2.1, none of them ours.
const READ: &str = r#"
import json
import duckdb, pandas, polars

failed = {}
q = lambda text: duckdb.sql(text).fetchall()
ids = lambda rows: sorted(str(row[0]) for row in rows)

failed["duckdb lines"] = ids(q("select episode from 'r.jsonl' where verdict = 'fail'"))
failed["duckdb findings"] = ids(q("select distinct episode from 'f.parquet' where severity = 'fail' and scope = 'episode'"))
failed["duckdb findings csv"] = ids(q("select distinct episode from 'f.csv' where severity = 'fail' and scope = 'episode'"))
failed["duckdb drop list"] = ids(q("select episode from 'drop.parquet'"))
failed["duckdb report"] = ids(q("select e.episode from (select unnest(episodes) as e from 'r.json') where e.verdict = 'fail'"))
session = q("select report.session.verdict from 'r.jsonl' where kind = 'session'")

lines = pandas.read_json("r.jsonl", lines=True, dtype={"episode": str})
failed["pandas lines"] = sorted(lines[lines.verdict == "fail"].episode)
table = pandas.read_parquet("f.parquet")
failed["pandas findings"] = sorted(table[(table.severity == "fail") & (table.scope == "episode")].episode.unique())
table = pandas.read_csv("drop.csv", dtype={"episode": str})
failed["pandas drop list"] = sorted(table.episode)

lines = polars.read_ndjson("r.jsonl", infer_schema_length=None)
failed["polars lines"] = sorted(lines.filter(polars.col("verdict") == "fail")["episode"])
table = polars.read_parquet("f.parquet")
failed["polars findings"] = sorted(table.filter(polars.col("severity") == "fail", polars.col("scope") == "episode")["episode"].unique())

rows = {
    "duckdb": q("select count(*) from 'm.parquet'")[0][0],
    "pandas": len(pandas.read_parquet("m.parquet")),
    "polars": polars.read_parquet("m.parquet").height,
    "csv": len(pandas.read_csv("m.csv")),
    "trim": q("select count(*) from 'keep.parquet' where len(trim) > 0")[0][0],
    "spans": q("select count(*) from (select unnest(spans) as s from 'f.parquet') where s.end_frame > s.first_frame")[0][0],
}
print(json.dumps({"failed": failed, "session": session[0][0], "rows": rows}))
"#;

#[test]
fn duckdb_pandas_and_polars_read_every_file_in_a_line() -> Tested {
    let dir = session("40")?;
    let dir = dir.path();
    let files = ["--out-json", "r.json", "--out-findings", "f.parquet", "--out-measurements"];
    let lists = ["m.parquet", "--out-keep-list", "keep.parquet", "--out-drop-list", "drop.parquet"];
    // Half a second of stillness is little: many episodes have something to trim.
    fs::write(dir.join("p.toml"), "[limits.idle-time]\nidle_head = { warn = 0.5 }\n")?;
    let audit = ["audit", "s", "--profile", "p.toml"];
    let printed = ["--format", "jsonl"];
    let lines = ran(dir, &[&audit[..], &printed, &files, &lists].concat())?;
    fs::write(dir.join("r.jsonl"), lines)?;
    let csv =
        ["--out-findings", "f.csv", "--out-measurements", "m.csv", "--out-drop-list", "drop.csv"];
    ran(dir, &[&audit[..], &["--out-keep-list", "keep.json"], &csv].concat())?;
    let read = script(dir, READ)?;

    let report: Value = serde_json::from_str(&fs::read_to_string(dir.join("r.json"))?)?;
    let bad = list(&report, "episodes").iter().filter(|e| e["verdict"] == "fail");
    let mut bad: Vec<Value> = bad.map(|e| e["episode"].clone()).collect();
    bad.sort_by_key(ToString::to_string);
    assert!(bad.len() >= 8, "{bad:?}");
    let failed = read["failed"].as_object().ok_or("nothing read")?;
    assert_eq!(failed.len(), 10);
    for (way, ids) in failed {
        let mut ids = ids.as_array().cloned().unwrap_or_default();
        ids.sort_by_key(ToString::to_string);
        assert_eq!(ids, bad, "{way}");
    }
    assert_eq!(read["session"], report["session"]["verdict"]);
    for rows in ["duckdb", "pandas", "polars", "csv"] {
        assert_eq!(read["rows"][rows], 40, "{rows}");
    }
    assert!(read["rows"]["spans"].as_u64() > Some(5), "{read}");

    // A list as a document keeps to its schema, and names what to trim.
    let kept: Value = serde_json::from_str(&fs::read_to_string(dir.join("keep.json"))?)?;
    let schema = serde_json::from_str(&teleassay::report::list_schema())?;
    assert_eq!(faults(&schema, &kept)?, Vec::<String>::new());
    let trimmed = list(&kept, "episodes").iter().filter(|e| !list(e, "trim").is_empty());
    let trimmed: Vec<&Value> = trimmed.collect();
    assert_eq!(read["rows"]["trim"], trimmed.len());
    assert!(trimmed.len() > 5, "{}", trimmed.len());
    for episode in &trimmed {
        assert!(episode["reasons"].to_string().contains("idle-time"), "{episode}");
        for span in list(episode, "trim") {
            let ends = |at: usize| span["frames"][at].as_u64().unwrap_or_default();
            let frames = episode["frames"].as_u64().unwrap_or_default();
            assert!(ends(0) == 0 || ends(1) == frames, "{span}");
            assert!(ends(0) < ends(1) && ends(1) <= frames, "{span}");
        }
    }
    Ok(())
}

/// 5,000 episodes in 20 MB are 4 kB for each; what concerns all of them counts once.
#[test]
fn the_usual_report_is_small_and_the_full_one_is_asked_for() -> Tested {
    let dir = session("250")?;
    let dir = dir.path();
    let size = |detail: &str| -> Result<u64, Box<dyn Error>> {
        ran(dir, &["audit", "s", "-q", "--out-json", "r.json", "--json-detail", detail])?;
        Ok(fs::metadata(dir.join("r.json"))?.len())
    };
    let (summary, findings, full) = (size("summary")?, size("findings")?, size("full")?);
    ran(dir, &["audit", "s", "-q", "--out-json", "usual.json"])?;
    assert_eq!(fs::metadata(dir.join("usual.json"))?.len(), findings);
    assert!(findings < 250 * 4000, "{findings}");
    assert!(summary < findings && findings < full / 10, "{summary} {findings} {full}");
    Ok(())
}

/// What is asked for besides must not change what a report holds.
#[test]
fn a_report_is_the_same_whatever_else_is_written() -> Tested {
    let dir = session("24")?;
    let dir = dir.path();
    let alone = ran(dir, &["audit", "s", "--format", "json"])?;
    let more = ["--out-findings", "f.csv", "--out-measurements", "m.csv", "--out-html", "r.html"];
    assert_eq!(ran(dir, &[&["audit", "s", "--format", "json"], &more[..]].concat())?, alone);
    let one = ran(dir, &["audit", "s", "--format", "json", "--episode", "8"])?;
    let (alone, one): (Value, Value) = (serde_json::from_str(&alone)?, serde_json::from_str(&one)?);
    assert_eq!(list(&one, "episodes"), [alone["episodes"][8].clone()]);
    Ok(())
}

#[test]
fn the_former_name_of_the_option_still_works_and_is_not_shown() -> Tested {
    let dir = session("6")?;
    let dir = dir.path();
    ran(dir, &["audit", "s", "-q", "--out-scorecard", "old.parquet"])?;
    ran(dir, &["audit", "s", "-q", "--out-measurements", "new.parquet"])?;
    assert_eq!(fs::read(dir.join("old.parquet"))?, fs::read(dir.join("new.parquet"))?);
    for command in ["audit", "judge", "compare", "explain"] {
        let help = String::from_utf8(run(&[command, "--help"])?.stdout)?;
        assert!(!help.to_lowercase().contains("scorecard"), "{command}: {help}");
    }
    Ok(())
}
