//! A day of recording with a clock of the test's own: what is held does not grow with the episodes,
//! but for their names.

use std::error::Error;
use std::fs;
use std::time::Duration;

use super::running::Place;
use crate::support::binary::Tested;
use crate::support::tables::{parquet, session};
use teleassay::app::{AuditRequest, DataRequest, News, Watch, WatchRequest};

/// What may be held of each episode: name, id, where it lies, and numbers that stand for its file. A row of
/// the ledger has some kilobytes.
const MOST_EACH: u64 = 300;

/// The memory of this process, in bytes, as Linux says.
fn memory() -> Result<u64, Box<dyn Error>> {
    let status = fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find(|line| line.starts_with("VmRSS:")).ok_or("no memory")?;
    Ok(line.split_whitespace().nth(1).ok_or("no number")?.parse::<u64>()? << 10)
}

/// Episodes of two seconds land evenly over 24 hours; each file is taken away once it was judged.
fn day(events: u64, settled: u64) -> Result<(u64, u64), Box<dyn Error>> {
    let place = Place::new()?;
    let template = place.file("template.parquet");
    parquet(&template, &session(1)?.slice(60, 90))?;
    let request = WatchRequest {
        audit: AuditRequest { data: DataRequest::new(&place.folder), ..AuditRequest::default() },
        resume: None,
        late: Duration::from_secs(30),
        rest: Duration::from_secs(1),
    };
    let mut watch = Watch::open(request)?;
    let (mut judged, mut before) = (0, 0);
    for event in 0..events {
        let now = Duration::from_secs(86_400).mul_f64(event as f64 / events as f64);
        let path = place.folder.join(format!("run-{event}.parquet"));
        fs::copy(&template, &path)?;
        assert!(watch.noticed(now, &path, true).is_none());
        let news = watch.step(now)?;
        judged += news.iter().filter(|one| matches!(one, News::Episode(_))).count() as u64;
        fs::remove_file(&path)?;
        if event + 1 == settled {
            before = memory()?;
        }
    }
    assert_eq!((judged, watch.episodes() as u64), (events, events));
    Ok((before, memory()?))
}

/// In the company of other tests their memory is seen as well, so only what is judged counts here.
#[test]
fn an_hour_of_episodes_that_vanish_is_judged() -> Tested {
    day(200, 100)?;
    Ok(())
}

#[test]
#[ignore = "some minutes, alone: measures the memory of the whole process"]
fn a_day_of_fifty_thousand_episodes_takes_no_more_memory_than_its_first_hour() -> Tested {
    let (events, settled) = (50_000, 2_000);
    let (before, after) = day(events, settled)?;
    let each = after.saturating_sub(before) / (events - settled);
    let (before, after) = (before >> 20, after >> 20);
    assert!(each <= MOST_EACH, "{before} MB, then {after} MB: {each} B an episode");
    Ok(())
}
