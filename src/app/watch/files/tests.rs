//! Files that are written in every style, with a clock of the test's own.

use super::*;

const REST: Rest = Rest {
    short: Duration::from_secs(1),
    long: Duration::from_secs(10),
    late: Duration::from_secs(30),
};

fn ms(number: u64) -> Duration {
    Duration::from_millis(number)
}

fn seen(bytes: u64) -> Seen {
    Seen { bytes, changed_ns: u128::from(bytes), node: 7 }
}

fn paths(due: &[Due]) -> Vec<(&str, Certain)> {
    due.iter().map(|due| (due.path.to_str().unwrap_or_default(), due.certain)).collect()
}

#[test]
fn a_file_that_is_closed_is_due_at_once_and_only_once() {
    let mut files = Files::new(REST);
    let path = Path::new("a");
    files.found(ms(0), path, seen(5), ms(0), false);
    assert!(files.due(ms(100)).is_empty());
    files.found(ms(200), path, seen(9), ms(0), true);
    assert_eq!(paths(&files.due(ms(200))), [("a", Certain::Closed)]);
    files.done(path, seen(9));
    // Whoever closes it again, or looks at it, has not changed it.
    files.found(ms(300), path, seen(9), ms(0), true);
    assert!(files.due(ms(99_000)).is_empty() && files.waiting().next().is_none());
    // Written again under its name, it is another recording.
    files.found(ms(400), path, seen(3), ms(0), true);
    assert_eq!(files.due(ms(400)).len(), 1);
}

#[test]
fn a_slow_writer_is_waited_for_and_one_that_was_killed_is_reported_once() {
    let mut files = Files::new(REST);
    let path = Path::new("slow");
    let mut looks = Vec::new();
    for step in 0..50 {
        let now = ms(100 * step);
        files.found(now, path, seen(step + 1), ms(0), false);
        for due in files.due(now) {
            looks.push((step, due.certain));
            files.wait(now, &due, "no footer".to_owned());
        }
    }
    // About once a second, and never as a file that is whole.
    assert!((3..=5).contains(&looks.len()), "{looks:?}");
    assert!(looks.iter().all(|(_, certain)| *certain == Certain::Writing), "{looks:?}");
    let (mut after, mut late) = (Vec::new(), Vec::new());
    for now in (5_000..120_000).step_by(200).map(ms) {
        for due in files.due(now) {
            after.push(due.certain);
            files.wait(now, &due, "no footer".to_owned());
        }
        late.extend(files.late(now));
    }
    // One more look at what was written last, then what rest says.
    assert_eq!(after, [Certain::Writing, Certain::Resting, Certain::Settled]);
    assert_eq!(late.len(), 1);
    assert_eq!((late[0].why.as_str(), late[0].rest.as_secs()), ("no footer", 30));
    // Should it go on after all, it is looked at as any other.
    files.found(ms(130_000), path, seen(99), ms(0), true);
    assert_eq!(paths(&files.due(ms(130_000))), [("slow", Certain::Closed)]);
}

#[test]
fn what_lay_there_before_has_been_at_rest() {
    let mut files = Files::new(REST);
    files.found(ms(0), Path::new("old"), seen(1), ms(3_600_000), false);
    files.found(ms(0), Path::new("new"), seen(1), ms(100), false);
    assert_eq!(paths(&files.due(ms(0))), [("old", Certain::Settled)]);
    assert_eq!(paths(&files.due(ms(900))), [("new", Certain::Resting), ("old", Certain::Settled)]);
}

#[test]
fn a_logger_that_opens_its_file_for_each_row_is_not_done_when_it_closes_it() {
    let mut files = Files::new(REST);
    let path = Path::new("rows.csv");
    for step in 1..6 {
        let now = ms(1_500 * step);
        files.found(now, path, seen(step), ms(0), true);
        for due in files.due(now) {
            files.wait(now, &due, "its last episode has not ended".to_owned());
        }
    }
    let settled =
        |files: &Files, now| paths(&files.due(now)).contains(&("rows.csv", Certain::Settled));
    assert!(!settled(&files, ms(9_000)) && settled(&files, ms(17_500)));
}

#[test]
fn a_file_that_vanishes_is_waited_for_no_more() {
    let mut files = Files::new(REST);
    files.found(ms(0), Path::new("a"), seen(1), ms(0), false);
    assert!(files.gone(Path::new("a")) && !files.gone(Path::new("a")));
    assert!(files.due(ms(99_000)).is_empty() && files.unfinished(ms(0)).is_empty());
}

/// 24 hours with 50,000 files: what is kept of each that is done is two numbers.
#[test]
fn a_day_of_files_leaves_two_numbers_each() {
    let mut files = Files::new(REST);
    let mut due = 0;
    for episode in 0..50_000u64 {
        let now = ms(episode * 86_400_000 / 50_000);
        let path = PathBuf::from(format!("/data/session/episode-{episode}.parquet"));
        files.found(now, &path, seen(episode), ms(0), false);
        files.found(now + ms(900), &path, seen(episode + 1), ms(0), true);
        for one in files.due(now + ms(900)) {
            files.done(&one.path, one.seen);
            due += 1;
        }
        assert!(files.pending.len() <= 1);
    }
    assert_eq!((due, files.done.len(), files.pending.len()), (50_000, 50_000, 0));
    // A table of two words an entry, which doubles: 16 B of each 2 places at most, and a byte.
    assert!(files.done.capacity() * 17 < 4 << 20, "{}", files.done.capacity());
}
