//! From what single episodes say to what the actions of the rig are.

use rayon::prelude::*;

use crate::model::{ActionKind, Actions, KnownBy};
use crate::num::robust::median;
use crate::source::rig::action::answer::{Answer, Means};
use crate::source::rig::action::borders::jumps;
use crate::source::rig::action::next::is_next;
use crate::source::rig::action::take::Take;
use crate::source::rig::action::updates::{SEARCHED, chunk, hold};

/// Share of the episodes that say anything that must say the same ...
const AGREE: f64 = 0.8;
/// ... and share of the episodes with motion that must say anything.
const SAY: f64 = 0.3;
/// A sum of actions this near to the change of the state is of increments; a sum over time this near
/// is of velocities in the unit of the state.
const NEAR: f64 = 1.7;

/// What the actions of a few episodes are.
pub(in crate::source) fn recognise(takes: &[Take<'_>], period_s: f64) -> Actions {
    let (kind, by) = kind(takes, period_s);
    Actions { kind, by }
}

fn kind(takes: &[Take<'_>], period_s: f64) -> (ActionKind, KnownBy) {
    let undecided = |why: &str| (ActionKind::Unknown, KnownBy::Undecided(why.to_owned()));
    if !(period_s.is_finite() && period_s > 0.0) {
        return undecided("no frame period");
    }
    let answers: Vec<(&Take<'_>, Answer)> =
        takes.par_iter().filter_map(|take| Some((take, Answer::of(take, period_s)?))).collect();
    if answers.is_empty() {
        return undecided("no joint moves in both state and action");
    }
    let say = |means: Means| of(&answers, means).len();
    let (position, rate) = (say(Means::Position), say(Means::Rate));
    // A faulty episode says nothing, and votes for nothing: not against the kind either.
    let enough = (position + rate) as f64 >= SAY * answers.len() as f64;
    let most = |count: usize| enough && count as f64 >= AGREE * (position + rate) as f64;
    if position > 0 && most(position) {
        let chosen = of(&answers, Means::Position);
        let why = figures(&chosen, answers.len(), Means::Position);
        return (positions(&chosen, period_s), KnownBy::Recognised(why));
    }
    if rate > 0 && most(rate) {
        let chosen = of(&answers, Means::Rate);
        let why = figures(&chosen, answers.len(), Means::Rate);
        let gain = median(&chosen.iter().map(|(_, answer)| answer.gain).collect::<Vec<_>>());
        return match rate_of(gain, period_s) {
            Some(kind) => (kind, KnownBy::Recognised(why)),
            None => undecided(&format!(
                "rates of the state, {gain:.2} to one unit of it: increments or velocities"
            )),
        };
    }
    let left = |of: &dyn Fn(&Answer) -> f64| {
        100.0 * median(&answers.iter().map(|(_, answer)| of(answer)).collect::<Vec<_>>())
    };
    undecided(&format!(
        "the state explains them neither as positions ({:.0} % left) nor as rates ({:.0} % left)",
        left(&|answer| answer.position_left),
        left(&|answer| answer.rate_left)
    ))
}

type Said<'t, 'a> = (&'t Take<'a>, Answer);

fn of<'t, 'a>(answers: &[Said<'t, 'a>], means: Means) -> Vec<Said<'t, 'a>> {
    answers.iter().copied().filter(|(_, answer)| answer.means == Some(means)).collect()
}

/// The figures that decided.
fn figures(chosen: &[Said<'_, '_>], all: usize, means: Means) -> String {
    let left = |of: &dyn Fn(&Answer) -> f64| {
        100.0 * median(&chosen.iter().map(|(_, answer)| of(answer)).collect::<Vec<_>>())
    };
    let (position, rate) = (left(&|a| a.position_left), left(&|a| a.rate_left));
    let (name, own, other_name, other) = match means {
        Means::Position => ("positions", position, "rates", rate),
        Means::Rate => ("rates", rate, "positions", position),
    };
    format!(
        "in {} of {all} episodes they go with the state as {name}, {own:.1} % of their variance \
         left; as {other_name}, {other:.0} %",
        chosen.len()
    )
}

/// Which positions they are.
fn positions(chosen: &[Said<'_, '_>], period_s: f64) -> ActionKind {
    let next = chosen.iter().filter(|(take, _)| is_next(take)).count();
    if next as f64 >= AGREE * chosen.len() as f64 {
        return ActionKind::Next;
    }
    if let Some(frames) = hold_of(chosen.iter().map(|(take, _)| *take), period_s) {
        return ActionKind::Held { frames };
    }
    let frames = SEARCHED / chosen.len();
    let jump = chosen.iter().filter(|(take, _)| jumps(take, frames, period_s)).count();
    let chunks = 2 * jump > chosen.len() || chunk(chosen.iter().map(|(take, _)| *take)).is_some();
    if chunks { ActionKind::Chunked } else { ActionKind::Position }
}

/// Frames of a hold, where most of the episodes that show anything hold their actions.
fn hold_of<'t, 'a: 't>(takes: impl Iterator<Item = &'t Take<'a>>, period_s: f64) -> Option<u16> {
    let all: Vec<f64> = takes.filter_map(|take| hold(take, period_s)).map(f64::from).collect();
    let held: Vec<f64> = all.iter().copied().filter(|frames| *frames > 1.0).collect();
    (2 * held.len() > all.len()).then(|| median(&held).round() as u16)
}

/// Frames of a hold, where it is known that actions are held.
pub(super) fn held(takes: &[Take<'_>], period_s: f64) -> Option<u16> {
    hold_of(takes.iter(), period_s)
}

/// Which rate they are by the sum of the actions to one unit of the state's change: 1 for increments,
/// frames a second for velocities, any more for velocities of a unit of their own.
fn rate_of(gain: f64, period_s: f64) -> Option<ActionKind> {
    let increments = (1.0 / NEAR..=NEAR).contains(&gain);
    let velocities = gain * period_s >= 1.0 / NEAR;
    match (increments, velocities) {
        (true, false) => Some(ActionKind::Delta),
        (false, true) => Some(ActionKind::Velocity),
        _ => None,
    }
}
