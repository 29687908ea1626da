//! Can both be trained on together: merge, correct and merge, keep apart; and what merging costs.

use super::aspect::{Aspect, Group};
use super::row::{Answer, Row};
use super::schema::SchemaPoint;
use super::side::Pair;

/// The advice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing on the rig differs.
    Merge,
    /// What differs can be taken out of the data.
    Correct,
    /// What differs cannot be taken out.
    KeepApart,
    /// Nothing on the rig is known to differ, but not all of it could be assessed.
    CannotTell,
}

/// What to do with the two sessions.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// In one word.
    pub verdict: Verdict,
    /// What to do, one step each.
    pub steps: Vec<Step>,
    /// Largest cost of merging as it is, in standard deviations of the action's dimension in A.
    pub cost: Option<f64>,
}

/// One thing to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What it takes away.
    pub aspect: Aspect,
    /// Index in the comparison's pairs.
    pub joint: Option<usize>,
    /// How.
    pub way: Correction,
}

/// How a difference is corrected. `joint` is named by its step.
#[derive(Debug, Clone, PartialEq)]
pub enum Correction {
    /// Subtract from B's follower.
    Subtract(f64),
    /// Multiply B's follower, about the pose where leader and follower agree.
    Multiply(f64),
    /// Shift B's action by a frame, later if positive: a habit of the logger.
    ShiftFrames(i32),
    /// Resample B to this rate.
    Resample(f64),
    /// Something else, in words.
    Words(&'static str),
    /// Nothing takes it away.
    None,
}

/// How near to a frame every lag must be to be a habit of the logger.
const NEAR_A_FRAME: f64 = 0.1;

/// Advises, from the answers on the rig.
pub(super) fn advise(
    rows: &[Row],
    schema: &[SchemaPoint],
    pairs: &[Pair],
    period_s: f64,
) -> Advice {
    let rig = || rows.iter().filter(|row| row.aspect.group() == Group::Rig);
    let mut steps = Vec::new();
    for row in rig().filter(|row| matches!(row.answer, Answer::Different(_))) {
        if row.aspect == Aspect::Schema {
            steps.extend(schema.iter().filter(|point| point.differs).map(|point| Step {
                aspect: Aspect::Schema,
                joint: None,
                way: point.way.map_or(Correction::None, Correction::Words),
            }));
        } else {
            steps.push(Step {
                aspect: row.aspect,
                joint: row.joint,
                way: correction(row, rows, pairs, period_s),
            });
        }
    }
    let open = |row: &Row| row.answer == Answer::Inconclusive && row.measured();
    let assessed =
        rig().filter(|row| row.aspect != Aspect::Schema && row.answer != Answer::Inconclusive);
    let verdict = if steps.iter().any(|step| step.way == Correction::None) {
        Verdict::KeepApart
    } else if !steps.is_empty() {
        Verdict::Correct
    } else if rig().any(open) || assessed.count() == 0 {
        Verdict::CannotTell
    } else {
        Verdict::Merge
    };
    let different = rows.iter().filter(|row| matches!(row.answer, Answer::Different(_)));
    let cost = different.filter_map(|row| row.cost).reduce(f64::max);
    Advice { verdict, steps, cost }
}

fn correction(row: &Row, rows: &[Row], pairs: &[Pair], period_s: f64) -> Correction {
    let Some(change) = row.change else { return Correction::None };
    match (row.aspect, row.values) {
        (Aspect::Offset, _) => Correction::Subtract(change),
        (Aspect::Gain, Some((a, b))) if b != 0.0 => Correction::Multiply(a / b),
        (Aspect::Rate, Some((a, _))) => Correction::Resample(a),
        (Aspect::Lag, _) => {
            frames(change, rows, pairs, period_s).map_or(Correction::None, Correction::ShiftFrames)
        }
        _ => Correction::None,
    }
}

/// The one frame by which every joint that was measured is late, if that is what it is: then the
/// logger pairs its rows differently. Any other lag is the servo's, and shifting actions would take
/// the force of the grasp out of the data.
fn frames(change: f64, rows: &[Row], pairs: &[Pair], period_s: f64) -> Option<i32> {
    let whole = (change / period_s).round();
    let near = |lag: f64| (lag / period_s - whole).abs() < NEAR_A_FRAME;
    let lags: Vec<f64> =
        rows.iter().filter(|row| row.aspect == Aspect::Lag).filter_map(|row| row.change).collect();
    let most = pairs.iter().filter(|pair| !pair.gripper).count();
    let all = whole.abs() == 1.0 && lags.len() >= most.min(3) && lags.iter().all(|lag| near(*lag));
    all.then_some(whole as i32)
}
