//! Faults of what was stored: right readings in wrong columns, units and numbers.

use super::fault::Fault;
use super::planted::{Mark, Mine};
use super::readings::Raw;

/// Plants them after all faults of the readings themselves.
pub(super) fn plant(raw: &mut Raw<'_>, mine: &Mine<'_>, marks: &mut Vec<Mark>) {
    for (planted, fault, joint) in mine.iter() {
        let at = joint.unwrap_or(0);
        let count = match *fault {
            Fault::CoarseQuantisation { deg } => {
                let step = deg.to_radians();
                let both = raw.leader.iter_mut().chain(raw.follower.iter_mut());
                both.flatten().for_each(|v| *v = (*v / step).round() * step);
                1
            }
            Fault::DecodeError { weight } => misread(&mut raw.follower[at], raw.count, weight),
            Fault::SwappedArms => {
                raw.leader.swap_with_slice(raw.follower);
                1
            }
            Fault::UnitMismatch { factor } => {
                raw.follower[at].iter_mut().for_each(|v| *v *= factor);
                1
            }
            Fault::ActionIsState => {
                raw.leader.clone_from_slice(raw.follower);
                1
            }
            Fault::ActionIsNextState => {
                raw.leader.clone_from_slice(raw.follower);
                for column in raw.leader.iter_mut().filter(|column| !column.is_empty()) {
                    column.rotate_left(1);
                    let last = column.len() - 1;
                    column[last] = column[last.saturating_sub(1)];
                }
                1
            }
            _ => continue,
        };
        marks.push(Mark { planted, spans_s: vec![raw.whole()], count });
    }
}

/// Reads negative numbers without their sign; says how many.
fn misread(column: &mut [f64], count: f64, weight: f64) -> usize {
    let mut misread = 0;
    for value in column {
        let counts = (*value / count).round();
        if counts < 0.0 {
            // Two's complement takes the number off, a sign bit leaves its size.
            let read = if weight > 65_535.0 { weight + counts } else { weight - counts };
            *value = read * count;
            misread += 1;
        }
    }
    misread
}
