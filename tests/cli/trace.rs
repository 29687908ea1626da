//! One episode drawn: on a terminal, as records, as an image.

use std::error::Error;
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

use super::snapshot;
use crate::support::binary::{Tested, run, said};
use crate::support::python::python;

fn demo() -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    let output = run(&["demo", &place])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    Ok((dir, place))
}

fn traced(place: &str, args: &[&str]) -> Result<Output, Box<dyn Error>> {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"));
    command.env_clear().env("LANG", "C.UTF-8").args(["trace", place, "--episode"]).args(args);
    Ok(command.output()?)
}

fn drawn(place: &str, args: &[&str]) -> Result<String, Box<dyn Error>> {
    let output = traced(place, args)?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let text = String::from_utf8(output.stdout)?;
    for line in text.lines() {
        assert!(line.starts_with("  next: ") || line.chars().count() <= 80, "too wide: {line}");
        assert_eq!(line, line.trim_end(), "trailing space");
    }
    // The folder has another name at each run.
    Ok(text.replace(place, "nursery"))
}

#[test]
fn a_terminal_shows_both_arms_and_the_flagged_spans() -> Tested {
    let (_dir, place) = demo()?;
    let text = drawn(&place, &["13", "--joint", "wrist_roll,elbow"])?;
    snapshot("trace-braille", tail(&text));
    let text = drawn(&place, &["2", "--joint", "elbow", "--ascii"])?;
    assert!(text.is_ascii(), "{text}");
    snapshot("trace-ascii", tail(&text));
    Ok(())
}

/// Without the heading: where it is wrapped depends on the length of the folder's name.
fn tail(text: &str) -> &str {
    text.find("  follower: ").map_or(text, |at| &text[at..])
}

#[test]
fn all_joints_are_drawn_and_a_window_shows_its_part() -> Tested {
    let (_dir, place) = demo()?;
    let text = drawn(&place, &["13"])?;
    assert_eq!(text.lines().filter(|line| line.ends_with(", deg")).count(), 6, "{text}");
    let text = drawn(&place, &["13", "--joint", "wrist_roll", "--from", "0", "--to", "5"])?;
    // Both findings of the joint lie between 7 and 11 s.
    assert!(text.contains("2 findings of joints and times that are not drawn"), "{text}");
    let text = drawn(&place, &["13", "--joint", "wrist_roll", "--only", "limit-dwell"])?;
    assert!(text.contains("a  x FAIL") && !text.contains("b  x FAIL"), "{text}");
    Ok(())
}

#[test]
fn stamps_that_run_backward_do_not_fold_the_drawing() -> Tested {
    let (_dir, place) = demo()?;
    let text = drawn(&place, &["8", "--joint", "waist"])?;
    assert!(text.contains("run backward: drawn at even steps"), "{text}");
    Ok(())
}

#[test]
fn wrong_names_and_empty_windows_are_reported() -> Tested {
    let (_dir, place) = demo()?;
    for (args, what, hint) in [
        (&["99"][..], "there is no episode \"99\"", "hint: "),
        (&["2", "--joint", "elbw"], "there is no joint \"elbw\"", "did you mean \"elbow\"?"),
        (&["2", "--from", "99"], "has no frame in that time", "16.10 s long"),
        (&["2", "--from", "-1"], "unexpected argument", ""),
        (&["2", "--out-svg", &format!("{place}/part-0.parquet")], "one of the recordings", ""),
        (&["2", "--out-html", &format!("{place}/part-0.parquet")], "one of the recordings", ""),
        (&["2", "--out-html", "no/such/page.html"], "no/such/page.html", "that the folder exists"),
    ] {
        let output = traced(&place, args)?;
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        let printed = said(&output);
        assert!(printed.contains(what) && printed.contains(hint), "{args:?}: {printed}");
        assert!(output.stdout.is_empty());
    }
    Ok(())
}

