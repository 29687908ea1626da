//! The HTML report as a file; what it does in a browser is tested by `scripts/browser`.

use std::error::Error;
use std::fs;

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
    for word in ["src=", "href=", "http:", "https:", "@import", "url("] {
        assert!(!text.contains(word), "{word}");
    }
    assert!(text.contains("Re-record or drop") && text.contains("not a safety function"));
    let sections: Vec<&str> =
        text.split("<h2>").skip(1).filter_map(|s| s.split('<').next()).collect();
    let at = |name: &str| sections.iter().position(|section| *section == name);
    assert!(at("What the session holds").is_some() && text.contains("<li>coverage: starts "));
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
    for (at, episode) in episodes.iter().enumerate() {
        assert_eq!(data["id"][at], episode["episode"]);
        let findings = episode["findings"].as_array().map_or(0, Vec::len) as u64;
        let first = |at: usize| data["first"][at].as_u64().unwrap_or(0);
        assert_eq!(first(at + 1) - first(at), findings, "episode {at}");
        let traced = text.contains(&format!("data-episode=\"{at}\""));
        assert!(traced || findings == 0, "episode {at}");
    }
    Ok(())
}
