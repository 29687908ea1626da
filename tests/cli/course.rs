//! `compare` of more than two sessions by the real binary: since when does what differ? On a terminal,
//! as JSON against its schema, as Markdown, as a page; exit codes; errors name the session.

use std::error::Error;
use std::path::Path;

use serde_json::Value;
use teleassay::demo::Fault;

use super::comparison::{put, recipe, run, text, well_set};
use super::schema::faults;
use super::{excerpt, snapshot};

type Tested = Result<(), Box<dyn Error>>;

/// Sound sessions; the elbow is off by 4 degrees in Wednesday's and Thursday's. Measured once each.
fn week(dir: &Path) -> Tested {
    let slipped = || Fault::NeutralOffset { deg: 4.0 };
    put(dir, "monday", &recipe(16, 1))?;
    put(dir, "tuesday", &recipe(16, 2))?;
    put(dir, "wednesday", &recipe(16, 3).with(slipped(), Some("elbow"), &[]))?;
    put(dir, "thursday", &recipe(16, 4).with(slipped(), Some("elbow"), &[]))?;
    // The same two sessions without the fault.
    put(dir, "friday", &recipe(16, 3))?;
    put(dir, "saturday", &recipe(16, 4))?;
    for day in ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday"] {
        let out = format!("{day}.parquet");
        run(dir, &["audit", day, "--out-measurements", &out, "--fail-on", "never", "-q"])?;
        assert!(dir.join(out).is_file(), "{day}");
    }
    Ok(())
}

fn compare<'a>(days: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    [&["compare"], days, more].concat()
}

fn json(dir: &Path, days: &[&str]) -> Result<Value, Box<dyn Error>> {
    let out = run(dir, &compare(days, &["--format", "json"]))?;
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    Ok(serde_json::from_slice(&out.stdout).map_err(|error| format!("{error}: {said}"))?)
}

/// The course of the elbow's offset.
fn elbow(document: &Value) -> Result<&Value, Box<dyn Error>> {
    let rows = document["course"].as_array().ok_or("no course")?;
    let elbow = |row: &&Value| row["aspect"] == "offset" && row["joint"] == "elbow";
    Ok(rows.iter().find(elbow).ok_or("no elbow")?)
}

const STAYS: [&str; 4] =
    ["monday.parquet", "tuesday.parquet", "wednesday.parquet", "thursday.parquet"];
const ONCE: [&str; 4] =
    ["monday.parquet", "wednesday.parquet", "tuesday.parquet", "friday.parquet"];

