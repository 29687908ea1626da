//! What `audit` can do, through the binary, on the demo session.

use std::error::Error;
use std::path::PathBuf;

use serde_json::Value;
use teleassay::report;
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::card::list;

/// The demo session in a folder of its own, for as long as the first part lives.
fn demo(episodes: &str) -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    let output = run(&["demo", &place, "--episodes", episodes])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    Ok((dir, place))
}

fn code(args: &[&str]) -> Result<Option<i32>, Box<dyn Error>> {
    Ok(run(args)?.status.code())
}

#[test]
fn the_demo_takes_any_number_of_episodes() -> Tested {
    for episodes in ["1", "5", "30"] {
        let (_dir, place) = demo(episodes)?;
        let card = scorecard(&[&place])?;
        assert_eq!(card["session"]["episodes"].to_string(), episodes);
    }
    Ok(())
}

#[test]
fn the_gate_closes_where_it_is_set() -> Tested {
    let (_dir, place) = demo("24")?;
    assert_eq!(code(&["audit", &place])?, Some(1));
    assert_eq!(code(&["audit", &place, "--fail-on", "warn"])?, Some(1));
    assert_eq!(code(&["audit", &place, "--fail-on", "never"])?, Some(0));
    // Tracking error only warns.
    let warns = ["audit", &place, "--only", "tracking-error"];
    assert_eq!(code(&warns)?, Some(0));
    assert_eq!(code(&[&warns[..], &["--fail-on", "warn"]].concat())?, Some(1));
    Ok(())
}

fn checks_of(card: &Value) -> Vec<String> {
    let all = list(card, "episodes").iter().flat_map(|e| list(e, "readings"));
    let mut ids: Vec<String> = all.map(|r| r["check"].as_str().unwrap_or("").to_owned()).collect();
    ids.sort();
    ids.dedup();
    ids
}

