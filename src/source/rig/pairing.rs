//! Which number of the action belongs to which of the state: by name, by position only where nobody
//! named either side, and never a neighbour.

use crate::source::rig::naming::{Names, key};
use crate::source::rig::notice::Notice;

/// Front of a name that says an increment or a speed of what follows.
const RATES: [&str; 4] = ["delta", "d", "vel", "v"];
/// Words for the same thing.
const SAME: [(&str, &str); 3] = [("grip", "gripper"), ("jaw", "gripper"), ("claw", "gripper")];

/// The partner of each number of the state, and what stays without one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::source) struct Pairing {
    /// Places in the action.
    pub partner: Vec<Option<usize>>,
    /// Why a number of the state has none.
    pub why: Vec<String>,
    /// Numbers of the action that belong to none.
    pub rest: Vec<usize>,
}

impl Pairing {
    /// Pairs both sides. `listed` says that a profile lists the columns of both.
    pub fn of(state: &Names, action: &Names, listed: bool) -> Self {
        let (here, there) = (state.names.len(), action.names.len());
        let by_name = state.given && action.given && !(listed && here == there);
        if !by_name && here == there {
            return Self::in_order(here);
        }
        if !by_name {
            let why =
                format!("the action has {there} numbers a row, the state {here}, and no names");
            return Self {
                partner: vec![None; here],
                why: vec![why; here],
                rest: (0..there).collect(),
            };
        }
        let keys: Vec<String> = action.names.iter().map(|name| key(name)).collect();
        let mut free = vec![true; there];
        let mut partner = vec![None; here];
        // A name as it is before one that says an increment or a speed.
        for looser in [false, true] {
            for (at, name) in state.names.iter().enumerate().filter(|(at, _)| *at < here) {
                let wanted = key(name);
                let fits = |n: &usize| free[*n] && same(&keys[*n], &wanted, looser);
                if partner[at].is_none()
                    && let Some(found) = (0..there).find(fits)
                {
                    free[found] = false;
                    partner[at] = Some(found);
                }
            }
        }
        let why =
            state.names.iter().map(|name| format!("no number of the action is named as {name}"));
        let rest = (0..there).filter(|n| free[*n]).collect();
        Self { why: why.collect(), partner, rest }
    }

    fn in_order(count: usize) -> Self {
        Self {
            partner: (0..count).map(Some).collect(),
            why: vec![String::new(); count],
            rest: Vec::new(),
        }
    }

    /// What a person must know of it.
    pub fn notice(&self, state: &Names, action: &Names) -> Option<Notice> {
        let alone = self.partner.iter().zip(&state.names).filter(|(partner, _)| partner.is_none());
        let state: Vec<String> = alone.map(|(_, name)| name.clone()).collect();
        let action: Vec<String> = self.rest.iter().map(|at| action.names[*at].clone()).collect();
        let any = !state.is_empty() || !action.is_empty();
        any.then_some(Notice::Unpaired { state, action })
    }
}

fn same(action: &str, state: &str, looser: bool) -> bool {
    let plain = |name: &str| {
        let known = SAME.iter().find(|(word, _)| *word == name);
        known.map_or(name.to_owned(), |(_, same)| (*same).to_owned())
    };
    if action == state || plain(action) == plain(state) {
        return true;
    }
    let rate = |front: &&str| {
        let rest = action.strip_prefix(*front).map(|rest| rest.trim_start_matches('_'));
        rest.is_some_and(|rest| rest == state)
    };
    looser && RATES.iter().any(rate)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(names: &[&str]) -> Names {
        Names { names: names.iter().map(|n| (*n).to_owned()).collect(), given: true }
    }

    #[test]
    fn names_pair_in_any_order_and_never_with_a_neighbour() {
        let state = names(&["waist_pos", "elbow_pos", "wrist_pos"]);
        let paired = Pairing::of(&state, &names(&["cmd_wrist", "cmd_waist"]), false);
        assert_eq!(paired.partner, [Some(1), None, Some(0)]);
        assert_eq!(paired.why[1], "no number of the action is named as elbow_pos");
        let other = Pairing::of(&state, &names(&["pan", "tilt", "roll"]), false);
        assert_eq!((other.partner, other.rest), (vec![None; 3], vec![0, 1, 2]));
    }

    #[test]
    fn a_speed_or_an_increment_belongs_to_what_it_is_of() {
        let state = names(&["x", "yaw", "gripper"]);
        let paired = Pairing::of(&state, &names(&["dx", "dyaw", "grip"]), false);
        assert_eq!(paired.partner, [Some(0), Some(1), Some(2)]);
        let paired = Pairing::of(&state, &names(&["vx", "wz", "grip"]), false);
        assert_eq!((paired.partner, paired.rest), (vec![Some(0), None, Some(2)], vec![1]));
    }

    #[test]
    fn without_names_the_order_decides_where_counts_are_equal() {
        let unnamed = |count| Names { given: false, ..names(&["a", "b", "c"][..count]) };
        let paired = Pairing::of(&unnamed(3), &unnamed(3), false);
        assert_eq!(paired.partner, [Some(0), Some(1), Some(2)]);
        let paired = Pairing::of(&unnamed(3), &unnamed(2), false);
        assert_eq!(paired.partner, [None; 3]);
        assert!(paired.why[0].contains("2 numbers a row"));
        // Columns that a profile lists on both sides are meant in this order.
        let paired = Pairing::of(&names(&["a", "b"]), &names(&["p", "q"]), true);
        assert_eq!(paired.partner, [Some(0), Some(1)]);
    }
}
