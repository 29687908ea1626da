//! What kind of signal a single stored number is, where nobody declared it: few values, a counter,
//! a value that never changes, an angle without end.

use std::collections::HashMap;
use std::f64::consts::TAU;

use crate::model::SignalKind;
use crate::source::rig::naming::{is_counter, is_effort, is_velocity};
use crate::source::rig::survey::Sample;

/// Values of a signal that is on or off, or in one of a few modes.
const FEW: usize = 4;
/// Share of the rows at two values that makes a gripper one of open or closed.
const TWO: f64 = 0.98;
/// More distinct values than this are not counted.
const MANY: usize = 4096;
/// Fewer rows show nothing.
const FEWEST: usize = 50;
/// Values of a mode or a flag.
const MODES: std::ops::RangeInclusive<f32> = -1.0..=16.0;
/// Share of a turn from which on a step may be a wrap.
const WRAP: f64 = 0.75;
/// A step left after a wrap is taken out is at most this share of a turn.
const LEFT: f64 = 0.12;
/// An angle that goes on for more than this many turns has no stop.
const TURNS: f64 = 1.05;

/// One number of the state with its partner in the action.
#[derive(Clone, Copy)]
pub(in crate::source) struct Pair<'a> {
    pub samples: &'a [Sample],
    pub state: usize,
    pub action: Option<usize>,
}

/// A kind, and how it was decided.
pub(in crate::source) type Decided = (SignalKind, String);

