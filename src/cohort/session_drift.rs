//! Does the rig change while the session goes on? Servos get hot, horns work loose, the bus slows
//! down.
//!
//! The first episodes then teach another arm than the last ones, and the next session begins where
//! this one ended.
//!
//! How: over the order of the episodes, for the lag, offset, sag and error of each joint, the lag
//! of all of them, and the frame rate: a steady trend (the median of the slopes of all pairs) and
//! one change of level (least squares). Each is tested by ranks (Kendall, Mann and
//! Whitney), with as much less weight as neighbouring episodes resemble each other (the median over
//! all series, more if one resembles itself clearly more), and all together by Holm: about one
//! sound session in fifty would show any trend. The reading is how far
//! it went over the session, or up to where the level changed and from there on, whichever leaves
//! less; it is zero where it is not significant, or where a trend's interval holds zero, provided
//! that a steady drift of the limit's size would be proven in four sessions of five. Where readings
//! scatter too much for that, nothing is read, and it says how many episodes it takes.
//!
//! Traps: the operator tires too, and takes other ways than in the morning: error and sag depend on
//! them. A session of two tasks one after the other, not distinguished apart by a task column, is a change
//! of level. Needs 12 episodes with a reading, four on each side of a change; there and back again
//! is neither a trend nor one change. How small a drift can be proven depends on how much episodes
//! differ: of steady drifts of 1 degree on one joint of six, where offsets differ by 0.35 from
//! episode to episode, 5 % are in 12 episodes, 33 % in 20, 70 % in 30, 94 % in 40. More than 200
//! episodes are taken in blocks, by their medians.

use std::collections::BTreeSet;

use super::rows::{Series, groups, reading, series};
use crate::check::timing::frame_rate;
use crate::check::tracking::{gravity_sag, neutral_offset, tracking_error, tracking_lag};
use crate::check::{Check, CohortSheet, MetricOf, Params};
use crate::model::{Bound, CheckSpec, Family, Ledger, Metric, SessionReading, Unit, count};
use crate::num::multiple::holm;
use crate::num::robust::median;

mod course;
mod power;
#[cfg(test)]
mod tests;

use course::{Course, ENOUGH};

const DEGREE: f64 = std::f64::consts::PI / 180.0;

static LAG: Metric =
    Metric::of_joint("lag_over_session", Unit::Second, "how far the lag went over the session")
        .above(Some(0.020), None);
static OFFSET: Metric = Metric::of_joint(
    "offset_over_session",
    Unit::Radian,
    "how far the neutral offset went over the session",
)
.above(Some(DEGREE), None);
static SAG: Metric =
    Metric::of_joint("sag_over_session", Unit::Radian, "how far the sag went over the session")
        .above(Some(DEGREE), None);
static ERROR: Metric = Metric::of_joint(
    "error_over_session",
    Unit::Radian,
    "how far the tracking error's 95th percentile went over the session",
)
.above(Some(DEGREE), None);
static ALL_LAG: Metric = Metric::of_episode(
    "all_lag_over_session",
    Unit::Second,
    "how far the lag of all joints together went over the session",
)
.above(Some(0.020), None);
static RATE: Metric = Metric::of_episode(
    "rate_over_session",
    Unit::Ratio,
    "how far the frame rate went over the session, of its median",
)
.above(Some(0.02), None);

static SPEC: CheckSpec = CheckSpec {
    id: "session-drift",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("session_drift.rs"),
    cause: "servos that get hot, a horn that works loose, a bus that slows down",
    remedy: "let it cool down, tighten the horn screws; split the session where it changed",
    reference: "Sen 1968, JASA 63(324), 1379-1389; Mann 1945, Econometrica 13(3), 245-259; Holm \
                1979, Scand. J. Statist. 6, 65-70; limits: engineering judgement",
    metrics: &[&LAG, &OFFSET, &SAG, &ERROR, &ALL_LAG, &RATE],
    params: &[],
};

/// Which measurement of which check is followed, and as what, and what that is called. The one of
/// all joints comes before that of each.
static FOLLOWED: &[(MetricOf, &Metric, &str)] = &[
    (
        MetricOf::new(&tracking_lag::CHECK, &tracking_lag::LAG_OVERALL),
        &ALL_LAG,
        "lag of all joints together",
    ),
    (MetricOf::new(&tracking_lag::CHECK, &tracking_lag::LAG), &LAG, "lag"),
    (MetricOf::new(&neutral_offset::CHECK, &neutral_offset::OFFSET_SIGNED), &OFFSET, "offset"),
    (MetricOf::new(&gravity_sag::CHECK, &gravity_sag::SAG), &SAG, "sag"),
    (MetricOf::new(&tracking_error::CHECK, &tracking_error::ERROR_P95), &ERROR, "error"),
    (MetricOf::new(&frame_rate::CHECK, &frame_rate::MEAN_RATE), &RATE, "frame rate"),
];

/// Probability that a sound session shows any drift, before its size is asked for.
const FALSE_ALARM: f64 = 0.05;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

/// One series and how it goes.
struct Followed {
    metric: &'static Metric,
    series: Series,
    course: Course,
}

