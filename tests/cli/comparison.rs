//! `compare` by the real binary: on a terminal, as JSON against its schema, as Markdown; exit
//! codes.

use std::error::Error;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;
use teleassay::demo::{Fault, Recipe, WriteOptions, healthy, write};
use teleassay::demo::{Layout, StoredUnit};

use super::schema::faults;
use super::{excerpt, snapshot};

type Tested = Result<(), Box<dyn Error>>;

pub fn run(dir: &Path, args: &[&str]) -> Result<Output, Box<dyn Error>> {
    let mut command = Command::cargo_bin("teleassay")?;
    command.current_dir(dir).env_remove("CLICOLOR_FORCE").env("NO_COLOR", "1");
    Ok(command.args(args).output()?)
}

pub fn text(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

pub fn recipe(episodes: u64, seed: u64) -> Recipe {
    let mut recipe = healthy(30.0, 6, StoredUnit::Deg, episodes, 4);
    recipe.servo.between_joints = 0.0;
    Recipe { seed, ..recipe }
}

pub fn put(dir: &Path, name: &str, recipe: &Recipe) -> Result<(), Box<dyn Error>> {
    write(&dir.join(name), recipe, &WriteOptions::default())?;
    Ok(())
}

/// Monday's session; Tuesday's with the elbow off by 4 degrees; one by another hand.
fn sessions(dir: &Path) -> Result<(), Box<dyn Error>> {
    put(dir, "monday", &recipe(16, 1))?;
    let slipped = Fault::NeutralOffset { deg: 4.0 };
    put(dir, "tuesday", &recipe(16, 2).with(slipped, Some("elbow"), &[]))?;
    put(dir, "again", &recipe(16, 3))?;
    let mut slow = recipe(3, 5);
    slow.operator.pace *= 0.5;
    put(dir, "slow", &slow)
}

pub fn well_set(text: &str) {
    for line in text.lines() {
        let command = line.starts_with("  next: ") || line.starts_with("  and ");
        assert!(command || line.chars().count() <= 80, "wider than 80 columns: {line}");
        assert!(line.is_ascii() && line == line.trim_end(), "{line:?}");
    }
}

#[test]
fn terminal_json_markdown_and_exit_codes() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    sessions(dir)?;

    let differs = run(dir, &["compare", "monday", "tuesday", "--out-json", "found.json"])?;
    assert_eq!(differs.status.code(), Some(1), "{}", String::from_utf8_lossy(&differs.stderr));
    well_set(&text(&differs));
    snapshot("compare-differs", &text(&differs));
    // The excerpt in the documentation is what this comparison prints.
    let page = include_str!("../../docs/compare.md");
    let shown =
        excerpt(page, "<!-- excerpt of `teleassay compare monday tuesday`", &text(&differs))?;
    assert!((10..=25).contains(&shown), "{shown} lines");
    let few = run(dir, &["compare", "monday", "slow"])?;
    well_set(&text(&few));
    snapshot("compare-few", &text(&few));
    let same = run(dir, &["compare", "monday", "again", "--fail-on", "fail"])?;
    assert_eq!(same.status.code(), Some(0), "{}", text(&same));
    well_set(&text(&same));
    assert!(text(&same).starts_with(". ok"), "{}", text(&same));
    let never = run(dir, &["compare", "monday", "tuesday", "--fail-on", "never", "-q"])?;
    assert_eq!(never.status.code(), Some(0));

    let schema = text(&run(dir, &["explain", "--json-schema", "comparison"])?);
    let schema: Value = serde_json::from_str(&schema)?;
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    let written = std::fs::read_to_string(dir.join("found.json"))?;
    for other in ["monday", "again", "slow", "tuesday"] {
        let json = run(dir, &["compare", "monday", other, "--format", "json"])?;
        let document: Value = serde_json::from_slice(&json.stdout)?;
        assert_eq!(faults(&schema, &document)?, Vec::<String>::new(), "{other}");
        if other == "tuesday" {
            assert_eq!(written, text(&json));
            let one =
                run(dir, &["compare", "monday", other, "--format", "json", "--threads", "1"])?;
            assert_eq!(written, text(&one), "the same bytes at any number of threads");
            let found = document["aspects"].as_array().into_iter().flatten().find(|row| {
                row["aspect"] == "offset" && row["joint"] == "elbow" && row["answer"] == "different"
            });
            let change = found.and_then(|row| row["change"].as_f64()).unwrap_or(f64::NAN);
            assert!((change.to_degrees() - 4.0).abs() < 0.2, "{change}");
            assert_eq!(document["advice"]["verdict"], "correct");
        }
    }

    let page = run(dir, &["compare", "monday", "tuesday", "--format", "markdown"])?;
    let page = text(&page);
    assert!(page.starts_with("## ! warn: After a correction: offset elbow differs"), "{page}");
    assert!(page.contains("| rig | offset elbow |") && page.contains("x DIFFERS"), "{page}");
    Ok(())
}