impl<'a> Pair<'a> {
    fn side(self, leader: bool) -> Option<impl Iterator<Item = &'a [f32]> + Clone> {
        let at = if leader { self.action? } else { self.state };
        Some(self.samples.iter().map(move |sample| sample.stored(leader, at)))
    }

    fn values(self, leader: bool) -> Option<impl Iterator<Item = f32> + Clone> {
        Some(self.side(leader)?.flatten().copied().filter(|v| v.is_finite()))
    }

    /// The kind by name and values; none for an angle or a length.
    pub fn kind(self, name: Option<&str>, gripper: bool) -> Option<Decided> {
        if self.constant() {
            return Some((SignalKind::Constant, "never changes in state or action".to_owned()));
        }
        if gripper {
            let few = self.two_values()?;
            return Some((SignalKind::GripperDiscrete, few));
        }
        if name.is_some_and(is_velocity) {
            return Some((SignalKind::Velocity, "the name says a speed".to_owned()));
        }
        if name.is_some_and(is_effort) {
            return Some((SignalKind::Effort, "the name says an effort".to_owned()));
        }
        if name.is_some_and(is_counter) && self.counts() {
            return Some((SignalKind::Counter, "goes up by one in each row".to_owned()));
        }
        let few = self.modes()?;
        Some((SignalKind::Discrete, format!("{few} whole values in all")))
    }

    /// Whether nothing changes on either side, in more than one episode.
    fn constant(self) -> bool {
        let still = |leader| {
            let Some(mut values) = self.values(leader) else { return true };
            let Some(first) = values.next() else { return false };
            values.all(|v| v == first)
        };
        let rows = self.values(false).map_or(0, Iterator::count);
        let episodes = self.samples.iter().filter(|s| !s.time.is_empty()).count();
        rows >= FEWEST && episodes > 1 && still(false) && still(true)
    }

    /// Why a gripper is either open or closed.
    fn two_values(self) -> Option<String> {
        let mut counts: HashMap<u32, usize> = HashMap::new();
        let mut rows = 0;
        for value in self.values(false)? {
            // Zero has two signs.
            *counts.entry((value + 0.0).to_bits()).or_default() += 1;
            rows += 1;
            if counts.len() > MANY {
                return None;
            }
        }
        let mut sizes: Vec<usize> = counts.into_values().collect();
        sizes.sort_unstable_by(|a, b| b.cmp(a));
        let two: usize = sizes.iter().take(2).sum();
        if rows < FEWEST || sizes.len() < 2 {
            return None;
        }
        if sizes.len() <= FEW {
            return Some(format!("{} values in all", sizes.len()));
        }
        (two as f64 >= TWO * rows as f64)
            .then(|| format!("{:.1} % of rows at two values", 100.0 * two as f64 / rows as f64))
    }

    /// How many values a mode or a flag has: few, whole and small, on both sides.
    fn modes(self) -> Option<usize> {
        let mut most = 0;
        for leader in [false, true] {
            let Some(values) = self.values(leader) else { continue };
            let mut seen: Vec<f32> = Vec::new();
            let mut rows = 0;
            for value in values {
                rows += 1;
                if seen.contains(&value) {
                    continue;
                }
                if value.fract() != 0.0 || !MODES.contains(&value) || seen.len() == FEW {
                    return None;
                }
                seen.push(value);
            }
            if rows < FEWEST {
                return None;
            }
            most = most.max(seen.len());
        }
        (most >= 2).then_some(most)
    }

    fn counts(self) -> bool {
        let Some(mut columns) = self.side(false) else { return false };
        let mut rows = 0;
        let all = columns.all(|column| {
            rows += column.len();
            column.windows(2).all(|pair| pair[1] - pair[0] == 1.0)
        });
        all && rows >= FEWEST
    }

    /// Why an angle in radians times `factor` turns without end, or is written so that it wraps: it
    /// makes more than a turn, or both sides wrap. A wrap of the state alone is a fault of its zero.
    pub fn endless(self, factor: f64) -> Option<String> {
        let (mut wraps, mut turns) = ([0usize; 2], 0f64);
        for (side, leader) in [false, true].into_iter().enumerate() {
            let Some(columns) = self.side(leader) else { continue };
            for column in columns {
                let (mut own, mut sum, mut low, mut high) = (0usize, 0f64, 0f64, 0f64);
                for pair in column.windows(2) {
                    let step = f64::from(pair[1] - pair[0]) * factor / TAU;
                    if !step.is_finite() {
                        continue;
                    }
                    let rest = step - step.round();
                    if step.abs() > WRAP {
                        if step.abs() > 1.0 + LEFT || rest.abs() > LEFT {
                            return None;
                        }
                        own += 1;
                    }
                    sum += rest;
                    (low, high) = (low.min(sum), high.max(sum));
                }
                if own > 0 {
                    wraps[side] += own;
                    turns = turns.max(high - low);
                }
            }
        }
        if wraps[0] == 0 {
            return None;
        }
        if turns > TURNS {
            return Some(format!("turns on for {turns:.1} turns"));
        }
        (wraps[1] > 0).then(|| "state and action wrap at the same turn".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAMES: usize = 120;

    fn two(state: impl Fn(usize) -> f64, action: impl Fn(usize) -> f64) -> Vec<Sample> {
        let of = |f: &dyn Fn(usize) -> f64, from: usize| {
            (from..from + FRAMES).map(|t| f(t) as f32).collect::<Vec<f32>>()
        };
        let one = |from| Sample::of(vec![0.0; FRAMES], of(&state, from), of(&action, from));
        vec![one(0), one(FRAMES)]
    }

    fn kind(samples: &[Sample], gripper: bool) -> Option<SignalKind> {
        Pair { samples, state: 0, action: Some(0) }.kind(None, gripper).map(|(kind, _)| kind)
    }

    #[test]
    fn few_values_are_a_switch_and_a_joint_at_rest_is_a_joint() {
        let switch = |t: usize| f64::from(u8::from(t % 50 > 30));
        assert_eq!(kind(&two(switch, switch), false), Some(SignalKind::Discrete));
        assert_eq!(kind(&two(switch, switch), true), Some(SignalKind::GripperDiscrete));
        // A joint that rests on two counts of its encoder.
        let rests = |t: usize| 2047.0 + (t % 2) as f64;
        assert_eq!(kind(&two(rests, rests), false), None);
        let moves = |t: usize| (t as f64 * 0.1).sin();
        assert_eq!((kind(&two(moves, moves), false), kind(&two(moves, moves), true)), (None, None));
        // A jaw that is commanded to open or close and moves in between is no switch.
        assert_eq!(kind(&two(moves, switch), true), None);
    }

    #[test]
    fn what_never_changes_on_either_side_is_constant() {
        let (still, moves) = (|_: usize| 0.3, |t: usize| (t as f64 * 0.1).sin());
        assert_eq!(kind(&two(still, still), false), Some(SignalKind::Constant));
        // A joint that does not follow its leader is a fault, no constant.
        assert_eq!(kind(&two(still, moves), false), None);
        assert_eq!(kind(&two(still, still)[..1], false), None);
        let rises = two(|t| t as f64, moves);
        let named = |name| Pair { samples: &rises, state: 0, action: Some(0) }.kind(name, false);
        assert_eq!(named(Some("row_index")).map(|(kind, _)| kind), Some(SignalKind::Counter));
        assert_eq!(named(Some("waist")), None);
    }

    #[test]
    fn a_wrap_on_both_sides_or_a_second_turn_has_no_end() {
        let wrapped = |angle: f64| (angle + 3.1).rem_euclid(TAU) - 3.1;
        let sways = move |t: usize| wrapped(3.1 + 0.3 * (t as f64 * 0.1).sin());
        let turns = move |t: usize| wrapped(0.1 * t as f64);
        let plain = |t: usize| (t as f64 * 0.1).sin();
        let end = |samples: &[Sample]| Pair { samples, state: 0, action: Some(0) }.endless(1.0);
        assert!(end(&two(sways, sways)).is_some() && end(&two(turns, plain)).is_some());
        assert!(end(&two(sways, plain)).is_none() && end(&two(plain, plain)).is_none());
    }
}
