//! `--baseline`: only what is new or worse fails.

use std::error::Error;
use std::fs;

use serde_json::Value;
use teleassay::report::{JsonDetail, schema};
use tempfile::TempDir;

use super::schema::faults;
use crate::support::binary::{Tested, run, said};
use crate::support::card::list;

/// A demo session of 24 episodes, and its scorecard.
fn session() -> Result<(TempDir, String, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let data = dir.path().join("s").to_string_lossy().into_owned();
    let card = dir.path().join("before.parquet").to_string_lossy().into_owned();
    run(&["demo", &data])?;
    run(&["audit", &data, "--out-measurements", &card])?;
    Ok((dir, data, card))
}

/// The exit code, and the document.
fn held(args: &[&str]) -> Result<(Option<i32>, Value), Box<dyn Error>> {
    let output = run(&[args, &["--format", "json"]].concat())?;
    let document = serde_json::from_slice(&output.stdout).map_err(|_| said(&output))?;
    Ok((output.status.code(), document))
}

/// Findings of episodes and session by whether they are known.
fn counted(document: &Value) -> (u64, u64) {
    let episodes = list(document, "episodes").iter().flat_map(|e| list(e, "findings"));
    let all = episodes.chain(list(&document["session"], "findings"));
    let (known, new): (Vec<_>, Vec<_>) = all.partition(|finding| finding["known"] == true);
    (known.len() as u64, new.len() as u64)
}

#[test]
fn what_was_there_before_does_not_fail() -> Tested {
    let (_dir, data, card) = session()?;
    let plain = held(&["audit", &data])?;
    assert_eq!(plain.0, Some(1));
    assert!(plain.1["session"]["baseline"].is_null());
    for command in [vec!["audit", &data], vec!["judge", &card]] {
        let same = card.replace("before", "copy");
        fs::copy(&card, &same)?;
        let args = [command, vec!["--baseline", &same, "--fail-on", "warn"]].concat();
        let (code, document) = held(&args)?;
        assert_eq!(code, Some(0), "{args:?}");
        let compared = &document["session"]["baseline"];
        assert_eq!((&compared["new"], &compared["verdict"]), (&0.into(), &"pass".into()));
        assert_eq!(Some(counted(&document).0), compared["known"].as_u64());
        assert!(counted(&document).0 >= 8 && counted(&document).1 == 0);
        // Shown all the same.
        assert_eq!(document["session"]["verdict"], "fail");
        let schema: Value = serde_json::from_str(&schema(JsonDetail::Findings))?;
        assert_eq!(faults(&schema, &document)?, Vec::<String>::new());
    }
    Ok(())
}

#[test]
fn what_is_new_or_worse_fails() -> Tested {
    let (dir, data, card) = session()?;
    // The baseline knows the first of three files only.
    let part = dir.path().join("part.parquet").to_string_lossy().into_owned();
    run(&["audit", &format!("{data}/part-0.parquet"), "--out-measurements", &part])?;
    let (code, document) = held(&["audit", &data, "--baseline", &part])?;
    assert_eq!(code, Some(1));
    let (known, new) = counted(&document);
    assert!(known > 0 && new > 0, "{known} known, {new} new");
    // The first line says what counts.
    let first = |baseline: &str| -> Result<String, Box<dyn Error>> {
        let output = run(&["audit", &data, "--baseline", baseline])?;
        Ok(String::from_utf8_lossy(&output.stdout).lines().next().unwrap_or_default().to_owned())
    };
    let printed = first(&part)?;
    assert!(
        printed.starts_with(&format!("x FAIL  {new} new findings beyond the baseline.")),
        "{printed}"
    );
    let printed = first(&card)?;
    assert!(
        printed.starts_with(". ok    Nothing is new or worse than in the baseline."),
        "{printed}"
    );
    for (number, episode) in list(&document, "episodes").iter().enumerate() {
        for finding in list(episode, "findings").iter().filter(|f| f["severity"] == "fail") {
            assert_eq!(finding["known"], number < 8, "episode {number}: {finding}");
        }
    }
    // Stricter limits hold for both: still nothing is new.
    let profile = dir.path().join("strict.toml").to_string_lossy().into_owned();
    fs::write(&profile, "[limits.tracking-lag]\nlag = { warn = 0.01, fail = 0.02 }\n")?;
    let strict = ["judge", &card, "--profile", &profile];
    assert_eq!(held(&strict)?.0, Some(1));
    let copy = dir.path().join("copy.parquet").to_string_lossy().into_owned();
    fs::copy(&card, &copy)?;
    let (code, document) = held(&[&strict[..], &["--baseline", &copy]].concat())?;
    assert_eq!((code, counted(&document).1), (Some(0), 0));
    Ok(())
}

#[test]
fn episodes_are_found_again_in_another_order_and_under_other_ids() -> Tested {
    let (dir, data, card) = session()?;
    let turned = dir.path().join("turned");
    fs::create_dir(&turned)?;
    for (number, folder) in ["c", "b", "a"].iter().enumerate() {
        fs::create_dir(turned.join(folder))?;
        let from = format!("{data}/part-{number}.parquet");
        fs::copy(from, turned.join(folder).join("part.parquet"))?;
    }
    let profile = format!("{data}/teleassay.toml");
    let place = turned.to_string_lossy().into_owned();
    let args = ["audit", &place, "--profile", &profile];
    let (code, document) = held(&[&args[..], &["--baseline", &card]].concat())?;
    assert_eq!(list(&document, "episodes")[0]["source"]["path"], format!("{place}/a/part.parquet"));
    let failed = |f: &&Value| f["severity"] == "fail";
    let all: Vec<&Value> = list(&document, "episodes")
        .iter()
        .flat_map(|e| list(e, "findings"))
        .filter(failed)
        .collect();
    assert!(all.len() >= 8 && all.iter().all(|f| f["known"] == true));
    assert_eq!(code, Some(0));
    Ok(())
}

/// Said before minutes of measuring, and before anything is written.
#[test]
fn a_baseline_that_does_not_fit_ends_the_run_at_once() -> Tested {
    let (dir, data, card) = session()?;
    let place = |name: &str| dir.path().join(name).to_string_lossy().into_owned();
    let (other, profile, out) = (place("other.parquet"), place("p.toml"), place("out.parquet"));
    let named = fs::read_to_string(format!("{data}/teleassay.toml"))?;
    fs::write(&profile, named.replace("\"elbow\"", "\"hinge\""))?;
    run(&["audit", &data, "--profile", &profile, "--out-measurements", &other])?;
    let missing = place("missing.parquet");
    for (baseline, words) in [(&other, "another rig"), (&missing, "missing.parquet")] {
        let args = ["audit", &data, "--baseline", baseline, "--out-measurements", &out];
        let output = run(&args)?;
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert!(said(&output).contains(words) && said(&output).contains("hint: "));
        assert!(!fs::exists(&out)?, "{words}");
        assert_eq!(run(&["judge", &card, "--baseline", baseline])?.status.code(), Some(2));
    }
    Ok(())
}

#[test]
fn people_read_what_is_new() -> Tested {
    let (_dir, data, card) = session()?;
    for (options, words) in [
        (vec![], "known findings not counted; 0 new"),
        (vec!["--format", "markdown"], "known findings not counted; 0 new"),
        (vec!["--plain"], "baseline\tpass\t"),
        (vec!["--episode", "15"], "(known)"),
    ] {
        let args = [vec!["audit", &data, "--baseline", &card], options].concat();
        let text = String::from_utf8(run(&args)?.stdout)?;
        assert!(text.contains(words), "{args:?}: {text}");
    }
    Ok(())
}
