//! What is printed and written while a session goes on, and at its end.

use std::fs;

use serde_json::Value;

use super::running::{Place, Watching, writer};
use crate::support::binary::{Tested, run, said};

#[test]
fn the_page_loads_itself_again_until_the_session_ends() -> Tested {
    let place = Place::new()?;
    let table = place.demo(24)?;
    let (page, kept) = (place.file("live.html"), place.file("day.parquet"));
    let (html, parquet) = (page.to_string_lossy(), kept.to_string_lossy());
    let more = ["--out-html", &html, "--out-measurements", &parquet];
    let watching = Watching::start(&place, &more)?;
    let mut all = writer(&table, &place.folder, "renamed", 0.05, 10)?;
    watching.until(10)?;
    assert!(all.wait()?.success());
    let read = || fs::read_to_string(&page).unwrap_or_default();
    watching.wait("the page is there", |_| read().contains("10 episodes"))?;
    let live = read();
    assert!(live.contains("loads itself again") && live.contains("location.reload()"));
    // It is whole at any time, and asks for nothing but itself.
    assert!(live.trim_end().ends_with("</html>"));
    assert!(!live.contains("http://") && !live.contains("https://"), "a page with an address");
    // The measurements file can be judged while the session goes on: a power cut loses seconds.
    let judged = run(&["judge", &parquet, "--format", "json"])?;
    let judged: Value = serde_json::from_slice(&judged.stdout)?;
    assert_eq!(judged["session"]["episodes"], 10);
    watching.end()?;
    let last = read();
    assert!(!last.contains("loads itself again") && last.contains("10 episodes"));
    Ok(())
}

#[test]
fn a_program_that_reads_standard_output_gets_the_report_alone() -> Tested {
    let place = Place::new()?;
    let table = place.demo(24)?;
    let keep = place.file("keep.txt");
    let more = ["--format", "json", "--out-keep-list", &keep.to_string_lossy(), "--exec", "false"];
    let watching = Watching::start(&place, &more)?;
    let mut all = writer(&table, &place.folder, "renamed", 0.02, 4)?;
    watching.wait("four episodes", |one| one.errors().matches("  ep ").count() >= 4)?;
    assert!(all.wait()?.success());
    watching.wait("a failed command is a warning", |one| one.errors().contains("false failed"))?;
    let ended = watching.end()?;
    let printed: Value = serde_json::from_str(&ended.lines)?;
    assert_eq!(printed["session"]["episodes"], 4);
    assert_eq!(fs::read_to_string(keep)?.lines().count(), 3);
    Ok(())
}

#[test]
fn what_lies_there_already_is_judged_first_and_summed_up() -> Tested {
    let place = Place::new()?;
    let table = place.demo(24)?;
    let mut all = writer(&table, &place.folder, "renamed", 0.0, 24)?;
    assert!(all.wait()?.success());
    // A note, a hidden file and a file of this tool are no recordings.
    fs::write(place.folder.join("notes.csv"), "a,b\n1,2\n")?;
    fs::write(place.folder.join(".run-99.parquet"), "half")?;
    let own = place.folder.join("earlier.parquet").to_string_lossy().into_owned();
    let folder = place.folder.to_string_lossy().into_owned();
    run(&["audit", &folder, "--quiet", "--out-measurements", &own])?;
    let watching = Watching::start(&place, &[])?;
    watching.wait("a tally", |one| one.lines().contains("there already: 24 episodes"))?;
    let ended = watching.end()?;
    assert!(!ended.lines.contains(". ok    "), "{}", ended.lines);
    assert_eq!(ended.report["episodes"], place.audited()?["episodes"]);
    Ok(())
}

#[test]
fn what_cannot_be_watched_is_refused_at_once() -> Tested {
    let place = Place::new()?;
    let folder = place.folder.to_string_lossy().into_owned();
    let recording = place.folder.join("run.parquet").to_string_lossy().into_owned();
    fs::write(&recording, "PAR1")?;
    for (more, what) in [
        (&["--episode", "7"][..], "--episode is not for watch"),
        (&["--exec", "light {colour}"], "{colour} is not known"),
        (&["--resume", "no-such-file.parquet"], "no-such-file.parquet: cannot be opened"),
        (&["--out-measurements", &recording], "is there and no file of this tool"),
        (&["--unfinished-after", "soon"], "soon"),
    ] {
        let output = run(&[&["watch", &folder][..], more].concat())?;
        assert_eq!(output.status.code(), Some(2), "{more:?}: {}", said(&output));
        assert!(said(&output).contains(what), "{more:?}: {}", said(&output));
    }
    Ok(())
}