/// What stands between the first two of these, which must be there.
fn between<'a>(text: &'a str, from: &str, to: &str) -> Result<&'a str, Box<dyn Error>> {
    let (_, rest) = text.split_once(from).ok_or_else(|| format!("no {from:?} in {text}"))?;
    Ok(rest.split_once(to).ok_or_else(|| format!("no {to:?} in {rest}"))?.0)
}

/// Writes the page of a comparison.
fn page(dir: &Path, a: &str, b: &str, more: &[&str]) -> Result<String, Box<dyn Error>> {
    let args = ["compare", a, b, "--out-html", "page.html", "--fail-on", "never"];
    let output = run(dir, &[&args[..], more].concat())?;
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    Ok(std::fs::read_to_string(dir.join("page.html"))?)
}

#[test]
fn the_page_says_the_answer_its_cause_and_what_to_do_before_all_else() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    sessions(dir)?;
    let found = page(dir, "monday", "tuesday", &[])?;
    assert_eq!(found, page(dir, "monday", "tuesday", &["--threads", "1"])?);
    assert_eq!(found.matches("href=").count(), found.matches("href=\"#").count());
    for word in ["src=", "http:", "https:", "@import", "url(", "<script", "{{", "{%"] {
        assert!(!found.contains(word), "{word}");
    }
    assert!(found.contains("default-src 'none'; style-src") && !found.contains("script-src"));
    snapshot("compare-page-first", between(&found, "<body>\n", "<section id=\"aspects\">")?);
    // The change stands on one line, with what it is of.
    let change = between(&found, "<td class=\"one-line\">", "</td>")?;
    assert!(change.starts_with("B - A = 4.01 deg ") && change.contains("(4.00 to "), "{change}");
    let row = between(&found, "<tr><th scope=\"row\">offset elbow", "</tr>")?;
    snapshot("compare-page-row", row);
    // Every comparison is in it once, and none is missing.
    let json = run(dir, &["compare", "monday", "tuesday", "--format", "json"])?;
    let document: Value = serde_json::from_slice(&json.stdout)?;
    let rows = document["aspects"].as_array().map_or(0, Vec::len);
    let tables = between(&found, "<h2>Aspect by aspect", "<h2>What merging costs")?;
    assert_eq!(tables.matches("<tr><th scope=\"row\">").count(), rows);
    let drawn = document["aspects"].as_array().into_iter().flatten();
    let drawn = drawn.filter(|row| row["interval"].is_array()).count();
    assert_eq!(tables.matches("<svg class=\"interval\"").count(), drawn);
    assert_eq!(found.matches("part-0.parquet</td>").count(), 2);
    assert!(found.contains("not a safety function"));

    let same = page(dir, "monday", "again", &[])?;
    assert!(same.contains("<li>Train on both together, as they are.</li>"), "{same}");
    assert!(same.contains("<h2>Largest change on the rig: ") && !same.contains("Biggest cause"));
    let few = page(dir, "monday", "slow", &[])?;
    assert!(few.contains("<h2>What is most uncertain: lag elbow</h2>"), "{few}");
    assert!(few.contains("Record until each side has about 8 episodes"), "{few}");
    let twice = page(dir, "monday", "monday", &[])?;
    assert!(twice.contains("<li>Train on one of them alone: the other adds nothing.</li>"));
    Ok(())
}

#[test]
fn a_page_of_scorecards_says_so_and_a_folder_that_is_not_there_is_reported() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    put(dir, "monday", &recipe(3, 1))?;
    run(dir, &["audit", "monday", "--out-measurements", "m.parquet"])?;
    let found = page(dir, "m.parquet", "monday", &[])?;
    assert_eq!(found.matches("Read from a measurements file; its recordings were:").count(), 1);
    assert_eq!(found.matches("Read from recordings:").count(), 1);
    for out in ["no/such/page.html", "m.parquet", "monday/part-0.parquet"] {
        let before = std::fs::read(dir.join(out)).ok();
        let output = run(dir, &["compare", "m.parquet", "monday", "--out-html", out])?;
        assert_eq!(output.status.code(), Some(2), "{out}");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(said.contains(out) && said.contains("hint: "), "{said}");
        assert_eq!(std::fs::read(dir.join(out)).ok(), before, "{out}");
    }
    Ok(())
}

