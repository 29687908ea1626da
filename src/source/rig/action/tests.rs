//! Every kind of action is recognised or left undecided, and is never taken for another one.

use super::made::{Dice, Made, Session};
use super::take::Take;
use super::votes::recognise;
use crate::model::{ActionKind, Actions};

/// Episodes that a survey looks at.
const EPISODES: usize = 12;

const KINDS: [(&str, ActionKind); 7] = [
    ("position", ActionKind::Position),
    ("next", ActionKind::Next),
    ("delta", ActionKind::Delta),
    ("velocity", ActionKind::Velocity),
    ("held", ActionKind::Held { frames: 0 }),
    ("chunked", ActionKind::Chunked),
    ("other", ActionKind::Other),
];

fn recognised(session: &Session, dice: &mut Dice, episodes: usize) -> Actions {
    let made: Vec<Made> = (0..episodes).map(|_| session.episode(dice)).collect();
    let take = |made: &'_ Made| -> Vec<(Vec<f32>, Vec<f32>)> {
        made.state.iter().cloned().zip(made.action.iter().cloned()).collect()
    };
    let all: Vec<_> = made.iter().map(take).collect();
    let takes: Vec<Take<'_>> = all
        .iter()
        .map(|joints| Take::of(joints.iter().map(|(s, a)| (s.as_slice(), a.as_slice(), 1.0))))
        .collect();
    recognise(&takes, 1.0 / session.rate_hz)
}

/// How many of the sessions were recognised, left undecided, and taken for another kind.
fn counted(name: &str, kind: ActionKind, sessions: u64, first: u64) -> [usize; 3] {
    let mut counts = [0; 3];
    for seed in first..first + sessions {
        let mut dice = Dice::new(seed * 31 + name.len() as u64);
        let kind = match kind {
            ActionKind::Held { .. } => ActionKind::Held { frames: 2 + (seed % 9) as u16 },
            other => other,
        };
        let session = Session::of(kind, &mut dice);
        let found = recognised(&session, &mut dice, EPISODES);
        let place = if found.kind == kind {
            0
        } else if matches!(found.kind, ActionKind::Unknown | ActionKind::Other) {
            1
        } else {
            2
        };
        counts[place] += 1;
    }
    counts
}

fn hold_to_account(sessions: u64, first: u64) {
    for (name, kind) in KINDS {
        let counts = counted(name, kind, sessions, first);
        // A jump from chunk to chunk that is smaller than the motion in a frame cannot be seen.
        assert!(counts[2] as u64 <= sessions / 200, "{name}: {counts:?}");
        let fewest = if kind == ActionKind::Other { 0 } else { sessions as usize * 3 / 4 };
        assert!(counts[0] >= fewest, "{name}: {counts:?}");
    }
}

/// Short tasks at 10 Hz that begin after a wait of 3.5 s, with sharp ramps: what all episodes have in common
/// once is no rhythm, and a ramp of a frame or two is no jump.
#[test]
fn a_wait_before_the_task_makes_no_chunks() {
    for seed in 0..12 {
        let mut dice = Dice::new(7_000 + seed);
        let stops: Vec<[f64; 5]> =
            (0..5).map(|_| [(); 5].map(|()| dice.within(-0.9, 0.9))).collect();
        let mut episode = || -> Vec<(Vec<f32>, Vec<f32>)> {
            let (mut at, mut path) = (stops[4], Vec::new());
            let begin = 3.5 + dice.within(0.25, 0.55);
            path.resize((begin / 0.01) as usize, at);
            for stop in &stops {
                let lasts = dice.within(0.35, 0.5);
                let steps = (lasts / 0.01) as usize;
                let from = at;
                for n in 1..=steps {
                    let u = n as f64 / steps as f64;
                    let way = if u < 0.3 {
                        u * u / 0.42
                    } else if u > 0.7 {
                        1.0 - (1.0 - u) * (1.0 - u) / 0.42
                    } else {
                        (u - 0.15) / 0.7
                    };
                    at = std::array::from_fn(|j| from[j] + way * (stop[j] - from[j]));
                    path.push(at);
                }
                path.resize(path.len() + (dice.within(0.18, 0.45) / 0.01) as usize, at);
            }
            let rows: Vec<usize> = (0..path.len()).step_by(10).collect();
            let side = |joint: usize, late: usize, dice: &mut Dice| -> Vec<f32> {
                let seen = |row: &usize| {
                    let value = path[row.saturating_sub(late)][joint] + 2e-4 * dice.normal();
                    ((value / 1.5e-3).round() * 1.5e-3) as f32
                };
                rows.iter().map(seen).collect()
            };
            (0..5).map(|joint| (side(joint, 7, &mut dice), side(joint, 0, &mut dice))).collect()
        };
        let all: Vec<_> = (0..EPISODES).map(|_| episode()).collect();
        let takes: Vec<Take<'_>> = all
            .iter()
            .map(|one| Take::of(one.iter().map(|(s, a)| (s.as_slice(), a.as_slice(), 1.0))))
            .collect();
        assert_eq!(recognise(&takes, 0.1).kind, ActionKind::Position, "{seed}");
    }
}

/// Six seconds at 10 Hz hold five updates of a second each: too few to say by themselves.
#[test]
fn holds_of_a_second_are_seen_in_all_episodes_together() {
    for seed in 0..20 {
        let mut dice = Dice::new(900 + seed);
        let mut session = Session::of(ActionKind::Held { frames: 10 }, &mut dice);
        session.rate_hz = 10.0;
        let cut = |made: &Made| -> Vec<(Vec<f32>, Vec<f32>)> {
            let side = |rows: &[f32]| rows[..60].to_vec();
            made.state.iter().zip(&made.action).map(|(s, a)| (side(s), side(a))).collect()
        };
        let all: Vec<_> = (0..6).map(|_| cut(&session.episode(&mut dice))).collect();
        let takes: Vec<Take<'_>> = all
            .iter()
            .map(|one| Take::of(one.iter().map(|(s, a)| (s.as_slice(), a.as_slice(), 1.0))))
            .collect();
        let kind = recognise(&takes, 0.1).kind;
        let right = matches!(kind, ActionKind::Held { frames: 10 } | ActionKind::Unknown);
        assert!(right, "{seed}: {kind:?}");
    }
}

#[test]
fn every_kind_is_recognised_or_left_undecided() {
    hold_to_account(4, 1);
}
