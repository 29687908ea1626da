//! Values that are not there: null, NaN, infinite, or beyond the end of a short vector.
//!
//! One NaN turns a whole batch of training into NaN.
//!
//! How: values of each joint, leader and follower together, that are not finite; their share of
//! the joint's values; the longest run of frames with one. Stamps that are missing, and rows whose
//! vector has the wrong length, are counted for the episode.
//!
//! Traps: a joint without a single value in the whole dataset is not fitted: said once, not
//! counted.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};

static MISSING_VALUES: Metric =
    Metric::of_joint("missing_values", Unit::Count, "values that are not there")
        .above(Some(0.0), None);
static MISSING_SHARE: Metric = Metric::of_joint(
    "missing_share",
    Unit::Share,
    "their share of the joint's values (read where some are missing)",
)
.above(None, Some(0.001));
static MISSING_RUN: Metric = Metric::of_joint(
    "missing_run",
    Unit::Count,
    "most frames in a row with a value missing (read where some are missing)",
)
.above(None, Some(2.0));
static MISSING_STAMPS: Metric =
    Metric::of_episode("missing_stamps", Unit::Count, "rows without a usable stamp")
        .above(Some(0.0), None);
static MISSING_STAMP_SHARE: Metric =
    Metric::of_episode("missing_stamp_share", Unit::Share, "their share of all rows")
        .above(None, Some(0.001));
static RAGGED_ROWS: Metric =
    Metric::of_episode("ragged_rows", Unit::Count, "rows whose vector has the wrong length")
        .above(Some(0.0), None);

static SPEC: CheckSpec = CheckSpec {
    id: "missing-values",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: false,
    source: include_str!("missing_values.rs"),
    cause: "a read failed and the logger wrote nothing",
    remedy: "look at the logger and the bus; leave the episode out, or cut it before the gap",
    reference: "common practice, no source",
    metrics: &[
        &MISSING_VALUES,
        &MISSING_SHARE,
        &MISSING_RUN,
        &MISSING_STAMPS,
        &MISSING_STAMP_SHARE,
        &RAGGED_ROWS,
    ],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let episode = study.episode;
    for joint in 0..study.joints().len() {
        if study.is_complete() {
            sheet.put_joint(&MISSING_VALUES, joint, 0.0);
        } else {
            joint_values(study, joint, sheet);
        }
    }
    let stamps = episode.time_s.iter().filter(|t| !t.is_finite()).count() as f64;
    let missing = |row: usize| !episode.time_s[row].is_finite();
    let spans = SpanList::longest(runs(episode.frames(), missing));
    sheet.put_spans(&MISSING_STAMPS, None, stamps, spans);
    sheet.put(&MISSING_STAMP_SHARE, stamps / episode.frames().max(1) as f64);
    sheet.put(&RAGGED_ROWS, f64::from(episode.ragged_rows));
}

fn joint_values(study: &Study<'_>, joint: usize, sheet: &mut Sheet) {
    let episode = study.episode;
    if study.joints()[joint].observed.is_none() {
        return sheet.not_assessed_joint(joint, "no value anywhere in the dataset: not fitted");
    }
    let state = episode.state.joint(joint);
    // What has no partner in the action has no values there, and misses none.
    let paired = study.joints()[joint].unpaired.is_none();
    let action = episode.action.as_ref().filter(|_| paired).map(|a| a.joint(joint));
    let missing =
        |row: usize| !state[row].is_finite() || action.is_some_and(|a| !a[row].is_finite());
    let absent = |values: &[f32]| values.iter().filter(|v| !v.is_finite()).count();
    let count = (absent(state) + action.map_or(0, absent)) as f64;
    let spans = SpanList::longest(runs(episode.frames(), missing));
    let longest = spans.as_slice().iter().map(|span| span.frames()).max().unwrap_or(0) as f64;
    let at = Some(joint as JointId);
    sheet.put_spans(&MISSING_VALUES, at, count, spans.clone());
    if count > 0.0 {
        let values = state.len() + action.map_or(0, <[f32]>::len);
        sheet.put_spans(&MISSING_SHARE, at, count / values as f64, spans.clone());
        sheet.put_spans(&MISSING_RUN, at, longest, spans);
    }
}

/// Runs of rows for which `wanted` holds.
fn runs(rows: usize, wanted: impl Fn(usize) -> bool) -> Vec<FrameSpan> {
    let mut found = Vec::new();
    let mut begun = None;
    for row in 0..=rows {
        match (row < rows && wanted(row), begun) {
            (true, None) => begun = Some(row),
            (false, Some(start)) => {
                found.push(FrameSpan::new(start, row));
                begun = None;
            }
            _ => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured, sway};

    #[test]
    fn gaps_are_counted_by_joint_and_placed() {
        let gaps = |joint: usize, t: f64| {
            let row = (t * 50.0).round() as usize;
            let lost = joint == 1 && (row == 20 || (100..104).contains(&row));
            if lost { f64::NAN } else { sway(joint, t) }
        };
        let bench = Bench::at(50.0).frames(400).follower(gaps).measure(&CHECK);
        assert_eq!(bench.joint("missing_values", 0), 0.0);
        assert_eq!(bench.joint("missing_values", 1), 5.0);
        assert_eq!(bench.joint("missing_share", 1), 5.0 / 800.0);
        assert_eq!(bench.joint("missing_run", 1), 4.0);
        assert_eq!(bench.joint_spans("missing_run", 1), [(20, 21), (100, 104)]);
    }

    #[test]
    fn a_whole_episode_has_none() {
        let bench = Bench::at(50.0).frames(400).measure(&CHECK);
        assert_eq!(bench.joint("missing_values", 0), 0.0);
        assert_eq!(bench.value("missing_stamps"), 0.0);
        assert_eq!(bench.value("ragged_rows"), 0.0);
    }

    #[test]
    fn a_joint_that_is_not_fitted_is_said_once() {
        let none = |joint: usize, t: f64| if joint == 1 { f64::NAN } else { sway(joint, t) };
        let bench = Bench::at(50.0)
            .follower(none)
            .leader(none)
            .rig(|rig| rig.joints[1].observed = None)
            .measure(&CHECK);
        assert!(bench.is_not_assessed("not fitted"));
        assert!(bench.joint("missing_values", 1).is_nan());
    }

    #[test]
    fn missing_stamps_and_ragged_rows_count_for_the_episode() {
        let mut episode = Bench::at(50.0).frames(400).episode();
        episode.time_s[7] = f64::NAN;
        episode.ragged_rows = 3;
        let bench = Measured::of(&CHECK, &episode);
        assert_eq!(bench.value("missing_stamps"), 1.0);
        assert_eq!(bench.value("ragged_rows"), 3.0);
        assert_eq!(bench.spans("missing_stamps"), [(7, 8)]);
    }
}
