//! Which episodes began in another pose than the rest?
//!
//! The policy starts where the demonstrations started. An episode begun elsewhere (arm not brought
//! home, recording started late) teaches a start that will not come again.
//!
//! How: each joint's first position against the median of its task, in robust sigmas of at least 2
//! degrees. The reading is the joint that is farthest off, over the cut-off: 3.5 sigmas, later the
//! more joints and episodes there are (normal quantile at 0.05/n). Joints beyond it are named.
//!
//! Traps: starting from several poses on purpose is good variety: an episode with enough neighbours
//! (two, and one in twenty) that start within 4 degrees of it in every joint starts in a usual pose,
//! wherever that is. Linear joints count in metres. Fewer than 6 episodes have no usual start.

use super::paths::cut_off;
use crate::check::{Check, CohortSheet, Params};
use crate::model::{CheckSpec, Family, Ledger, Metric, Param, Reading, SpanList, Unit, count};
use crate::num::robust::{MAD_TO_SIGMA, median_mad};

static START: Metric = Metric::of_episode(
    "start_off",
    Unit::Ratio,
    "distance of the first pose's farthest joint from the usual, as a multiple of the cut-off",
)
.above(Some(1.0), None);
static FLOOR: Param = Param {
    id: "least_sigma",
    summary: "a joint's sigma is never taken below this",
    unit: Unit::Radian,
    default: 2.0 * std::f64::consts::PI / 180.0,
};

static SPEC: CheckSpec = CheckSpec {
    id: "start-pose",
    family: Family::Session,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("start_pose.rs"),
    cause: "the arm was not brought home, or the recording started late",
    remedy: "bring the arm to the same pose before each recording, or record more episodes from \
             the other one",
    reference: "modified z beyond 3.5: Iglewicz & Hoaglin 1993; the lower limit is common practice, no \
                source",
    metrics: &[&START],
    params: &[&FLOOR],
};

/// Fewer episodes have no usual start.
const ENOUGH: usize = 6;
/// As many neighbours, at least, make a pose a usual one.
const NEIGHBOURS: usize = 2;
const NEIGHBOUR_SHARE: f64 = 0.05;
/// Most joints named.
const NAMED: usize = 3;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure).looking_at_motion();

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let floor = params.get(&SPEC, &FLOOR);
    let tasks = ledger.rows_by_task();
    let mut few = 0;
    for (_, rows) in &tasks {
        let starts = Starts::of(ledger, rows);
        if starts.rows.len() < ENOUGH {
            few += starts.rows.len();
        } else {
            starts.write(floor, sheet);
        }
    }
    if few > 0 || sheet.told() == 0 {
        let of = if tasks.len() > 1 { " of tasks with fewer" } else { "" };
        sheet.not_assessed(&SPEC, format!("{}{of}, needs {ENOUGH}", count(few, "episode")));
    }
}

/// The first poses of some episodes.
struct Starts {
    rows: Vec<usize>,
    /// Joint by joint; a joint that an episode does not have there is missing.
    joints: Vec<Vec<f32>>,
}

impl Starts {
    fn of(ledger: &Ledger, rows: &[usize]) -> Self {
        let motions: Vec<_> =
            rows.iter().filter_map(|&row| Some((row, ledger.motion(row)?))).collect();
        let joints = motions.first().map_or(0, |(_, motion)| motion.joints);
        let first = |joint| motions.iter().map(|(_, motion)| motion.follower(joint, 0)).collect();
        Self {
            joints: (0..joints).map(first).collect(),
            rows: motions.into_iter().map(|(row, _)| row).collect(),
        }
    }

