//! The HTML report as a file; what it does in a browser is tested by `scripts/browser`.

use std::error::Error;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::binary::{Tested, run, said};

/// Writes reports of the demo with some options, gives their text.
fn reports(options: &[&[&str]]) -> Result<Vec<String>, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    run(&["demo", &place])?;
    let mut texts = Vec::new();
    for options in options {
        let file = dir.path().join("report.html").to_string_lossy().into_owned();
        let args = [&["audit", &place, "--out-html", &file], *options].concat();
        let output = run(&args)?;
        assert_eq!(output.status.code(), Some(1), "{}", said(&output));
        texts.push(fs::read_to_string(&file)?);
    }
    Ok(texts)
}

fn between<'a>(text: &'a str, start: &str, end: &str) -> Option<&'a str> {
    let from = text.find(start)? + start.len();
    Some(&text[from..from + text[from..].find(end)?])
}

#[test]
fn the_report_is_one_file_that_asks_for_nothing_and_the_same_at_any_number_of_threads() -> Tested {
    let texts = reports(&[&["--threads", "1"], &["--threads", "2"], &["--threads", "2"]])?;
    assert!(texts[0] == texts[1] && texts[1] == texts[2]);
    let text = &texts[0];
    for word in ["src=", "http:", "https:", "@import", "url("] {
        assert!(!text.contains(word), "{word}");
    }
    // Three files of eight episodes are three groups.
    assert!(
        text.contains("by file: 3 groups")
            && text.contains("part-1.parquet</th><td class=\"n\">8<")
    );
    // Links lead to places of the page itself, and each of them is there.
    assert!(text.matches("<a href=").count() >= 8);
    for link in text.split("<a href=\"").skip(1) {
        let place = link.strip_prefix('#').and_then(|place| place.split('"').next());
        let place = place.ok_or("a link out of the page")?;
        // The demonstration numbers its episodes.
        let episode = place.strip_prefix("episode=").and_then(|id| id.parse::<u8>().ok());
        let known = episode.is_some_and(|id| id < 24);
        assert!(known || text.contains(&format!("id=\"{place}\"")), "{place}");
    }
    assert!(text.contains("Exclude or re-record") && text.contains("not a safety function"));
    let sections: Vec<&str> =
        text.split("<h2>").skip(1).filter_map(|s| s.split('<').next()).collect();
    let at = |name: &str| sections.iter().position(|section| *section == name);
    assert!(at("Session summary").is_some() && text.contains("<li>coverage: starts "));
    assert!(at("Over the session") < at("Normalisation") && at("Normalisation") < at("Episodes"));
    // Nothing of the template is left unfilled.
    assert!(!text.contains("{{") && !text.contains("{%"));
    Ok(())
}

#[test]
fn its_data_are_those_of_the_scorecard_and_every_flagged_episode_has_a_trace() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    run(&["demo", &place])?;
    let (html, json) = (dir.path().join("r.html"), dir.path().join("r.json"));
    let (html, json) = (html.to_string_lossy(), json.to_string_lossy());
    run(&["audit", &place, "--out-html", &html, "--out-json", &json])?;
    let text = fs::read_to_string(&*html)?;
    let data = between(&text, "id=\"data\">", "</script>").ok_or("no data")?;
    let data: Value = serde_json::from_str(data)?;
    let card: Value = serde_json::from_str(&fs::read_to_string(&*json)?)?;
    let episodes = card["episodes"].as_array().ok_or("no episodes")?;
    let checks = data["checks"].as_array().ok_or("no checks")?;
    let gaps = data["gaps"]["not_assessed"].as_array().ok_or("no gaps")?;
    assert_eq!(gaps.len(), checks.len());
    let decode = checks.iter().position(|check| check["id"] == "decode-error").unwrap_or(0);
    // No episode of 24: three bytes of ones in base64 (RFC 4648).
    assert_eq!(gaps[decode], "////");
    for (at, episode) in episodes.iter().enumerate() {
        assert_eq!(data["id"][at], episode["episode"]);
        assert_eq!(data["lines"][at], data["frames"][at], "one row a frame");
        let file = data["file"][at].as_u64().unwrap_or(99) as usize;
        let path = data["files"][file].as_str().unwrap_or_default();
        assert!(path.ends_with(&format!("part-{}.parquet", at / 8)), "{path}");
        let findings = episode["findings"].as_array().map_or(0, Vec::len) as u64;
        let first = |at: usize| data["first"][at].as_u64().unwrap_or(0);
        assert_eq!(first(at + 1) - first(at), findings, "episode {at}");
        let traced = text.contains(&format!("data-episode=\"{at}\""));
        assert!(traced || findings == 0, "episode {at}");
    }
    Ok(())
}

/// Damages the data of a Parquet file; its footer stays whole, so its episodes are still counted.
fn damage(path: &Path) -> Tested {
    let mut bytes = fs::read(path)?;
    let middle = bytes.len() / 4;
    bytes[middle..middle + 2_000].fill(0);
    Ok(fs::write(path, bytes)?)
}

#[test]
fn behind_a_file_that_was_not_read_each_trace_belongs_to_the_episode_that_it_is_drawn_for() -> Tested
{
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session");
    let html = dir.path().join("r.html");
    let (session, page) = (place.to_string_lossy(), html.to_string_lossy());
    run(&["demo", &session])?;
    damage(&place.join("part-1.parquet"))?;
    run(&["audit", &session, "--out-html", &page])?;
    let text = fs::read_to_string(&html)?;
    let data = between(&text, "id=\"data\">", "</script>").ok_or("no data")?;
    let data: Value = serde_json::from_str(data)?;
    assert_eq!((&data["id"][7], &data["id"][8]), (&"7".into(), &"16".into()));
    let mut traced: Vec<u64> = Vec::new();
    for trace in text.split("octet-stream\" data-episode=\"").skip(1) {
        let at = trace.split('"').next().ok_or("no place")?.parse()?;
        let shape = between(trace, "data-shape=\"", "\"").ok_or("no shape")?;
        let shape: Value = serde_json::from_str(&shape.replace("&quot;", "\""))?;
        assert_eq!(shape["n"], data["frames"][usize::try_from(at)?], "card {at}");
        traced.push(at);
    }
    assert!(traced.iter().any(|at| *at >= 8), "none behind the gap: {traced:?}");
    assert_eq!(data["traces"], Value::from(traced));
    // The spans of the findings are there for each of them, and for no other.
    for (at, _) in data["id"].as_array().ok_or("no episodes")?.iter().enumerate() {
        let first = |at: usize| data["first"][at].as_u64().unwrap_or(0) as usize;
        let spans = (first(at)..first(at + 1)).any(|finding| !data["spans"][finding].is_null());
        let traces = data["traces"].as_array().is_some_and(|all| all.contains(&at.into()));
        assert!(traces || !spans, "card {at}");
    }
    Ok(())
}
