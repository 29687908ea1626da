//! What people type: names of checks, habitual options, columns without a profile.

use std::error::Error;

use assert_cmd::Command;
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::card::list;
use crate::support::tables;

fn demo() -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    assert_eq!(run(&["demo", &place, "--episodes", "6"])?.status.code(), Some(0));
    Ok((dir, place))
}

fn printed(args: &[&str]) -> Result<String, Box<dyn Error>> {
    let output = run(args)?;
    assert_eq!(output.status.code(), Some(0), "{args:?}: {}", said(&output));
    Ok(String::from_utf8(output.stdout)?)
}

#[test]
fn explain_takes_ids_titles_families_and_beginnings() -> Tested {
    let page = printed(&["explain", "gain-mismatch"])?;
    for typed in [&["gain mismatch"][..], &["gain", "mismatch"], &["GAIN_Mismatch"], &["gain"]] {
        assert_eq!(printed(&[&["explain"][..], typed].concat())?, page, "{typed:?}");
    }
    let family = printed(&["explain", "Cameras"])?;
    assert!(family.contains("camera-frames") && family.contains("camera-skew"), "{family}");
    assert!(!family.contains("tracking-lag"), "{family}");
    let two = printed(&["explain", "dead-joint", "tracking-lag"])?;
    assert!(two.contains("dead-joint - dead joint") && two.contains("tracking-lag - tracking lag"));
    for (typed, hint) in [
        ("track", "one of: tracking (the family), tracking-lag"),
        ("trackinglag", "did you mean \"tracking-lag\"?"),
        ("jitter", "did you mean \"timestamp-jitter\"?"),
        ("dropped_share", "dropped-frames"),
    ] {
        let output = run(&["explain", typed])?;
        assert_eq!(output.status.code(), Some(2), "{typed}");
        assert!(said(&output).contains(hint), "{typed}: {}", said(&output));
    }
    Ok(())
}

#[test]
fn checks_are_chosen_by_title_and_family() -> Tested {
    let (_dir, place) = demo()?;
    let checks = |args: &[&str]| -> Result<Vec<String>, Box<dyn Error>> {
        let card = scorecard(&[&[place.as_str()][..], args].concat())?;
        let all = list(&card, "episodes").iter().flat_map(|e| list(e, "readings"));
        let mut ids: Vec<String> =
            all.filter_map(|r| r["check"].as_str().map(str::to_owned)).collect();
        ids.sort();
        ids.dedup();
        Ok(ids)
    };
    assert_eq!(checks(&["--only", "Tracking Lag,dropped"])?, ["dropped-frames", "tracking-lag"]);
    let tracking = checks(&["--only", "tracking"])?;
    assert!(tracking.len() > 5 && tracking.contains(&"neutral-offset".to_owned()), "{tracking:?}");
    let rest = checks(&["--skip", "tracking"])?;
    assert!(!rest.is_empty() && rest.iter().all(|id| !tracking.contains(id)), "{rest:?}");
    Ok(())
}

#[test]
fn a_habitual_option_gets_the_right_one() -> Tested {
    for (args, tip) in [
        (&["audit", "x", "--json"][..], "--out-json FILE"),
        (&["audit", "x", "--html", "y"], "--out-html FILE"),
        (&["audit", "x", "--fps", "30"], "--rate HZ"),
        (&["columns", "x", "--hz", "30"], "--rate HZ"),
        (&["audit", "x", "-o", "y"], "--out-html FILE"),
        (&["audit", "x", "-v"], "--plain"),
        (&["audit", "x", "--config", "y"], "--profile FILE"),
        (&["judge", "x", "--rate", "30"], "--rate is an option of audit"),
        (&["diff", "x", "y"], "teleassay compare"),
    ] {
        let output = run(args)?;
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        let text = said(&output);
        assert!(text.contains("tip: ") && text.contains(tip), "{args:?}: {text}");
        assert!(!text.contains("as a value"), "{args:?}: {text}");
    }
    Ok(())
}

#[test]
fn quiet_is_quiet_and_data_is_still_written() -> Tested {
    let (dir, place) = demo()?;
    let loud = run(&["audit", &place])?;
    let quiet = run(&["audit", &place, "--quiet"])?;
    assert_eq!(quiet.status.code(), loud.status.code());
    assert!(!loud.stdout.is_empty() && quiet.stdout.is_empty() && quiet.stderr.is_empty());
    let json = run(&["audit", &place, "-q", "--format", "json"])?;
    assert!(json.stdout.starts_with(b"{"), "what was asked for by its format is no screen");
    let page = dir.path().join("page.html").to_string_lossy().into_owned();
    let card = dir.path().join("card.parquet").to_string_lossy().into_owned();
    let both = ["audit", &place, "-q", "--out-html", &page, "--out-scorecard", &card];
    assert!(run(&both)?.stdout.is_empty());
    assert!(std::fs::metadata(&page)?.len() > 1000);
    for args in [&["judge", &card, "-q"][..], &["compare", &place, &card, "-q"]] {
        let output = run(args)?;
        assert!(output.stdout.is_empty() && output.stderr.is_empty(), "{args:?}");
    }
    let bar = run(&["audit", &place, "--no-progress"])?;
    assert_eq!(bar.stdout, loud.stdout, "the bar is no part of the screen");
    let wrong = run(&["audit", "no/such/folder", "--quiet"])?;
    assert!(said(&wrong).starts_with("error: "), "{}", said(&wrong));
    Ok(())
}