fn measure(ledger: &Ledger, _: &Params, sheet: &mut CohortSheet<'_>) {
    let mut all: Vec<Followed> = Vec::new();
    let mut most = 0;
    for rows in groups(ledger) {
        for &(what, as_what, _) in FOLLOWED {
            for series in series(ledger, what, &rows) {
                most = most.max(series.rows.len());
                if let Some(course) = Course::of(&series.values) {
                    all.push(Followed { metric: as_what, series, course });
                }
            }
        }
    }
    if all.is_empty() {
        let reason = format!(
            "{} with lag, offset, sag, error or rate, needs {ENOUGH}",
            count(most, "episode")
        );
        return sheet.not_assessed(&SPEC, reason);
    }
    let usual: Vec<f64> = all.iter().map(|followed| followed.course.likeness).collect();
    let usual = median(&usual);
    let chances: Vec<f64> = all.iter().map(|f| f.course.chance(usual)).collect();
    let mut told: Vec<SessionReading> = Vec::new();
    let mut unseen: Vec<(&Followed, usize)> = Vec::new();
    for (followed, chance) in all.iter().zip(holm(&chances)) {
        let joint = followed.series.joint.map(usize::from);
        let unit = match followed.metric.unit {
            Unit::Radian => joint.map_or(1.0, |joint| sheet.length_of_radian(joint)),
            _ => 1.0,
        };
        let needs = needs(followed, usual, unit, &all);
        if chance >= FALSE_ALARM && needs > followed.series.rows.len() {
            unseen.push((followed, needs));
            continue;
        }
        let reading = followed.reading(chance < FALSE_ALARM);
        let same = |r: &&mut SessionReading| {
            r.reading.metric.is(reading.reading.metric) && r.reading.joint == reading.reading.joint
        };
        match told.iter_mut().find(same) {
            // Tasks that show the same drift are one finding: the farthest.
            Some(known) if known.reading.value < reading.reading.value => *known = reading,
            Some(_) => {}
            None => told.push(reading),
        }
    }
    lags_that_go_together(&mut told);
    sheet.session.extend(told);
    say_unseen(&unseen, sheet);
}

impl Followed {
    fn relative(&self) -> bool {
        self.metric.is(&RATE)
    }

    /// How far it went, from which episode on, and which way; zero if it is not significant.
    fn reading(&self, proven: bool) -> SessionReading {
        let course = &self.course;
        let of = self.series.rows.len();
        let scale =
            if self.relative() { 1.0 / course.middle.abs().max(f64::MIN_POSITIVE) } else { 1.0 };
        let size = if proven { (course.drift * scale).abs() } else { 0.0 };
        let mut reading = reading(&SPEC, self.metric, self.series.joint, size);
        let way = if course.drift > 0.0 { "up" } else { "down" };
        let (from, episodes) = match course.at {
            Some(at) => (Some(self.series.rows[at]), of - at),
            None => (None, of),
        };
        if proven {
            let how = if from.is_some() { "at once" } else { "bit by bit" };
            reading.note = Some(format!("{way}, {how}").into());
        }
        SessionReading { reading, from, episodes: episodes as u64, of: of as u64 }
    }
}

/// A bus that slows down delays all joints: that is said once. A joint is reported in addition only if
/// its lag went farther by more than the limit's worth.
fn lags_that_go_together(told: &mut [SessionReading]) {
    let is = |r: &SessionReading, metric: &'static Metric| r.reading.metric.is(metric);
    let all = told.iter().find(|r| is(r, &ALL_LAG)).map_or(0.0, |r| r.reading.value);
    if all > 0.020 {
        for lag in told.iter_mut().filter(|r| is(r, &LAG) && r.reading.value < all + 0.020) {
            lag.reading.value = 0.0;
        }
    }
}

/// Episodes that it takes to see a steady drift of the size that matters among all of these. `unit` is
/// what the limit is multiplied by on the joint.
fn needs(followed: &Followed, usual: f64, unit: f64, among: &[Followed]) -> usize {
    let Bound::Above(limit) = followed.metric.bound else { return ENOUGH };
    let size = limit.warn.or(limit.fail).unwrap_or(f64::INFINITY);
    let scale = if followed.relative() { followed.course.middle.abs() } else { 1.0 };
    // One joint tells its scatter badly: no less than is usual for that measurement.
    let alike = among.iter().filter(|f| f.metric.is(followed.metric));
    let scatter = median(&alike.map(|f| f.course.scatter).collect::<Vec<f64>>());
    // Holm asks the most of the clearest.
    followed.course.needs(size * unit * scale, FALSE_ALARM / among.len() as f64, usual, scatter)
}

/// Says of each measurement that scatters too much for a drift that matters to be distinguished
/// from coincidence how many episodes its worst joint would take.
fn say_unseen(unseen: &[(&Followed, usize)], sheet: &mut CohortSheet) {
    for &(.., metric, name) in FOLLOWED {
        let of = || unseen.iter().filter(|(f, _)| f.metric.is(metric));
        let Some((worst, needs)) = of().max_by_key(|(_, needs)| *needs) else { continue };
        let joints: BTreeSet<_> = of().filter_map(|(f, _)| f.series.joint).collect();
        let on = match joints.len() {
            0 => String::new(),
            many => format!(" of {}", count(many, "joint")),
        };
        let episodes = count(worst.series.rows.len(), "episode");
        let why = format!("needs about {needs} to see a drift of the limit's size");
        sheet.not_assessed(&SPEC, format!("{name}{on}: {episodes}, {why}"));
    }
}
