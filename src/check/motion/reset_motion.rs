//! A return to the start pose at the end: the return was recorded as if it were the task.
//!
//! If some episodes return and others do not, the end of the task has two answers.
//!
//! How: the distance in joint space, grippers left out, of the last pose from the first, over the
//! farthest that any pose lay from the first; and whether the episode returns: a share below 0.15
//! after a farthest distance of at least 20 degrees.
//!
//! Traps: the return may be the task. What harms is a return in some episodes and not in others,
//! which is a question for the session: not judged by itself. The last pose is that of the last frame, at
//! any rate from 5 to 1,000 Hz; a return that ends sooner is seen if the arm stays there.

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::weight;
use crate::model::{CheckSpec, Family, Metric, Sheet, Unit};

const FAR_RAD: f64 = 20.0 * std::f64::consts::PI / 180.0;
const NEAR_SHARE: f64 = 0.15;

static RETURNS: Metric = Metric::of_episode(
    "returns",
    Unit::Count,
    "1 if the episode ends near the pose it began in, else 0",
);
/// The measurement `return_share`.
pub static RETURN_SHARE: Metric = Metric::of_episode(
    "return_share",
    Unit::Share,
    "distance of the last pose from the first, over the farthest distance from it",
);

static SPEC: CheckSpec = CheckSpec {
    id: "reset-motion",
    family: Family::Motion,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("reset_motion.rs"),
    cause: "the return to the start was recorded in some episodes only",
    remedy: "trim the return from all episodes, or record it in all",
    reference: "common practice, no source",
    metrics: &[&RETURNS, &RETURN_SHARE],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(motion) = study.motion() else {
        return sheet.not_assessed("too few frames, or no frame period");
    };
    let away = |frame: usize| {
        let squares = motion.joints.iter().map(|&joint| {
            let values = study.state(joint);
            (f64::from(values[frame] - values[0]) * weight(study, joint)).powi(2)
        });
        squares.sum::<f64>().sqrt()
    };
    let frames = study.episode.frames();
    let farthest = (0..frames).step_by(motion.chord).map(away).fold(0.0, f64::max);
    if farthest < FAR_RAD {
        let far = farthest.to_degrees();
        return sheet.not_assessed(format!("it went {far:.1} deg from the first pose, needs 20"));
    }
    let share = away(frames - 1) / farthest;
    sheet.put(&RETURNS, if share < NEAR_SHARE { 1.0 } else { 0.0 });
    sheet.put(&RETURN_SHARE, share);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    #[test]
    fn home_again_and_not() {
        for rate_hz in [5.0, 10.0, 25.0, 30.0, 50.0, 100.0, 200.0, 500.0, 1000.0] {
            // Joint 0 starts at zero; after 5 s of 0.4 Hz it is there again, after 5.6 s far off.
            let one = |joint: usize, t: f64| if joint == 0 { sway(0, t) } else { 0.1 };
            let ending = |seconds: f64| {
                let frames = (seconds * rate_hz).round() as usize + 1;
                Bench::at(rate_hz).frames(frames).follower(one).measure(&CHECK)
            };
            assert_eq!(ending(5.0).value("returns"), 1.0, "{rate_hz} Hz");
            assert_eq!(ending(5.6).value("returns"), 0.0, "{rate_hz} Hz");
            assert!((ending(5.62).value("return_share") - 1.0).abs() < 0.02);
        }
        let still = Bench::at(30.0).still().measure(&CHECK);
        assert!(still.is_not_assessed("needs 20"));
    }
}