#[test]
fn an_offset_that_appears_and_stays_is_dated_on_every_surface() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    week(dir)?;
    let days = ["monday", "tuesday", "wednesday", "thursday"];
    let outs = ["--out-json", "found.json", "--out-html", "page.html"];
    let found = run(dir, &compare(&days, &outs))?;
    assert_eq!(found.status.code(), Some(1), "{}", String::from_utf8_lossy(&found.stderr));
    let shown = text(&found);
    well_set(&shown);
    assert!(
        shown.starts_with("x DIFFERS  offset elbow since wednesday (2 of 4 sessions)\n"),
        "{shown}"
    );
    snapshot("compare-course", &shown);
    // The excerpt in the documentation is what this comparison prints.
    let page = include_str!("../../docs/compare.md");
    let lines = excerpt(
        page,
        "<!-- excerpt of `teleassay compare monday tuesday wednesday thursday`",
        &shown,
    )?;
    assert!((8..=25).contains(&lines), "{lines} lines");

    let schema = text(&run(dir, &["explain", "--json-schema", "course"])?);
    let schema: Value = serde_json::from_str(&schema)?;
    let written = std::fs::read_to_string(dir.join("found.json"))?;
    let document: Value = serde_json::from_str(&written)?;
    assert_eq!(faults(&schema, &document)?, Vec::<String>::new());
    let mut spoilt = document.clone();
    spoilt["comparisons"][1]["a"]["episodes"] = "many".into();
    assert_eq!(faults(&schema, &spoilt)?.len(), 1, "what lies within is held to its shape");
    let one = elbow(&document)?;
    assert_eq!((&one["since"], &one["differs"]), (&2.into(), &serde_json::json!([2, 3])));
    let answers = serde_json::json!([null, "same", "different", "different"]);
    assert_eq!(one["answers"], answers);
    let values: Vec<f64> =
        one["values"].as_array().into_iter().flatten().filter_map(Value::as_f64).collect();
    let moved: Vec<f64> = values.iter().map(|v| (v - values[0]).to_degrees()).collect();
    let expected = [0.0, 0.0, 4.0, 4.0];
    assert!(moved.len() == 4, "{values:?}");
    assert!(moved.iter().zip(expected).all(|(x, y)| (x - y).abs() < 0.2), "{moved:?}");
    assert_eq!(document["course"][0], *one, "worst first");
    assert_eq!(document["comparisons"].as_array().map(Vec::len), Some(3));
    assert_eq!(document["sessions"][3]["name"], "thursday");

    // Each pair has the shape of two, and its numbers but for the adjustment.
    let pair = &document["comparisons"][1];
    let alone = json(dir, &["monday", "wednesday"])?;
    let of_two: Value =
        serde_json::from_str(&text(&run(dir, &["explain", "--json-schema", "comparison"])?))?;
    assert_eq!(faults(&of_two, pair)?, Vec::<String>::new());
    let rows = |of: &Value| of["aspects"].as_array().cloned().unwrap_or_default();
    let (many, two) = (rows(pair), rows(&alone));
    assert!(many.len() == two.len() && many.len() > 30);
    let mut weaker = 0;
    for (many, two) in many.iter().zip(&two) {
        for same in ["aspect", "joint", "a", "b", "change", "interval", "p_value", "episodes"] {
            assert_eq!(many[same], two[same], "{same} of {}", two["message"]);
        }
        let adjusted = |row: &Value| row["p_adjusted"].as_f64();
        if let (Some(many), Some(two)) = (adjusted(many), adjusted(two)) {
            assert!(many >= two, "{many} {two}");
            weaker += usize::from(many > two);
        }
    }
    assert!(weaker > 0, "no p-value was adjusted for the other pairs");

    // Measured now or before, on any number of threads.
    let mut stored = json(dir, &STAYS)?;
    let mut measured = document.clone();
    for of in [&mut stored, &mut measured] {
        for session in of["sessions"].as_array_mut().into_iter().flatten() {
            session["name"].take();
        }
        of["message"].take();
        for row in of["course"].as_array_mut().into_iter().flatten() {
            row["message"].take();
        }
        for pair in of["comparisons"].as_array_mut().into_iter().flatten() {
            pair["a"]["name"].take();
            pair["b"]["name"].take();
        }
    }
    assert!(stored == measured, "what is stored says what its session says");
    let single = run(dir, &compare(&days, &["--format", "json", "--threads", "1"]))?;
    assert_eq!(text(&single), written);

    let markdown = text(&run(dir, &compare(&STAYS, &["--format", "markdown"]))?);
    assert!(
        markdown.starts_with("## x DIFFERS offset elbow since wednesday.parquet"),
        "{markdown}"
    );
    let row = markdown.lines().find(|line| line.starts_with("| rig | offset elbow | deg |"));
    let row = row.ok_or("no row")?;
    assert!(row.ends_with("| differs since wednesday.parquet |"), "{row}");
    assert_eq!((row.matches(" x |").count(), row.matches(" = |").count()), (2, 1), "{row}");
    the_page(&std::fs::read_to_string(dir.join("page.html"))?, &document)
}

/// One row and one image for each aspect, and nothing from elsewhere.
fn the_page(page: &str, document: &Value) -> Tested {
    for word in ["src=", "http:", "https:", "@import", "url(", "<script", "{{", "{%"] {
        assert!(!page.contains(word), "{word}");
    }
    let (first, rest) = page.split_once("<main>").ok_or("no main")?;
    assert!(first.contains("x DIFFERS</span> offset elbow since wednesday (2 of 4"), "{first}");
    let row = rest.split_once("<th scope=\"row\">offset elbow").ok_or("no row")?.1;
    let row = row.split_once("</tr>").ok_or("no end")?.0;
    assert!(
        row.contains("differs since wednesday") && row.contains("<svg class=\"interval\""),
        "{row}"
    );
    assert_eq!(row.matches("class=\"is-fail\">x<").count(), 2, "{row}");
    assert_eq!(row.matches("class=\"point fail\"").count(), 2, "{row}");
    let rows = document["course"].as_array().map_or(0, Vec::len);
    let (tables, _) = rest.split_once("<section id=\"pairs\">").ok_or("no pairs")?;
    assert_eq!(tables.matches("<th scope=\"row\">").count(), rows);
    assert_eq!(rest.matches("Alone: <code>teleassay compare monday ").count(), 3);
    assert!(rest.contains("not a safety function"));
    Ok(())
}