#[test]
fn an_episode_of_a_destroyed_file_is_reported_with_the_file() -> Tested {
    let (_dir, place) = demo()?;
    let file = format!("{place}/part-2.parquet");
    let whole = std::fs::read(&file)?;
    std::fs::write(&file, &whole[..whole.len() / 2])?;
    let output = traced(&place, &["17"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("hint: not read: ") && said(&output).contains("part-2.parquet"));
    assert_eq!(traced(&place, &["2"])?.status.code(), Some(0), "the others can still be seen");
    Ok(())
}

#[test]
fn records_hold_every_frame_in_si_units() -> Tested {
    let (_dir, place) = demo()?;
    let output = traced(&place, &["13", "--plain", "--joint", "wrist_roll"])?;
    let text = String::from_utf8(output.stdout)?;
    let of = |kind: &str| {
        let lines = text.lines().map(|line| line.split('\t').collect::<Vec<_>>());
        lines.filter(|fields| fields[0] == kind).collect::<Vec<_>>()
    };
    let (frames, marks) = (of("frame"), of("mark"));
    assert_eq!((of("episode").len(), frames.len()), (1, 403));
    for mark in &marks {
        let (first, last) = mark[7].split_once('-').ok_or("no frames")?;
        let (first, last): (usize, usize) = (first.parse()?, last.parse()?);
        let borne = frames.iter().filter(|frame| frame[6].contains(mark[1])).count();
        assert_eq!(borne, last - first + 1, "{mark:?}");
    }
    assert_eq!(marks.len(), 2);
    let turned: f64 = frames[250][5].parse()?;
    assert!((-1.6..-1.2).contains(&turned), "{turned} is not in radians");
    Ok(())
}

#[test]
fn a_image_is_sound_xml_with_both_lines_and_each_span() -> Tested {
    let (dir, place) = demo()?;
    let file = dir.path().join("trace.svg");
    let svg = file.to_string_lossy().into_owned();
    let output = traced(&place, &["2", "--out-svg", &svg])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let read = "
import sys
from lxml import etree
root = etree.parse(sys.argv[1]).getroot()
count = lambda tag, kind: sum(1 for e in root.iter('{*}' + tag) if e.get('class') == kind)
print(root.tag, count('path', 'leader'), count('path', 'follower'), count('rect', 'hatch'))";
    let output = Command::new(python()?).args(["-c", read, &svg]).output()?;
    let printed = String::from_utf8(output.stdout)?;
    // Six joints, and the eight places of the dropped frames below each of them.
    assert_eq!(
        printed.trim(),
        "{http://www.w3.org/2000/svg}svg 6 6 48",
        "{}",
        said(&Output { stdout: vec![], ..output })
    );
    let first = std::fs::read(&file)?;
    traced(&place, &["2", "--out-svg", &svg])?;
    assert_eq!(std::fs::read(&file)?, first);
    Ok(())
}

#[test]
fn a_page_holds_the_episode_its_findings_and_what_to_draw_first() -> Tested {
    let (dir, place) = demo()?;
    let file = dir.path().join("page.html");
    let name = file.to_string_lossy().into_owned();
    let page = |args: &[&str]| -> Result<String, Box<dyn Error>> {
        let output = traced(&place, &[args, &["--out-html", &name]].concat())?;
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        // The folder has another name at each run, and stands there escaped.
        let escaped = place.replace('/', "&#x2f;");
        Ok(std::fs::read_to_string(&file)?.replace(&escaped, "nursery"))
    };
    let text = page(&["13"])?;
    assert_eq!(text, page(&["13"])?);
    for word in ["src=", "href=", "http:", "https:", "@import", "url(", "{{", "{%"] {
        assert!(!text.contains(word), "{word}");
    }
    let between = |from: &str, to: &str| -> Result<String, Box<dyn Error>> {
        let (_, rest) = text.split_once(from).ok_or("not there")?;
        Ok(rest.split_once(to).ok_or("has no end")?.0.to_owned())
    };
    snapshot("trace-page-first", &between("<body>\n", "<p id=\"e-sum\">")?);
    let data: Value = serde_json::from_str(&between("id=\"data\">", "</script>")?)?;
    assert_eq!(data["id"], serde_json::json!(["13"]));
    assert_eq!(data["drawn"], serde_json::json!([0, 1, 2, 3, 4, 5]));
    assert!(data.get("window").is_none());
    // The same findings and frames as the records have.
    let records = String::from_utf8(traced(&place, &["13", "--plain"])?.stdout)?;
    let fields = records.lines().map(|line| line.split('\t').collect::<Vec<_>>());
    let marks: Vec<String> = fields.filter(|f| f[0] == "mark").map(|f| f[7].to_owned()).collect();
    let spans = data["spans"].as_array().into_iter().flatten().filter_map(Value::as_array);
    let spans: Vec<String> = spans.flatten().map(|s| format!("{}-{}", s[2], s[3])).collect();
    assert_eq!(spans, marks);
    assert_eq!(text.matches("data-episode=\"0\"").count(), 1);
    assert!(text.contains("&quot;n&quot;:403"), "every frame is in it");

    let text = page(&["13", "--joint", "wrist_roll", "--from", "7", "--to", "11.5"])?;
    assert!(text.contains("\"drawn\":[4],\"window\":[7.0,11.5]"), "{text}");
    Ok(())
}

#[test]
fn the_audit_names_the_command_that_draws_the_worst() -> Tested {
    let (_dir, place) = demo()?;
    let next = |args: &[&str]| -> Result<String, Box<dyn Error>> {
        let text = String::from_utf8(run(args)?.stdout)?;
        let last = text.lines().last().unwrap_or_default();
        last.strip_prefix("  next: teleassay ").map(str::to_owned).ok_or_else(|| text.into())
    };
    for args in [&["audit", &place][..], &["audit", &place, "--episode", "13"]] {
        let command = next(args)?;
        assert!(command.starts_with("trace "), "{command}");
        let words: Vec<&str> = command.split(' ').collect();
        assert_eq!(run(&words)?.status.code(), Some(0), "{command}");
    }
    assert!(next(&["audit", &place, "--episode", "13"])?.ends_with("--joint wrist_roll"));
    Ok(())
}
