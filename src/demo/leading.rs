//! Faults of the hand on the leader, and of the leader's own joints, before anything is read.

use std::f64::consts::TAU;

use super::fault::Fault;
use super::plan::{Kind, Plan};
use super::planted::{Mark, Mine};

/// How often a searching hand circles, hertz.
const CIRCLES_HZ: f64 = 1.7;

/// Plants them in the angles of the leader's joints, joint-major.
pub(super) fn plant(
    leader: &mut [Vec<f64>],
    moment_s: &[f64],
    period_s: f64,
    mine: &Mine<'_>,
    plans: &[Plan],
    marks: &mut Vec<Mark>,
) {
    let per_arm = leader.len() / plans.len().max(1);
    let whole = [0.0, moment_s.last().copied().unwrap_or(0.0)];
    for (planted, fault, joint) in mine.iter() {
        let at = joint.unwrap_or(0);
        let span = match *fault {
            Fault::Searching { deg } => {
                for (joint, column) in leader.iter_mut().enumerate() {
                    if joint % per_arm + 1 < per_arm {
                        search(column, moment_s, &plans[joint / per_arm], deg, joint as f64);
                    }
                }
                whole
            }
            Fault::StickSlip { deg } => {
                stick(&mut leader[at], deg.to_radians());
                whole
            }
            Fault::Clutch { deg_s } => {
                let Some(moved) = plans[at / per_arm].longest_move() else { continue };
                let jump_s = moved.start_s + 0.3 * moved.duration_s;
                // The hand takes the joint back, so that the jump goes against the motion.
                let back =
                    if moved.to[at % per_arm] > moved.from[at % per_arm] { -1.0 } else { 1.0 };
                let from = moment_s.partition_point(|t| *t < jump_s);
                let jump = back * deg_s.to_radians() * period_s;
                leader[at][from..].iter_mut().for_each(|v| *v += jump);
                [jump_s - period_s, jump_s]
            }
            _ => continue,
        };
        marks.push(Mark { planted, spans_s: vec![span], count: 1 });
    }
}

/// Circles while the hand moves.
fn search(column: &mut [f64], moment_s: &[f64], plan: &Plan, deg: f64, phase: f64) {
    for segment in plan.segments.iter().filter(|s| s.kind == Kind::Move) {
        let first = moment_s.partition_point(|t| *t < segment.start_s);
        let end = moment_s.partition_point(|t| *t < segment.end_s());
        for (value, t) in column[first..end].iter_mut().zip(&moment_s[first..end]) {
            let progress = (t - segment.start_s) / segment.duration_s;
            let lively = (std::f64::consts::PI * progress).sin();
            *value += deg.to_radians() * lively * (TAU * CIRCLES_HZ * t + 1.3 * phase).sin();
        }
    }
}

/// A joint that stays where it is until the hand is so far away, then catches up.
fn stick(column: &mut [f64], size: f64) {
    let Some(&first) = column.first() else { return };
    let mut held = first;
    for value in column {
        if (*value - held).abs() > size {
            held = *value;
        }
        *value = held;
    }
}
