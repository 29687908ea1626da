//! The normalisation table on a terminal, and the line that says where it would mislead.

use std::io::{self, Write};
use std::sync::Arc;

use teleassay::cohort::normalisation::{dimension, dimensions};
use teleassay::model::{Channels, Episode, EpisodeKey, Extras, Ledger, Row, RowRange, Sketch};
use teleassay::report::{self, Detail, View};

use super::outcome::{Stage, healthy, rig};
use super::snapshot;
use crate::support::binary::{Tested, run, said, scorecard};

/// Six joints that go evenly from 0 to 1 rad, but for a wrist that stands; the leader is 0.1 rad
/// beyond, and its jaw is metres.
fn stage(steady: bool) -> Stage {
    let mut stage = healthy();
    stage.rig.joints[5].linear = true;
    let frames = 1_001;
    let ramp = |joint: usize, i: usize| {
        if joint == 4 && steady { 0.25 } else { i as f32 / (frames - 1) as f32 }
    };
    let values = |more: f32| {
        let of = move |joint| (0..frames).map(move |i| ramp(joint, i) + more);
        Channels::new((0..6).flat_map(of).collect(), frames, 6)
    };
    let episode = Episode {
        key: EpisodeKey {
            id: String::new(),
            index: 0.into(),
            task: None,
            rows: RowRange { input: 0, start: 0, end: frames as u64 },
            labels: Vec::new(),
        },
        rig: Arc::new(rig()),
        time_s: (0..frames).map(|i| i as f64 / 100.0).collect(),
        state: values(0.0),
        action: Some(values(0.1)),
        ragged_rows: 0,
        extras: Extras::default(),
    };
    let sketch = Sketch::of(&episode);
    let mut ledger = Ledger::default();
    for _ in 0..24 {
        let motion = Some(sketch.motion());
        ledger.push(Row { frames, duration_s: 10.0, task: None, motion }, &[]);
    }
    let rows = (0..dimensions(&ledger)).filter_map(|at| dimension(&ledger, at));
    stage.outcome.normalisation = rows.collect();
    stage.outcome.ledger = ledger;
    stage
}

fn text(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> io::Result<String> {
    let mut out = Vec::new();
    write(&mut out)?;
    String::from_utf8(out).map_err(io::Error::other)
}

#[test]
fn the_table_in_degrees_with_what_would_mislead() -> io::Result<()> {
    let stage = stage(true);
    let table = text(|out| report::normalisation(&stage.view(), out))?;
    assert!(table.lines().all(|line| line.len() <= 80 && line.is_ascii()), "{table}");
    // 0 to 1 rad in 1000 steps: a mean of half, a standard deviation of sqrt(1002 / 12000).
    assert!(table.contains("state  waist       deg     28.6      16.6        0"), "{table}");
    snapshot("normalisation", &table);
    Ok(())
}

/// What writes a session.
type Form<'a> = &'a dyn Fn(&View<'_>, &mut dyn Write) -> io::Result<()>;

#[test]
fn the_session_says_so_in_a_line_and_nothing_where_nothing_is_amiss() -> io::Result<()> {
    let (bad, good) = (stage(true), stage(false));
    let line = "normalisation: 2 of 12 dimensions would mislead";
    let all = |view: &View<'_>, out: &mut dyn Write| report::session(view, Detail::All, out);
    let forms: [Form<'_>; 2] = [&all, &report::markdown];
    for write in forms {
        assert!(text(|out| write(&bad.view(), out))?.contains(line));
        assert!(!text(|out| write(&good.view(), out))?.contains("normalisation"));
    }
    Ok(())
}

#[test]
fn the_binary_prints_it_alone_whatever_checks_run() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    run(&["demo", &place])?;
    let whole = run(&["audit", &place, "--normalisation", "--quiet"])?;
    let part = run(&["audit", &place, "--normalisation", "--only", "non-monotonic-time"])?;
    assert_eq!(whole.stdout, part.stdout, "{}", said(&part));
    let text = String::from_utf8(whole.stdout)?;
    assert!(text.starts_with("normalisation: 12 dimensions over 24 episodes\n"), "{text}");
    assert!(!text.contains("audit is not a safety function"));
    // The same rows as in the document.
    let card = scorecard(&[&place])?;
    let rows = card["normalisation"].as_array().ok_or("no table")?;
    assert_eq!(rows.len(), 12);
    for row in rows {
        let (vector, joint) = (&row["vector"], &row["joint"]);
        let start =
            format!("  {:<6} {} ", vector.as_str().unwrap_or(""), joint.as_str().unwrap_or(""));
        assert_eq!(text.lines().filter(|line| line.starts_with(&start)).count(), 1, "{start}");
    }
    let both = run(&["audit", &place, "--normalisation", "--format", "json"])?;
    assert_eq!(both.status.code(), Some(2));
    Ok(())
}
