//! A gate that could not look does not open, and the exit code follows what is shown.

use std::error::Error;

use serde_json::Value;
use tempfile::TempDir;

use super::schema::faults;
use crate::support::binary::{Tested, run, said};
use crate::support::card::list;
use crate::support::tables;

/// A sound session without a leader.
fn no_leader() -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let batch = tables::without(&tables::session(6)?, "leader")?;
    let place = dir.path().join("session.parquet");
    tables::parquet(&place, &batch)?;
    Ok((dir, place.to_string_lossy().into_owned()))
}

fn demo() -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    assert_eq!(run(&["demo", &place])?.status.code(), Some(0));
    Ok((dir, place))
}

/// Audits at a gate that only what is required can shut.
fn gate(place: &str, args: &[&str]) -> Result<(Option<i32>, String), Box<dyn Error>> {
    let all = [&["audit", place, "--fail-on", "never"][..], args].concat();
    let output = run(&all)?;
    Ok((output.status.code(), said(&output)))
}

#[test]
fn a_required_check_that_could_not_look_shuts_the_gate_and_says_why() -> Tested {
    let (_dir, place) = no_leader()?;
    assert_eq!(gate(&place, &[])?.0, Some(0));
    for check in ["tracking-lag", "Tracking Lag", "tracking"] {
        let (code, text) = gate(&place, &["--require", check])?;
        assert_eq!(code, Some(1), "{check}: {text}");
        assert!(text.contains("is required") && text.contains("no leader column"), "{text}");
    }
    // Quiet prints no screen, and still what kept the tool from doing what it was asked for.
    let quiet = run(&["audit", &place, "--require", "tracking-lag", "--quiet"])?;
    assert_eq!(quiet.status.code(), Some(1));
    assert!(quiet.stdout.is_empty() && said(&quiet).contains("no leader column"));
    // What could look opens it, and says how often it did.
    let (code, text) = gate(&place, &["--require", "timing,missing-values"])?;
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("gate: assessed"), "{text}");
    // What was left out was not looked at.
    let (code, text) = gate(&place, &["--require", "spikes", "--only", "dropped-frames"])?;
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("--only"), "{text}");
    let (code, text) = gate(&place, &["--require", "traking-lag"])?;
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("did you mean \"tracking-lag\"?"), "{text}");
    Ok(())
}

#[test]
fn the_share_that_must_be_assessed_is_of_each_check_in_each_episode() -> Tested {
    let (_dir, place) = no_leader()?;
    let (code, text) = gate(&place, &["--min-assessed", "90 %"])?;
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("90 % must be assessed") && text.contains("no leader column"), "{text}");
    assert_eq!(gate(&place, &["--min-assessed", "0.1"])?.0, Some(0));
    let (code, _) = gate(&place, &["--require", "missing-values", "--min-assessed", "1"])?;
    assert_eq!(code, Some(0));
    for wrong in ["90", "0", "-1", "2 s"] {
        let (code, text) = gate(&place, &["--min-assessed", wrong])?;
        assert_eq!(code, Some(2), "{text}");
    }
    assert!(gate(&place, &["--min-assessed", "90"])?.1.contains("write \"90 %\""));
    let output = run(&["audit", &place, "--min-assessed", "90%", "--format", "json"])?;
    let card: Value = serde_json::from_slice(&output.stdout)?;
    let schema: Value =
        serde_json::from_str(&teleassay::report::schema(teleassay::report::JsonDetail::Findings))?;
    assert_eq!(faults(&schema, &card)?, Vec::<String>::new());
    let required = &card["session"]["required"];
    assert_eq!(
        (required["met"].as_bool(), required["min_assessed"].as_f64()),
        (Some(false), Some(0.9))
    );
    // The share is that of the pairs, recomputed from the checks.
    let sum = |key: &str| -> f64 {
        list(required, "checks").iter().filter_map(|check| check[key].as_f64()).sum()
    };
    let share = required["assessed"].as_f64().ok_or("no share")?;
    assert!((share - sum("episodes") / sum("of")).abs() < 1e-12);
    // And each number of episodes is that of the cards with a reading or a finding.
    let shows = |episode: &Value, check: &Value| {
        ["readings", "findings", "suppressed"]
            .iter()
            .any(|part| list(episode, part).iter().any(|one| one["check"] == *check))
    };
    let mut compared = 0;
    for check in list(required, "checks").iter().filter(|check| check["episodes"] != check["of"]) {
        let seen = list(&card, "episodes").iter().filter(|e| shows(e, &check["check"])).count();
        assert_eq!(check["episodes"].as_u64(), Some(seen as u64), "{check}");
        assert!(check["reason"].is_string(), "{check}");
        compared += 1;
    }
    assert!(compared > 5, "{compared}");
    Ok(())
}

#[test]
fn a_stored_scorecard_is_held_to_the_same() -> Tested {
    let (dir, place) = no_leader()?;
    let card = dir.path().join("card.parquet").to_string_lossy().into_owned();
    run(&["audit", &place, "--out-scorecard", &card, "--quiet"])?;
    let judged = |args: &[&str]| -> Result<_, Box<dyn Error>> {
        let output = run(&[&["judge", &card, "--fail-on", "never"][..], args].concat())?;
        Ok((output.status.code(), said(&output)))
    };
    let (code, text) = judged(&["--require", "tracking-lag"])?;
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("no leader column"), "{text}");
    assert_eq!(judged(&["--require", "dropped-frames", "--min-assessed", "100 %"])?.0, Some(0));
    Ok(())
}

#[test]
fn reports_for_machines_carry_what_shut_the_gate() -> Tested {
    let (dir, place) = no_leader()?;
    let junit = dir.path().join("junit.xml");
    let path = junit.to_string_lossy().into_owned();
    for format in ["table", "markdown", "github"] {
        let output = run(&[
            "audit",
            &place,
            "--require",
            "tracking-lag",
            "--format",
            format,
            "--out-junit",
            &path,
        ])?;
        assert_eq!(output.status.code(), Some(1), "{format}");
        let text = String::from_utf8(output.stdout)?;
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains("tracking-lag is required and was not assessed"), "{format}: {text}");
    }
    let text = std::fs::read_to_string(&junit)?;
    assert!(text.contains("type=\"not-assessed\"") && text.contains("teleassay.gate"), "{text}");
    Ok(())
}

#[test]
fn the_exit_code_follows_what_is_shown_in_every_format() -> Tested {
    let (_dir, place) = demo()?;
    let of = |id: &str, more: &[&str]| -> Result<Option<i32>, Box<dyn Error>> {
        Ok(run(&[&["audit", &place, "--episode", id][..], more].concat())?.status.code())
    };
    assert_eq!(run(&["audit", &place])?.status.code(), Some(1), "the session fails");
    for format in ["table", "json", "jsonl"] {
        assert_eq!(of("0", &["--format", format])?, Some(0), "{format}: episode 0 is clean");
        assert_eq!(of("17", &["--format", format])?, Some(1), "{format}: episode 17 fails");
    }
    assert_eq!(of("0", &["--plain"])?, Some(0));
    assert_eq!(of("0", &["--quiet"])?, Some(0));
    assert_eq!(of("17", &["--fail-on", "never"])?, Some(0));
    assert_eq!(of("0", &["--require", "tracking-lag"])?, Some(0));
    Ok(())
}
