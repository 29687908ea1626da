//! A restart goes on where the first run ended, and files may come, go and be renamed.

use std::fs;

use super::running::{Place, Watching, verdicts, writer};
use crate::support::binary::{Tested, run, said};

#[test]
fn a_restart_judges_nothing_again_that_the_measurements_file_holds() -> Tested {
    let place = Place::new()?;
    let table = place.demo(24)?;
    let kept = place.file("day.parquet");
    let kept = kept.to_string_lossy();
    let first = Watching::start(&place, &["--out-measurements", &kept])?;
    let mut one = writer(&table, &place.folder, "renamed", 0.02, 14)?;
    first.until(14)?;
    assert!(one.wait()?.success());
    let ended = first.end()?;
    assert_eq!(ended.episodes.len(), 14, "{}", ended.lines);

    let more = ["--resume", &kept, "--out-measurements", &kept];
    let second = Watching::start(&place, &more)?;
    assert!(second.errors().contains("14 episodes known from before"), "{}", second.errors());
    // The same files are written again by the same writer, the known ones to another folder.
    let other = place.file("other");
    fs::create_dir(&other)?;
    let mut all = writer(&table, &other, "renamed", 0.0, 24)?;
    assert!(all.wait()?.success());
    for number in 14..24 {
        let name = format!("run-{number}.parquet");
        fs::copy(other.join(&name), place.folder.join(&name))?;
    }
    second.until(10)?;
    let ended = second.end()?;
    assert_eq!(ended.episodes.len(), 10, "{}", ended.lines);
    assert_eq!(ended.report["session"]["episodes"], 24);
    // As by an audit on the rig of the first run.
    let report = place.file("rig.json");
    let report = report.to_string_lossy();
    let folder = place.folder.to_string_lossy();
    let output = run(&["audit", &folder, "--rig", &kept, "--quiet", "--out-json", &report])?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    let audited: serde_json::Value = serde_json::from_slice(&fs::read(&*report)?)?;
    assert_eq!(verdicts(&ended.report), verdicts(&audited));
    Ok(())
}

#[test]
fn a_file_that_is_moved_is_not_judged_again_and_one_that_is_gone_stays_in_the_report() -> Tested {
    let place = Place::new()?;
    let table = place.demo(24)?;
    let watching = Watching::start(&place, &[])?;
    let mut one = writer(&table, &place.folder, "renamed", 0.02, 5)?;
    watching.until(5)?;
    assert!(one.wait()?.success());
    fs::create_dir(place.folder.join("done"))?;
    fs::rename(place.folder.join("run-0.parquet"), place.folder.join("done/run-0.parquet"))?;
    fs::rename(place.folder.join("run-1.parquet"), place.file("uploaded.parquet"))?;
    // Long enough for the folder to be looked through.
    std::thread::sleep(std::time::Duration::from_secs(6));
    let ended = watching.end()?;
    assert_eq!(ended.episodes.len(), 5, "{}", ended.lines);
    assert_eq!(ended.report["session"]["episodes"], 5);
    let paths = ended.report["inputs"].to_string();
    assert!(paths.contains("done/run-0.parquet") && paths.contains("run-1.parquet"), "{paths}");
    Ok(())
}

#[test]
fn a_folder_where_nothing_lands_says_so() -> Tested {
    let place = Place::new()?;
    let ended = Watching::start(&place, &[])?.end()?;
    assert_eq!(ended.status.code(), Some(3), "{}", ended.errors);
    assert!(ended.errors.contains("no episode landed"), "{}", ended.errors);
    let output = run(&["watch", &place.file("none").to_string_lossy()])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("is not a folder"), "{}", said(&output));
    Ok(())
}