    fn write(&self, floor: f64, sheet: &mut CohortSheet) {
        let cut = cut_off(self.rows.len() * self.joints.len());
        let usual: Vec<(f64, f64)> = self
            .joints
            .iter()
            .map(|values| {
                let there: Vec<f32> = values.iter().copied().filter(|v| v.is_finite()).collect();
                let (median, deviation) = median_mad(&there);
                (median, (MAD_TO_SIGMA * deviation).max(floor) * cut)
            })
            .collect();
        for (at, &row) in self.rows.iter().enumerate() {
            let off = |joint: usize| {
                let (median, limit) = usual[joint];
                (f64::from(self.joints[joint][at]) - median).abs() / limit
            };
            let mut offs: Vec<(f64, usize)> = (0..self.joints.len())
                .map(|joint| (off(joint), joint))
                .filter(|(off, _)| off.is_finite())
                .collect();
            offs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let Some(&(mut value, _)) = offs.first() else { continue };
            let mut note = String::new();
            if value > 1.0 && self.is_usual(at, 2.0 * floor) {
                // Far from the median, but not alone: at the cut-off, not beyond.
                value = 1.0;
            } else if value > 1.0 {
                let named = offs.iter().take(NAMED).filter(|(off, _)| *off > 1.0);
                let names: Vec<String> = named.map(|(_, j)| format!("start@{j}")).collect();
                note = names.join(", ");
            }
            let spans = SpanList::default();
            let reading =
                Reading { check: &SPEC, metric: &START, joint: None, value, spans, note: None };
            sheet.tell(row, reading, note);
        }
    }

    /// Whether enough others start within `near` of this one in every joint.
    fn is_usual(&self, at: usize, near: f64) -> bool {
        let enough = NEIGHBOURS.max((NEIGHBOUR_SHARE * self.rows.len() as f64) as usize);
        let close = |other: &usize| {
            *other != at
                && self.joints.iter().all(|joint| {
                    let apart = f64::from((joint[*other] - joint[at]).abs());
                    apart <= near || apart.is_nan()
                })
        };
        (0..self.rows.len()).filter(close).take(enough).count() == enough
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cohort::motions::{above, ledger, read, sound};
    use crate::demo::{DemoError, Recording};

    /// The whole episode elsewhere by so many degrees in one joint.
    fn elsewhere(mut r: Recording, joint: usize, degrees: f64) -> Recording {
        for arm in [&mut r.leader, &mut r.follower] {
            arm[joint].iter_mut().for_each(|v| *v += degrees.to_radians());
        }
        r
    }

    #[test]
    fn sound_sessions_start_as_usual() -> Result<(), DemoError> {
        let (mut alarmed, mut sessions) = (0, 0);
        for (episodes, seeds) in [(6, 40), (8, 40), (30, 24), (100, 8), (400, 4)] {
            for seed in 0..seeds {
                let sheet = read(&CHECK, &ledger(&sound(seed, episodes), |_, r| r)?);
                assert_eq!(sheet.episodes.len(), episodes as usize);
                sessions += 1;
                alarmed += usize::from(!above(&sheet, "start_off", 1.0).is_empty());
            }
        }
        assert!(alarmed * 100 <= sessions, "{alarmed} of {sessions}");
        Ok(())
    }

    #[test]
    fn another_start_is_named_with_its_joint_and_a_second_home_is_not() -> Result<(), DemoError> {
        for (episodes, seed) in [(6, 1), (8, 2), (30, 3), (200, 4), (30, 5), (8, 6)] {
            let one = |id, r| if id == 4 { elsewhere(r, 1, 25.0) } else { r };
            let sheet = read(&CHECK, &ledger(&sound(seed, episodes), one)?);
            assert_eq!(above(&sheet, "start_off", 1.0), [4], "{episodes}");
            assert_eq!(sheet.episodes[4].2, "start@1");
        }
        let homes = |id, r| if id % 4 == 0 { elsewhere(r, 1, 40.0) } else { r };
        let sheet = read(&CHECK, &ledger(&sound(3, 40), homes)?);
        assert!(above(&sheet, "start_off", 1.0).is_empty());
        let few = read(&CHECK, &ledger(&sound(3, 5), |_, r| r)?);
        assert_eq!(few.not_assessed[0].reason, "5 episodes, needs 6");
        Ok(())
    }
}