/// What a comparison printed, without the names of the sides.
fn nameless(output: &Output) -> Result<Value, Box<dyn Error>> {
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let mut document: Value =
        serde_json::from_slice(&output.stdout).map_err(|error| format!("{error}: {said}"))?;
    for side in ["a", "b"] {
        let name = document[side]["name"].take();
        assert!(name.is_string(), "{name}");
    }
    Ok(document)
}

#[test]
fn a_scorecard_says_what_its_session_says() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    sessions(dir)?;
    for session in ["monday", "tuesday", "slow"] {
        // No ending tells a measurements file from a recording, so neither may a folder.
        let card = format!("{session}.parquet");
        let audited =
            run(dir, &["audit", session, "--out-measurements", &card, "--fail-on", "never"])?;
        assert_eq!(audited.status.code(), Some(0), "{}", String::from_utf8_lossy(&audited.stderr));
    }
    for (a, b, code) in [("monday", "tuesday", 1), ("slow", "monday", 0), ("monday", "monday", 0)] {
        let json = |a: &str, b: &str| run(dir, &["compare", a, b, "--format", "json"]);
        let measured = json(a, b)?;
        assert_eq!(measured.status.code(), Some(code), "{a} {b}");
        let (card_a, card_b) = (format!("{a}.parquet"), format!("{b}.parquet"));
        let sides = [(card_a.as_str(), card_b.as_str()), (&card_a, b), (a, &card_b)];
        for (one, other) in sides {
            let stored = json(one, other)?;
            assert_eq!(stored.status.code(), measured.status.code(), "{one} {other}");
            assert_eq!(nameless(&stored)?, nameless(&measured)?, "{one} {other}");
            let text = text(&stored);
            assert!(text.contains(&format!("\"name\": \"{one}\"")), "{one}: {text}");
            let threads = ["compare", one, other, "--format", "json", "--threads", "1"];
            assert_eq!(run(dir, &threads)?.stdout, stored.stdout, "{one} {other}");
        }
    }
    // The recordings are not read again.
    std::fs::rename(dir.join("monday"), dir.join("gone"))?;
    let alone = run(dir, &["compare", "monday.parquet", "tuesday.parquet"])?;
    assert_eq!(alone.status.code(), Some(1), "{}", String::from_utf8_lossy(&alone.stderr));
    assert!(text(&alone).contains("A: monday.parquet, 16 episodes"), "{}", text(&alone));
    Ok(())
}

#[test]
fn a_scorecard_is_neither_taken_for_a_recording_nor_written_over() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    put(dir, "monday", &recipe(3, 1))?;
    let card = dir.join("monday.parquet");
    run(dir, &["audit", "monday", "--out-measurements", "monday.parquet"])?;
    let before = std::fs::read(&card)?;
    let out = run(dir, &["compare", "monday.parquet", "monday", "--out-json", "monday.parquet"])?;
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("never written over"));
    assert_eq!(std::fs::read(&card)?, before);
    // A recording under the name of a measurements file is read as what it is.
    std::fs::copy(dir.join("monday/part-0.parquet"), dir.join("recording.parquet"))?;
    std::fs::copy(dir.join("monday/teleassay.toml"), dir.join("teleassay.toml"))?;
    let out = run(dir, &["compare", "recording.parquet", "monday.parquet", "--format", "json"])?;
    let document: Value = serde_json::from_slice(&out.stdout)?;
    assert_eq!(document["b"]["episodes"], 3);
    let tables = std::fs::read_dir(dir.join("monday"))?.filter_map(Result::ok);
    let tables = tables.filter(|e| e.path().extension().is_some_and(|e| e == "parquet")).count();
    assert_eq!(document["a"]["episodes"], 3usize.div_ceil(tables));
    // One that was spoilt is refused, not read as anything else.
    let mut spoilt = before.clone();
    let middle = spoilt.len() / 2;
    spoilt[middle..middle + 40].iter_mut().for_each(|byte| *byte = !*byte);
    std::fs::write(dir.join("spoilt.parquet"), &spoilt)?;
    let out = run(dir, &["compare", "spoilt.parquet", "monday"])?;
    assert_eq!(out.status.code(), Some(2), "{}", text(&out));
    assert!(String::from_utf8_lossy(&out.stderr).contains("spoilt.parquet"));
    Ok(())
}

