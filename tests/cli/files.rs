//! Tables of measurements and keep lists.

use std::error::Error;

use teleassay::report::{
    self, Breakdown, Group, KeepFrom, ListFormat, ListKind, ScoreTable, breakdown_keys,
};

use super::outcome::faulty;

type Tested = Result<(), Box<dyn Error>>;

#[test]
fn one_row_per_episode_as_csv() -> Tested {
    let stage = faulty();
    let table = ScoreTable::new(&stage.view())?;
    let mut csv = Vec::new();
    report::write_csv(&table, &mut csv)?;
    let csv = String::from_utf8(csv)?;
    let heading = csv.lines().next().ok_or("empty")?;
    assert!(heading.starts_with(
        "episode,task,frames,duration_s,verdict,worst_check,worst_joint,\
         dropped-frames/dropped_share,dropped-frames/longest_gap,tracking-lag/lag/waist,"
    ));
    assert_eq!(csv.lines().count(), 25);
    assert!(csv.lines().nth(8).is_some_and(|line| {
        line.starts_with("7,pot to tray,420,13.966,fail,tracking-lag,wrist_pitch,")
    }));
    Ok(())
}

#[test]
fn the_table_takes_quantiles_and_groups() -> Tested {
    let stage = faulty();
    let table = ScoreTable::new(&stage.view())?;
    let summaries = table.summaries()?;
    let elbow = summaries.iter().find(|s| s.metric.id == "offset" && s.joint == Some(2));
    let elbow = elbow.ok_or("no summary")?;
    assert_eq!((elbow.episodes, elbow.median, elbow.worst), (24, 0.0733, 0.0733));
    // Bad when small: the worst is the smallest.
    let frames = summaries.iter().find(|s| s.metric.id == "frames").ok_or("no summary")?;
    assert_eq!((frames.median, frames.worst), (420.0, 24.0));
    let view = stage.view();
    let all = Breakdown::new(&view)?;
    let tasks = all.by("task")?;
    assert_eq!(tasks.iter().map(Group::episodes).sum::<u64>(), 24);
    let pot = tasks.iter().find(|g| g.name == "pot to tray").ok_or("no such task")?;
    assert_eq!((pot.episodes(), pot.fail), (12, 2));
    // Of the ten that did not pass, more have the offset of the session than anything else.
    assert_eq!(pot.main_cause, Some("neutral-offset"));
    let usable: f64 = tasks.iter().map(|g| g.usable_s).sum();
    assert!((usable - stage.outcome.session.usable_s).abs() < 1e-9);
    assert!(tasks.iter().all(|g| g.duration_s > 0.0 && g.total_s >= g.usable_s));
    assert_eq!(all.by("day")?, [], "stamps that start at zero have no day");
    assert_eq!(breakdown_keys(&view), ["task"]);
    Ok(())
}

#[test]
fn the_worst_come_first_and_ties_keep_their_order() {
    let stage = faulty();
    let order: Vec<usize> = stage.view().digest.order.iter().map(|place| place.get()).collect();
    // 611 ms against 300 is worse than 3.4 % against 3.
    assert_eq!(order[..4], [7, 3, 0, 1]);
}

#[test]
fn the_keep_list_leaves_out_what_failed() -> Tested {
    let stage = faulty();
    let mut out = Vec::new();
    let (kind, from, format) = (ListKind::Keep, KeepFrom::Warn, ListFormat::Ids);
    report::episode_list(&stage.view(), kind, from, format, &mut out)?;
    let text = String::from_utf8(out)?;
    let ids: Vec<&str> = text.lines().collect();
    assert_eq!(ids.len(), 22);
    assert!(!ids.contains(&"3") && !ids.contains(&"7"));
    Ok(())
}

#[test]
fn two_joints_of_one_name_still_make_a_table() -> Tested {
    let mut stage = faulty();
    for joint in &mut stage.rig.joints {
        joint.name = "servo".to_owned();
    }
    let table = ScoreTable::new(&stage.view())?;
    let mut csv = Vec::new();
    report::write_csv(&table, &mut csv)?;
    assert!(String::from_utf8(csv)?.contains(",tracking-lag/lag/servo#1,"));
    Ok(())
}
