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

#[test]
fn every_kind_is_recognised_or_left_undecided() {
    hold_to_account(4, 1);
}