#[test]
fn each_side_has_its_own_profile() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    put(dir, "monday", &recipe(4, 1))?;
    let options = WriteOptions { layout: Layout::Scalars, ..WriteOptions::default() };
    write(&dir.join("scalars"), &recipe(4, 2), &options)?;
    let own = std::fs::read_to_string(dir.join("scalars/teleassay.toml"))?;
    std::fs::write(dir.join("b.toml"), own.replace("\"elbow\"", "\"hinge\""))?;
    let profile_b = ["compare", "monday", "scalars", "--profile-b", "b.toml"];
    let found = run(dir, &[&profile_b[..], &["--format", "json"]].concat())?;
    let document: Value = serde_json::from_slice(&found.stdout)?;
    let joints = |side: &str| document[side]["joints"].to_string();
    assert!(joints("a").contains("elbow") && !joints("a").contains("hinge"), "{}", joints("a"));
    assert!(joints("b").contains("hinge") && !joints("b").contains("elbow"), "{}", joints("b"));
    assert_eq!(document["b"]["episodes"], 4);
    let wrong = run(dir, &["compare", "monday", "nowhere"])?;
    assert_eq!(wrong.status.code(), Some(2));
    let usage = run(dir, &["compare", "monday"])?;
    assert_eq!(usage.status.code(), Some(2));
    Ok(())
}

#[test]
fn the_recordings_are_never_written_over() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    put(dir, "monday", &recipe(3, 1))?;
    let table = std::fs::read_dir(dir.join("monday"))?
        .filter_map(Result::ok)
        .find(|entry| entry.path().extension().is_some_and(|e| e == "parquet"))
        .ok_or("no table")?
        .path();
    let (table, profile) = (table.to_string_lossy(), "monday/teleassay.toml");
    let trace = ["trace", "monday", "--episode", "1", "--out-svg"];
    for (file, what) in [(&*table, "one of the recordings"), (profile, "files that are read")] {
        let before = std::fs::read(dir.join(file))?;
        for args in [&["compare", "monday", "monday", "--out-json"][..], &trace] {
            let out = run(dir, &[args, &[file]].concat())?;
            assert_eq!(out.status.code(), Some(2), "{args:?} {file}");
            let said = String::from_utf8_lossy(&out.stderr).into_owned();
            assert!(said.contains(what) && said.contains("never written over"), "{said}");
            assert_eq!(std::fs::read(dir.join(file))?, before);
        }
    }
    Ok(())
}

/// One session under two names of a joint: what differs is said, not that it is the same data.
#[test]
fn the_same_recordings_understood_in_two_ways_are_not_the_same() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    put(dir, "monday", &recipe(4, 1))?;
    let own = std::fs::read_to_string(dir.join("monday/teleassay.toml"))?;
    std::fs::write(dir.join("b.toml"), own.replace("\"elbow\"", "\"hinge\""))?;
    let out = text(&run(dir, &["compare", "monday", "monday", "--profile-b", "b.toml"])?);
    assert!(out.starts_with("x FAIL  No, keep them apart: schema differs on the rig."), "{out}");
    assert!(out.contains("4 recordings in both by content"), "{out}");
    let same = text(&run(dir, &["compare", "monday", "monday"])?);
    assert!(same.starts_with("! warn  Both sides hold the same recordings"), "{same}");
    Ok(())
}

/// What could not be read was not compared, and that is never a plain yes.
#[test]
fn a_file_that_is_cut_short_is_reported_in_the_first_line() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    put(dir, "monday", &recipe(5, 1))?;
    put(dir, "tuesday", &recipe(6, 1))?;
    let parts = std::fs::read_dir(dir.join("monday"))?.filter_map(Result::ok);
    let part =
        parts.map(|entry| entry.path()).find(|path| path.extension() == Some("parquet".as_ref()));
    let whole = std::fs::read(part.ok_or("no part")?)?;
    std::fs::write(dir.join("tuesday/part-99.parquet"), &whole[..whole.len() / 2])?;
    let out = run(dir, &["compare", "monday", "tuesday", "--fail-on", "never"])?;
    assert_eq!(out.status.code(), Some(1));
    let first = text(&out).lines().take(3).map(str::trim).collect::<Vec<_>>().join(" ");
    assert!(
        first.contains("But 1 file could not be read.") && !first.starts_with(". ok"),
        "{first}"
    );
    Ok(())
}
