//! The unit of a gripper: a width in metres, a share of its travel, or the arm's own unit; and the
//! command of a gripper in the unit of what it moves.

use std::f64::consts::TAU;

use crate::source::rig::kinds::Pair;
use crate::source::rig::scale::Scale;
use crate::source::rig::survey::Sample;

/// A travel above a turn is no angle.
const MOST_RAD: f64 = TAU;
/// Travels of parallel jaws in metres.
const WIDTH_M: std::ops::RangeInclusive<f64> = 0.01..=0.2;
/// Both sides are in the same unit unless one travels this many times as far.
const OTHER_UNIT: f64 = 3.0;
/// Correlation below which a command is understood the other way round.
const OTHER_SENSE: f64 = -0.5;

/// How a gripper is read.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::source) struct Gripper {
    pub state: Scale,
    pub action: Scale,
    /// Metres.
    pub linear: bool,
    /// What was guessed of its unit, if anything.
    pub guess: Option<String>,
}

/// Reads a gripper by the travel of each side. `own` is the arm's scale; `pose` says that the arm
/// is given as a pose, in metres. A unit that is declared for it stands.
pub(in crate::source) fn gripper(
    pair: Pair<'_>,
    own: Scale,
    declared: bool,
    pose: bool,
) -> Option<Gripper> {
    let (low, high) = ends(pair, false)?;
    let command = ends(pair, true);
    let travel = high - low;
    let apart = command.is_some_and(|(from, to)| {
        let ratio = (to - from) / travel;
        !(OTHER_UNIT.recip()..=OTHER_UNIT).contains(&ratio) || from > high || to < low
    });
    let turned = correlation(pair).is_some_and(|r| r < OTHER_SENSE);
    let width = !declared && (apart || pose) && WIDTH_M.contains(&travel) && low > -WIDTH_M.start();
    let share = !declared && !width && travel * own.factor > MOST_RAD;
    let state = match (width, share) {
        (true, _) => Scale { factor: 1.0, offset: 0.0 },
        (_, true) => Scale { factor: travel.recip(), offset: -low / travel },
        _ => own,
    };
    let action = match command {
        Some((from, to)) if apart || turned => {
            let (first, last) = if turned { (high, low) } else { (low, high) };
            let factor = (last - first) * state.factor / (to - from);
            Scale { factor, offset: first * state.factor + state.offset - from * factor }
        }
        _ => state,
    };
    let guess = if width {
        Some(format!("stored as {} to {}, taken for metres", short(low), short(high)))
    } else if share {
        Some(format!("stored as {} to {}, taken as its whole travel", short(low), short(high)))
    } else if action != state {
        let (from, to) = command.unwrap_or_default();
        let sense = if turned { ", the other way round" } else { "" };
        Some(format!(
            "commanded as {} to {}{sense}, scaled to what it moves",
            short(from),
            short(to)
        ))
    } else {
        None
    };
    guess.is_some().then_some(Gripper { state, action, linear: width, guess })
}

fn short(value: f64) -> String {
    format!("{}", (value * 1e3).round() / 1e3)
}

/// Smallest and largest stored value of a side that moves.
fn ends(pair: Pair<'_>, leader: bool) -> Option<(f64, f64)> {
    let at = if leader { pair.action? } else { pair.state };
    let all = pair.samples.iter().flat_map(|s| s.stored(leader, at)).filter(|v| v.is_finite());
    let (low, high) =
        all.fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), v| (low.min(*v), high.max(*v)));
    (low < high).then(|| (f64::from(low), f64::from(high)))
}

/// Correlation of command and position, row by row, over all samples.
fn correlation(pair: Pair<'_>) -> Option<f64> {
    let at = pair.action?;
    let rows = |s: &'_ Sample| -> Vec<(f64, f64)> {
        let both = s.joint(pair.state).iter().zip(s.action(at));
        both.map(|(x, y)| (f64::from(*x), f64::from(*y)))
            .filter(|(x, y)| x.is_finite() && y.is_finite())
            .collect()
    };
    let all: Vec<(f64, f64)> = pair.samples.iter().flat_map(rows).collect();
    let n = all.len() as f64;
    let mean = |f: &dyn Fn(&(f64, f64)) -> f64| all.iter().map(f).sum::<f64>() / n;
    let (x, y) = (mean(&|p| p.0), mean(&|p| p.1));
    let (xx, yy) = (mean(&|p| (p.0 - x).powi(2)), mean(&|p| (p.1 - y).powi(2)));
    let xy = mean(&|p| (p.0 - x) * (p.1 - y));
    (xx > 0.0 && yy > 0.0).then(|| xy / (xx * yy).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAMES: usize = 200;
    const RADIANS: Scale = Scale { factor: 1.0, offset: 0.0 };

    /// A jaw that opens and closes every two seconds; the command is a switch, 5 rows ahead.
    fn read(state: impl Fn(f64) -> f64, action: impl Fn(f64) -> f64) -> Option<Gripper> {
        let at = |t: f64| ((t * 0.08).sin() * 3.0).clamp(-0.5, 0.5) + 0.5;
        let of = |f: &dyn Fn(f64) -> f64, ahead: f64| {
            (0..FRAMES).map(|t| f(at(t as f64 + ahead)) as f32).collect::<Vec<f32>>()
        };
        let samples = [Sample::of(vec![0.0; FRAMES], of(&state, 0.0), of(&action, 5.0))];
        gripper(Pair { samples: &samples, state: 0, action: Some(0) }, RADIANS, false, false)
    }

    fn at(scale: Scale, value: f64) -> f64 {
        value * scale.factor + scale.offset
    }

    #[test]
    fn a_width_in_metres_commanded_otherwise_is_in_metres_on_both_sides() {
        for (from, to) in [(0.0, 255.0), (0.0, 100.0), (-1.0, 1.0), (1.0, -1.0), (255.0, 0.0)] {
            let read = read(|open| 0.08 * open, |open| from + (to - from) * open);
            let Some(read) = read else { unreachable!("{from} to {to} is another unit") };
            assert!(read.linear && read.state == RADIANS, "{read:?}");
            assert!(
                at(read.action, from).abs() < 1e-6 && (at(read.action, to) - 0.08).abs() < 1e-6
            );
        }
    }

    #[test]
    fn counts_are_a_share_of_the_travel_and_never_turns() {
        let read = read(|open| 255.0 * open, |open| 255.0 * open);
        let Some(read) = read else { unreachable!("255 rad are no angle") };
        assert!((at(read.state, 255.0) - 1.0).abs() < 1e-6 && read.action == read.state);
    }

    #[test]
    fn a_servo_jaw_is_left_as_it_is() {
        assert_eq!(read(|open| 1.2 * open, |open| 1.3 * open), None);
        // One that is blocked closes less far than commanded.
        assert_eq!(read(|open| 0.5 + 0.7 * open, |open| 1.2 * open), None);
    }
}
