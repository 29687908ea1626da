//! Many episodes, tasks and folders: the screen stays one screen.

use teleassay::demo::{Fault, Recipe};

use super::{SCREEN, Tested, audit, session};
use crate::support::binary::{run, said};
use crate::support::recipes;

const NONE: [&str; 0] = [];

/// Faults in every fifth of many episodes: a few ids are named, and the rest is counted.
#[test]
fn many_episodes() -> Tested {
    let recipe = Recipe { episodes: 200, seed: 41, ..Recipe::default() };
    let lost: Vec<u64> = (0..200).step_by(5).collect();
    let recipe = recipe.with(Fault::DroppedFrames { share: 0.06, burst: 3 }, None, &lost);
    let seen = audit(session(&recipe)?.path(), &NONE)?;
    seen.exits(1).has(&[
        "Exclude or re-record 40 of 200 episodes",
        "and 36 more",
        "exclude: 0 5 10",
    ]);
    seen.has(&["and 10 more (--out-drop-list drop.txt)"]);
    Ok(())
}

/// Five thousand episodes are one screen as well.
#[test]
fn five_thousand_episodes() -> Tested {
    let dir = tempfile::tempdir()?;
    let demo = dir.path().join("many");
    let output = run(&["demo".as_ref(), demo.as_os_str(), "--episodes".as_ref(), "5000".as_ref()])?;
    assert!(output.status.success(), "{}", said(&output));
    let seen = audit(&demo, &NONE)?;
    seen.begins("x FAIL Exclude or re-record 8 of 5000 episodes").exits(1);
    seen.has(&["dropped frames", "dead joint waist", "next: "]);
    Ok(())
}

/// What was stored is judged to the same screen.
#[test]
fn judged_again_it_reads_the_same() -> Tested {
    let dir = session(&recipes::load("nursery.json")?)?;
    let stored = dir.path().join("../measured.parquet");
    let seen = audit(dir.path(), &["--out-scorecard".as_ref(), stored.as_os_str()])?;
    let output = run(&["judge".as_ref(), stored.as_os_str()])?;
    let judged = String::from_utf8(output.stdout)?;
    std::fs::remove_file(&stored)?;
    let body = |text: &str| {
        // A trace and a clean copy need the data.
        let of_data = |line: &&str| line.contains("next: ") || line.contains("clean copy: ");
        let lines = text.lines().filter(|line| !of_data(line));
        lines.map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(body(&seen.text), body(&judged));
    assert!(judged.lines().count() <= SCREEN);
    Ok(())
}

/// What a baseline has as well is marked as known.
#[test]
fn a_baseline_marks_what_is_known() -> Tested {
    let dir = session(&recipes::load("nursery.json")?)?;
    let stored = dir.path().join("../known.parquet");
    audit(dir.path(), &["--out-scorecard".as_ref(), stored.as_os_str()])?;
    let seen = audit(dir.path(), &["--baseline".as_ref(), stored.as_os_str()])?;
    std::fs::remove_file(&stored)?;
    seen.begins(". ok Nothing is new or worse than in the baseline.").exits(0);
    seen.has(&["known: dropped frames"]);
    Ok(())
}

/// One episode has a card of its own.
#[test]
fn one_episode_of_many() -> Tested {
    let dir = session(&recipes::load("nursery.json")?)?;
    let seen = audit(dir.path(), &["--episode", "15"])?;
    assert!(seen.text.contains("dead joint") && !seen.text.contains("dropped frames:"));
    Ok(())
}