#[test]
fn checks_are_chosen_and_left_out() -> Tested {
    let (_dir, place) = demo("12")?;
    let card = scorecard(&[&place, "--only", "tracking-lag,dropped-frames"])?;
    assert_eq!(checks_of(&card), ["dropped-frames", "tracking-lag"]);
    let all = checks_of(&scorecard(&[&place])?);
    let some = checks_of(&scorecard(&[&place, "--skip", "tracking-lag"])?);
    assert!(all.contains(&"tracking-lag".to_owned()) && all.len() > 8, "{all:?}");
    assert_eq!(some, all.into_iter().filter(|id| id != "tracking-lag").collect::<Vec<_>>());
    let output = run(&["audit", &place, "--skip", "tracking-lg"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("did you mean \"tracking-lag\"?"), "{}", said(&output));
    Ok(())
}

#[test]
fn one_episodes_card_is_shown_alone() -> Tested {
    let (_dir, place) = demo("24")?;
    let output = run(&["audit", &place, "--episode", "17"])?;
    let text = String::from_utf8(output.stdout)?;
    assert!(text.contains("tracking lag") && text.contains("elbow"), "{text}");
    let card = scorecard(&[&place, "--episode", "17"])?;
    assert_eq!(list(&card, "episodes").len(), 1);
    assert_eq!(card["episodes"][0]["episode"], "17");
    let output = run(&["audit", &place, "--episode", "170"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("there is no episode \"170\""), "{}", said(&output));
    assert!(said(&output).contains("hint: "), "{}", said(&output));
    Ok(())
}

#[test]
fn files_hold_what_was_asked_for() -> Tested {
    let (dir, place) = demo("24")?;
    let file = |name: &str| dir.path().join(name);
    let option =
        |name: &str, path: &PathBuf| vec![name.to_owned(), path.to_string_lossy().into_owned()];
    let (json, csv) = (file("card.json"), file("card.csv"));
    let (table, keep) = (file("card.parquet"), file("keep.txt"));
    let mut args = vec!["audit".to_owned(), place.clone(), "--quiet".to_owned()];
    args.extend(option("--out-json", &json));
    args.extend(["--json-detail", "full"].map(str::to_owned));
    args.extend(option("--out-measurements", &csv));
    args.extend(option("--out-keep-list", &keep));
    assert_eq!(run(&args)?.status.code(), Some(1));
    let card = scorecard(&[&place])?;
    assert_eq!(serde_json::from_slice::<Value>(&std::fs::read(&json)?)?, card);
    let csv = std::fs::read_to_string(&csv)?;
    assert_eq!(csv.lines().count(), 25);
    let kept = std::fs::read_to_string(&keep)?;
    let sound = list(&card, "episodes").iter().filter(|e| e["verdict"] != "fail");
    let sound: Vec<&str> = sound.filter_map(|e| e["episode"].as_str()).collect();
    assert_eq!(kept.lines().collect::<Vec<_>>(), sound);
    let mut args = vec!["audit".to_owned(), place.clone()];
    args.extend(option("--out-measurements", &table));
    assert_eq!(run(&args)?.status.code(), Some(1));
    let reader = parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder::try_new(
        std::fs::File::open(&table)?,
    )?;
    assert_eq!(reader.metadata().file_metadata().num_rows(), 24);
    // Somewhere that is not there: reported, with the way out.
    let output = run(&["audit", &place, "--out-json", "no/such/folder/card.json"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("no/such/folder/card.json"), "{}", said(&output));
    Ok(())
}

#[test]
fn a_recording_is_never_written_over() -> Tested {
    let (_dir, place) = demo("3")?;
    let input = format!("{place}/part-0.parquet");
    let before = std::fs::read(&input)?;
    let output = run(&["audit", &place, "--out-measurements", &input])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("one of the recordings"), "{}", said(&output));
    assert_eq!(std::fs::read(&input)?, before);
    Ok(())
}

#[test]
fn a_reader_that_stops_reading_is_success_whatever_the_verdict() -> Tested {
    let (_dir, place) = demo("24")?;
    for format in ["table", "json", "jsonl", "markdown", "github"] {
        let (reader, writer) = std::io::pipe()?;
        drop(reader);
        let output = std::process::Command::new(assert_cmd::cargo::cargo_bin!("teleassay"))
            .args(["audit", &place, "--format", format])
            .stdout(writer)
            .output()?;
        assert_eq!(output.status.code(), Some(0), "{format}");
        assert!(output.stderr.is_empty(), "{format}: {}", said(&output));
    }
    Ok(())
}

#[test]
fn a_profile_that_was_written_gives_the_same_scorecard() -> Tested {
    let (dir, place) = demo("12")?;
    let written = dir.path().join("written.toml").to_string_lossy().into_owned();
    let output = run(&["columns", &place, "--write", &written])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let (before, after) = (scorecard(&[&place])?, scorecard(&[&place, "--profile", &written])?);
    for part in ["rig", "session", "episodes", "unread"] {
        assert_eq!(before[part], after[part], "{part}");
    }
    let text = std::fs::read_to_string(&written)?;
    assert!(text.contains("unit = \"deg\"") && text.contains("lower = \"-125 deg\""), "{text}");
    // Once more is refused: somebody may have edited it.
    let output = run(&["columns", &place, "--write", &written])?;
    assert_eq!(output.status.code(), Some(2));
    Ok(())
}

#[test]
fn the_profile_in_force_is_shown_whole_and_gives_the_same_scorecard() -> Tested {
    let (dir, place) = demo("12")?;
    let own = dir.path().join("own.toml").to_string_lossy().into_owned();
    // Over the demo's own, which names the joints: who nobody named is a guess of the tool, and a
    // guess that is written down is none any more.
    let printed = std::fs::read_to_string(format!("{place}/teleassay.toml"))?;
    let more = "[checks]\nskip = [\"smoothness\"]\n[limits.tracking-lag]\nlag = { warn = 0.09 }\n\
         [params.tracking-lag]\nsearch_s = 0.8\n";
    std::fs::write(&own, format!("{printed}\n{more}"))?;
    let args = [&place, "--profile", &own, "--skip", "duration"];
    let output = run(&[&["audit", "--show-profile"], &args[..]].concat())?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let text = String::from_utf8(output.stdout)?;
    let shown = dir.path().join("shown.toml").to_string_lossy().into_owned();
    std::fs::write(&shown, &text)?;
    for (what, present) in [
        ("search_s = \"800 ms\"", true),
        ("[limits.dropped-frames.dropped_share]", true),
        ("\"duration\"", true),
        ("\"smoothness\"", true),
        ("state = [\"follower\"]", true),
        ("# not written", false),
    ] {
        assert_eq!(text.contains(what), present, "{what}: {text}");
    }
    let (before, after) = (scorecard(&args)?, scorecard(&[&place, "--profile", &shown])?);
    for part in ["rig", "session", "episodes", "unread"] {
        assert_eq!(before[part], after[part], "{part}");
    }
    // Once more from what was shown: nothing changes any more.
    let again = run(&["audit", "--show-profile", &place, "--profile", &shown])?;
    assert_eq!(String::from_utf8(again.stdout)?, text);
    Ok(())
}

#[test]
fn inputs_are_hashed_where_that_is_asked_for() -> Tested {
    let (_dir, place) = demo("6")?;
    let plain = scorecard(&[&place])?;
    assert!(list(&plain, "inputs").iter().all(|input| input.get("sha256").is_none()));
    let card = scorecard(&[&place, "--hash-inputs"])?;
    let schema: Value = serde_json::from_str(&report::schema(report::JsonDetail::Full))?;
    assert_eq!(super::schema::faults(&schema, &card)?, Vec::<String>::new());
    let inputs = list(&card, "inputs");
    assert!(!inputs.is_empty());
    for input in inputs {
        let path = input["path"].as_str().ok_or("no path")?;
        // coreutils, which is not ours.
        let output = std::process::Command::new("sha256sum").arg(path).output()?;
        let printed = String::from_utf8(output.stdout)?;
        assert_eq!(input["sha256"].as_str(), printed.split_whitespace().next(), "{path}");
    }
    Ok(())
}