/// Names that say nothing, so that somebody must.
fn unnamed() -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let batch = tables::session(3)?;
    let mut renamed = Vec::new();
    for (from, to) in [("episode", "nr"), ("time", "when"), ("follower", "m*"), ("leader", "hand")]
    {
        let column = batch.column_by_name(from).ok_or("no such column")?;
        renamed.push((to, std::sync::Arc::clone(column)));
    }
    let batch = arrow::array::RecordBatch::try_from_iter(renamed)?;
    let place = dir.path().join("a.parquet");
    tables::parquet(&place, &batch)?;
    Ok((dir, place.to_string_lossy().into_owned()))
}

const STATED: [&str; 10] = [
    "--state",
    "m*",
    "--action",
    "hand",
    "--time",
    "when",
    "--episode-column",
    "nr",
    "--unit",
    "deg",
];

#[test]
fn columns_and_unit_are_stated_without_a_profile() -> Tested {
    let (dir, place) = unnamed()?;
    let output = run(&["audit", &place])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("--time COLUMN"), "{}", said(&output));
    let card = scorecard(&[&[place.as_str()][..], &STATED].concat())?;
    assert_eq!(list(&card, "episodes").len(), 3);
    assert_eq!(card["columns"]["action"][0], "hand");
    assert_eq!(card["rig"]["unit"], "deg");
    // The commands to paste carry them, and work as they stand.
    let screen = run(&[&["audit", place.as_str(), "--fail-on", "never"][..], &STATED].concat())?;
    let text = String::from_utf8(screen.stdout)?;
    let next = text.lines().rev().find_map(|line| line.trim().strip_prefix("next: teleassay "));
    let next = shlex::split(next.ok_or("no command")?).ok_or("no words")?;
    assert!(next.windows(2).any(|pair| pair == ["--state", "m*"]), "{next:?}");
    assert!(next.windows(2).any(|pair| pair == ["--episode-column", "nr"]), "{next:?}");
    let pasted = Command::cargo_bin("teleassay")?.current_dir(&dir).args(&next).output()?;
    assert_eq!(pasted.status.code(), Some(0), "{next:?}: {}", said(&pasted));
    // Each command that reads data takes them.
    for args in [&["columns", &place][..], &["trace", &place, "--episode", "1"]] {
        let output = run(&[args, &STATED].concat())?;
        assert_eq!(output.status.code(), Some(0), "{args:?}: {}", said(&output));
    }
    let compared = run(&[&["compare", &place, &place, "--rate", "30"][..], &STATED].concat())?;
    assert_eq!(compared.status.code(), Some(0), "{}", said(&compared));
    // They go before the profile.
    let profile = dir.path().join("teleassay.toml");
    std::fs::write(&profile, "[columns]\nstate = [\"hand\"]\n[rig]\nunit = \"rad\"\n")?;
    let card = scorecard(&[&[place.as_str()][..], &STATED].concat())?;
    assert_eq!((&card["columns"]["state"][0], &card["rig"]["unit"]), (&"m*".into(), &"deg".into()));
    let output = run(&["columns", &place, "--unit", "grad"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("counts:4096"), "{}", said(&output));
    Ok(())
}

#[test]
fn a_rate_that_nobody_can_use_is_refused() -> Tested {
    let (dir, place) = demo()?;
    let card = dir.path().join("card.parquet").to_string_lossy().into_owned();
    run(&["audit", &place, "-q", "--out-scorecard", &card])?;
    let output = run(&["compare", &card, &card, "--rate", "30"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("when data is measured"), "{}", said(&output));
    assert_ne!(run(&["compare", &card, &place, "--rate", "30 Hz"])?.status.code(), Some(2));
    Ok(())
}

#[test]
fn unused_columns_are_listed_with_a_line_that_works() -> Tested {
    let (dir, place) = unnamed()?;
    let some = ["--state", "m*", "--time", "when"];
    let text = printed(&[&["columns", place.as_str()][..], &some].concat())?;
    assert!(text.contains("not used"), "{text}");
    let lines: Vec<&str> = text.lines().filter(|line| line.contains("# under [columns]")).collect();
    let action = lines.iter().find(|line| line.contains("hand")).ok_or("no line")?;
    let profile = dir.path().join("teleassay.toml");
    std::fs::write(
        &profile,
        format!("[columns]\n{}\nstate = [\"m*\"]\ntime = \"when\"\n", action.trim()),
    )?;
    let text = printed(&["columns", &place])?;
    let role = text.lines().find(|line| line.trim().starts_with("action")).unwrap_or_default();
    assert!(role.contains("hand") && role.contains("declared"), "{text}");
    Ok(())
}