#[test]
fn a_fault_of_one_day_is_dated_to_it_and_sound_days_are_the_same() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    week(dir)?;
    let once = run(dir, &compare(&ONCE, &[]))?;
    assert_eq!(once.status.code(), Some(1));
    let shown = text(&once);
    well_set(&shown);
    assert!(
        shown.starts_with("x DIFFERS  offset elbow only in wednesday.parquet (1 of 4 sessions)\n"),
        "{shown}"
    );
    assert!(shown.contains("next: teleassay compare monday.parquet wednesday.parquet"), "{shown}");
    let document = json(dir, &ONCE)?;
    let one = elbow(&document)?;
    assert_eq!((&one["since"], &one["differs"]), (&Value::Null, &serde_json::json!([1])));

    let sound = ["monday.parquet", "tuesday.parquet", "friday.parquet", "saturday.parquet"];
    let same = run(dir, &compare(&sound, &["--fail-on", "warn"]))?;
    assert_eq!(same.status.code(), Some(0), "{}", text(&same));
    let shown = text(&same);
    well_set(&shown);
    assert!(
        shown.starts_with("= same  all 4 sessions on the rig: train on them together\n"),
        "{shown}"
    );
    let document = json(dir, &sound)?;
    assert_eq!(document["worst"], Value::Null);
    let rows = document["course"].as_array().ok_or("no course")?;
    assert!(
        rows.iter().all(|row| row["since"].is_null() && row["differs"] == serde_json::json!([]))
    );

    // Of many sessions the numbers go on in lines of their own.
    let many = [&STAYS[..], &["thursday.parquet"; 4], &["tuesday.parquet"]].concat();
    let shown = text(&run(dir, &compare(&many, &[]))?);
    well_set(&shown);
    let at = shown.find("\n  offset elbow, deg: differs in 3, 4, 5, 6 and 2 more\n");
    let block: Vec<&str> = shown[at.ok_or(shown.clone())? + 1..].lines().take(6).collect();
    let numbers = |line: &str| line.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    assert_eq!((numbers(block[1]).len(), numbers(block[2]).len()), (3 + 8, 1 + 1), "{block:?}");
    assert!(block[1].starts_with("    1 to 8 ") && block[2].starts_with("    9 "), "{block:?}");
    assert_eq!(block[3].split_once("plot").map(|(_, signs)| signs.trim()), Some("__''''''_"));
    assert_eq!(block[4].split_once("answers").map(|(_, signs)| signs.trim()), Some("=xxxxxx="));
    let column = |line: &str, sign| line.find(sign);
    assert_eq!(column(block[3], "__'").map(|at| at + 1), column(block[4], "=x"), "{block:?}");
    assert!(block[5].starts_with("  schema  "), "{block:?}");
    Ok(())
}

#[test]
fn an_error_names_the_session_and_a_profile_holds_for_all_but_the_first() -> Tested {
    let dir = tempfile::tempdir()?;
    let dir = dir.path();
    put(dir, "monday", &recipe(4, 1))?;
    let wrong = run(dir, &["compare", "monday", "monday", "nowhere", "monday"])?;
    assert_eq!(wrong.status.code(), Some(2));
    let said = String::from_utf8_lossy(&wrong.stderr).into_owned();
    assert!(said.contains("session 3, nowhere: "), "{said}");
    let out = ["compare", "monday", "monday", "monday", "--out-html", "monday/teleassay.toml"];
    let out = run(dir, &out)?;
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("never written over"));

    let own = std::fs::read_to_string(dir.join("monday/teleassay.toml"))?;
    std::fs::write(dir.join("b.toml"), own.replace("\"elbow\"", "\"hinge\""))?;
    let days = ["monday", "monday", "monday", "--profile-b", "b.toml"];
    let document = json(dir, &days)?;
    let joints = |at: usize| document["sessions"][at]["joints"].to_string();
    assert!(joints(0).contains("elbow") && !joints(0).contains("hinge"), "{}", joints(0));
    for at in [1, 2] {
        assert!(joints(at).contains("hinge") && !joints(at).contains("elbow"), "{}", joints(at));
    }
    // The elbow is in the first alone: there is nothing to follow.
    assert!(elbow(&document).is_err());
    let shown = text(&run(dir, &compare(&days, &[]))?);
    assert!(shown.starts_with("x DIFFERS  schema since monday (2) (2 of 3 sessions)"), "{shown}");

    let same = text(&run(dir, &["compare", "monday", "monday", "monday"])?);
    assert!(
        same.starts_with(
            "= same  all 3 sessions on the rig. monday (2) and monday (3) hold the same"
        ),
        "{same}"
    );

    // A file of the last session that is cut short is no plain yes.
    put(dir, "tuesday", &recipe(5, 1))?;
    let part = std::fs::read_dir(dir.join("monday"))?.filter_map(Result::ok).map(|e| e.path());
    let part = part.into_iter().find(|path| path.extension() == Some("parquet".as_ref()));
    let whole = std::fs::read(part.ok_or("no part")?)?;
    std::fs::write(dir.join("tuesday/part-99.parquet"), &whole[..whole.len() / 2])?;
    let out = run(dir, &["compare", "monday", "monday", "tuesday", "--fail-on", "never"])?;
    assert_eq!(out.status.code(), Some(1));
    let shown = text(&out);
    let first = shown.lines().take(3).map(str::trim).collect::<Vec<_>>().join(" ");
    assert!(
        first.contains("But 1 file could not be read") && !first.starts_with("= same"),
        "{first}"
    );
    assert!(shown.contains("  - 3: tuesday/part-99.parquet: "), "{shown}");
    Ok(())
}
