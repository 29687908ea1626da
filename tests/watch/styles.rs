//! Three styles of writing: each episode is judged once, the same as by `audit`.

use std::collections::BTreeSet;
use std::io::{BufRead as _, BufReader};

use super::running::{Ended, Place, Watching, verdicts, writer};
use crate::support::binary::Tested;

/// Episodes a second.
const RATE: f64 = 5.0;

fn follow(style: &str, episodes: usize, more: &[&str]) -> Tested {
    let place = Place::new()?;
    let table = place.demo(episodes)?;
    let watching = Watching::start(&place, more)?;
    let mut writer = writer(&table, &place.folder, style, 1.0 / RATE, episodes)?;
    // The last one of a file that grows is judged when the file ends.
    watching.until(episodes)?;
    assert!(writer.wait()?.success());
    let ended = watching.end()?;
    same_as_audit(&place, &ended, episodes)
}

fn same_as_audit(place: &Place, ended: &Ended, episodes: usize) -> Tested {
    let ids: BTreeSet<&str> = ended.episodes.iter().map(|(id, _)| id.as_str()).collect();
    assert_eq!((ids.len(), ended.episodes.len()), (episodes, episodes), "{}", ended.lines);
    let audited = place.audited()?;
    let (ours, theirs) = (verdicts(&ended.report), verdicts(&audited));
    assert_eq!(ours.len(), episodes);
    for (ours, theirs) in ours.iter().zip(&theirs) {
        assert_eq!(ours, theirs);
    }
    for key in ["session", "rig", "columns"] {
        assert_eq!(ended.report[key], audited[key], "{key}");
    }
    // Who fails was said when it landed.
    let failed = |report: &[(String, String, Vec<String>)]| -> BTreeSet<String> {
        report.iter().filter(|one| one.1 == "fail").map(|one| one.0.clone()).collect()
    };
    let said = ended.episodes.iter().filter(|(_, line)| line.contains("x FAIL"));
    let said: BTreeSet<String> = said.map(|(id, _)| id.clone()).collect();
    let again = ended.lines.lines().filter(|line| line.contains("with the rig of more episodes"));
    assert_eq!(again.count(), 0, "{}", ended.lines);
    assert_eq!(said, failed(&theirs), "{}", ended.lines);
    assert_eq!(ended.status.code(), Some(i32::from(!said.is_empty())), "{}", ended.errors);
    Ok(())
}

#[test]
fn files_that_are_written_slowly_in_place() -> Tested {
    follow("slowly", 24, &[])
}

#[test]
fn files_that_are_written_and_then_renamed() -> Tested {
    follow("renamed", 24, &[])
}

#[test]
fn record_batches_that_are_appended_to_a_stream() -> Tested {
    follow("stream", 24, &[])
}

#[test]
fn lines_that_are_appended_to_a_text() -> Tested {
    follow("lines", 8, &[])
}

/// An episode of which rows come after those of the next one was judged too early: that is said, and the
/// report is right all the same.
#[test]
fn interleaved_episodes_are_judged_when_their_file_has_ended() -> Tested {
    let place = Place::new()?;
    let table = place.demo(24)?;
    let watching = Watching::start(&place, &[])?;
    let mut writer = writer(&table, &place.folder, "interleaved", 0.2, 6)?;
    assert!(writer.wait()?.success());
    watching.wait("all are judged again", |one| one.lines().matches("again: ").count() >= 1)?;
    watching.until(7)?;
    let ended = watching.end()?;
    assert!(ended.lines.contains("goes on after it was judged"), "{}", ended.lines);
    assert_eq!(verdicts(&ended.report), verdicts(&place.audited()?));
    Ok(())
}

/// A folder that gives no notices: only rest says that a file is closed.
#[test]
fn a_folder_that_is_looked_through() -> Tested {
    follow("slowly", 8, &["--poll=0.2"])
}

/// The full measure: forty seconds a style.
#[test]
#[ignore = "two minutes; scripts/test runs the short forms"]
fn two_hundred_episodes_in_each_style() -> Tested {
    for style in ["slowly", "renamed", "stream"] {
        follow(style, 200, &[])?;
    }
    Ok(())
}

#[test]
fn the_half_file_of_a_killed_writer_is_reported_and_not_judged() -> Tested {
    let place = Place::new()?;
    let table = place.demo(24)?;
    let watching = Watching::start(&place, &["--unfinished-after", "3"])?;
    let mut whole = writer(&table, &place.folder, "renamed", 0.05, 6)?;
    watching.until(6)?;
    assert!(whole.wait()?.success());
    let mut killed = writer(&table, &place.folder, "cut", 0.2, 7)?;
    let mut said = String::new();
    BufReader::new(killed.stdout.take().ok_or("no output")?).read_line(&mut said)?;
    killed.kill()?;
    killed.wait()?;
    watching.wait("the half file is reported", |one| one.lines().contains("not whole"))?;
    let ended = watching.end()?;
    let reported: Vec<&str> =
        ended.lines.lines().filter(|line| line.contains("not whole: run-6.parquet")).collect();
    assert_eq!(reported.len(), 1, "{}", ended.lines);
    assert!(reported[0].contains("not judged"), "{}", reported[0]);
    assert_eq!(ended.episodes.len(), 6, "{}", ended.lines);
    // What was not read was not checked: the gate is closed, and the report says why.
    assert_eq!(ended.status.code(), Some(1), "{}", ended.errors);
    let unread = &ended.report["unread"][0];
    assert!(unread["reason"].as_str().is_some_and(|why| why.contains("unfinished")), "{unread}");
    Ok(())
}
