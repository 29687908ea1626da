//! Scalar columns, one per joint, that together make a vector: `follower_waist`,
//! `follower_elbow`, ….

use crate::source::role::Role;
use crate::source::roles::shape::{Column, Shape};
use crate::source::roles::words::{
    ACTION, Fit, POSITION, STATE, Word, action_fit, side, state_fit, words,
};

/// Scalar columns that belong together, in the order of the table.
#[derive(Debug, Clone)]
pub(in crate::source) struct Group {
    /// How a profile would say it: `follower_*`.
    pub pattern: String,
    /// Columns and the joints' names.
    pub members: Vec<(Column, String)>,
    /// How well the shared part fits the role.
    pub fit: Fit,
}

/// Whose columns are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::source) enum Whose {
    Follower,
    Leader,
}

impl Whose {
    /// The role of these columns.
    pub fn role(self) -> Role {
        match self {
            Self::Follower => Role::State,
            Self::Leader => Role::Action,
        }
    }
}

/// Gathers scalar columns by the part of the name that says whose they are.
pub(in crate::source) fn groups(columns: &[Column], whose: Whose) -> Vec<Group> {
    let mut found: Vec<Group> = Vec::new();
    for column in columns {
        if !matches!(column.shape(), Shape::Number(_)) {
            continue;
        }
        let name = column.name();
        let fits = |text: &str| match whose {
            Whose::Follower => state_fit(text),
            Whose::Leader => action_fit(text),
        };
        if fits(&name).is_none() {
            continue;
        }
        let Some((pattern, shared, joint)) = split(&name, whose).or_else(|| sided(&name, whose))
        else {
            continue;
        };
        let Some(mut fit) = fits(&shared) else { continue };
        fit.shape = if joint.is_some() { 1 } else { 2 };
        let member = (column.clone(), joint.unwrap_or_default());
        match found.iter_mut().find(|g| g.pattern == pattern) {
            Some(group) => group.members.push(member),
            None => found.push(Group { pattern, members: vec![member], fit }),
        }
    }
    joined(found, columns)
}

/// Puts groups together of which one says all that the other says and `joint` or `position` besides:
/// `state_joint_1` and `state_gripper` are of one vector.
fn joined(mut groups: Vec<Group>, columns: &[Column]) -> Vec<Group> {
    let place = |path: &[String]| columns.iter().position(|column| column.path == path);
    while let Some((wide, narrow)) = pair(&groups) {
        let Group { members, fit, .. } = groups.remove(narrow);
        let into = &mut groups[wide - usize::from(narrow < wide)];
        let taken: Vec<String> = into.members.iter().map(|(_, name)| name.clone()).collect();
        let pattern = into.pattern.clone();
        into.members.extend(members.into_iter().map(|(column, name)| {
            let whole = star(&pattern, &column.name()).to_string();
            let name = if taken.contains(&name) { whole } else { name };
            (column, name)
        }));
        into.members.sort_by_key(|(column, _)| place(&column.path));
        into.fit = into.fit.min(fit);
    }
    groups
}

/// The places of two such groups, the wider one first.
fn pair(groups: &[Group]) -> Option<(usize, usize)> {
    let holds = |wide: &Group, narrow: &Group| {
        wide.pattern != narrow.pattern && matches(&wide.pattern, &narrow.pattern.replace('*', "x"))
    };
    let wide = |n: usize| (0..groups.len()).find(|w| holds(&groups[*w], &groups[n]));
    (0..groups.len()).find_map(|narrow| Some((wide(narrow)?, narrow)))
}

/// Splits a name into a pattern, the shared part and the joint: `follower_waist_pos` gives
/// `follower_*`, `follower_`, `waist`. The shared part stands in front or at the end; the word of
/// the role itself is looked for before a mere `position`.
fn split(name: &str, whose: Whose) -> Option<(String, String, Option<String>)> {
    let all = words(name);
    let (own, free): (&[&str], &[&str]) = match whose {
        Whose::Follower => (STATE, &[]),
        Whose::Leader => (ACTION, STATE),
    };
    let shared = |w: &Word| w.among(own) || w.among(free) || w.neutral();
    let front = all.iter().take_while(|w| shared(w)).count();
    let back = all.iter().rev().take_while(|w| shared(w)).count();
    if front == all.len() {
        return Some((name.to_string(), name.to_string(), None));
    }
    let has = |part: &[Word], list: &[&str]| part.iter().any(|w| w.among(list));
    let (head, tail) = (&all[..front], &all[all.len() - back..]);
    let quantity: &[&str] = if whose == Whose::Follower { POSITION } else { &[] };
    let at_front = has(head, own) || (!has(tail, own) && has(head, quantity));
    if at_front {
        let start = all[front].start;
        // What follows the joint's name and only names the quantity is not part of the name.
        let end = all[all.len() - back - 1].end;
        let prefix = name[..start].to_string();
        return Some((format!("{prefix}*"), prefix, Some(name[start..end].to_string())));
    }
    if has(tail, own) || has(tail, quantity) {
        let end = all[all.len() - back - 1].end;
        let start = all[front].start;
        let suffix = name[end..].to_string();
        return Some((format!("*{suffix}"), suffix, Some(name[start..end].to_string())));
    }
    None
}

/// The same for a name that says the side of the arm before whose it is: `left.state.waist` is the
/// joint `left_waist`.
fn sided(name: &str, whose: Whose) -> Option<(String, String, Option<String>)> {
    let all = words(name);
    let own: &[&str] = if whose == Whose::Follower { STATE } else { ACTION };
    let of_role = |list: &[&str]| all.iter().position(|word| word.among(list));
    let quantity = || of_role(POSITION).filter(|_| whose == Whose::Follower);
    let at = of_role(own).or_else(quantity)?;
    let (front, first) = (&all[..at], all.get(at)?);
    let is_side = |word: &Word| side(&word.text).is_some();
    if !front.iter().all(|word| word.neutral() || is_side(word)) {
        return None;
    }
    let mut sides = front.iter().filter_map(|word| side(&word.text));
    let (Some((arm, _)), None) = (sides.next(), sides.next()) else { return None };
    let (pattern, shared, joint) = split(&name[first.start..], whose)?;
    let gap = &name[front.last()?.end..first.start];
    Some((format!("*{gap}{pattern}"), shared, Some(format!("{arm}_{}", joint?))))
}

/// Whether a name matches a declared pattern with one `*`.
pub(in crate::source) fn matches(pattern: &str, name: &str) -> bool {
    match pattern.split_once('*') {
        Some((front, back)) => {
            name.len() > front.len() + back.len() && name.starts_with(front) && name.ends_with(back)
        }
        None => pattern == name,
    }
}

/// What a pattern's `*` stands for in a name.
pub(in crate::source) fn star<'a>(pattern: &str, name: &'a str) -> &'a str {
    match pattern.split_once('*') {
        Some((front, back)) if matches(pattern, name) => {
            &name[front.len()..name.len() - back.len()]
        }
        _ => name,
    }
}

#[cfg(test)]
mod tests {
    use arrow::datatypes::{DataType, Field};

    use super::*;

    fn parts(name: &str, whose: Whose) -> Option<(String, Option<String>)> {
        split(name, whose).map(|(pattern, _, joint)| (pattern, joint))
    }

    #[test]
    fn the_shared_part_is_taken_off() {
        let some = |p: &str, j: &str| Some((p.to_string(), Some(j.to_string())));
        assert_eq!(parts("follower_waist", Whose::Follower), some("follower_*", "waist"));
        assert_eq!(parts("leader_joint_2_pos", Whose::Leader), some("leader_joint_*", "2"));
        assert_eq!(parts("waist_cmd", Whose::Leader), some("*_cmd", "waist"));
        assert_eq!(parts("joint_1", Whose::Follower), some("joint_*", "1"));
        assert_eq!(parts("position", Whose::Follower), Some(("position".to_string(), None)));
    }

    /// Both arms are one vector, and a joint's name keeps its side.
    #[test]
    fn the_side_of_an_arm_may_stand_in_front_of_the_role() {
        let column = |name: &&str| Column {
            path: name.split('.').map(str::to_string).collect(),
            field: Field::new(*name, DataType::Float64, true),
        };
        let names = |names: &[&str], whose: Whose| {
            let columns: Vec<Column> = names.iter().map(column).collect();
            let found = groups(&columns, whose);
            let joints = |g: Group| g.members.into_iter().map(|(_, name)| name).collect();
            found.into_iter().map(joints).collect::<Vec<Vec<String>>>()
        };
        let both = ["left.state.waist", "left.state.jaw", "right.state.waist", "right.state.jaw"];
        let joints = ["left_waist", "left_jaw", "right_waist", "right_jaw"];
        assert_eq!(names(&both, Whose::Follower), [joints]);
        let leader = ["left_arm.leader_waist", "right_arm.leader_waist"];
        assert_eq!(names(&leader, Whose::Leader), [["left_waist", "right_waist"]]);
        assert_eq!(names(&leader, Whose::Follower), Vec::<Vec<String>>::new());
        // Behind the role the side is of the joint's name already.
        let behind = ["state.left.waist", "state.right.waist"];
        assert_eq!(names(&behind, Whose::Follower), [["left.waist", "right.waist"]]);
    }

    /// One column a joint, some of which say that they are joints: none is left behind.
    #[test]
    fn a_gripper_among_numbered_joints_is_of_the_same_vector() {
        let column = |name: &&str| Column {
            path: vec![(*name).to_string()],
            field: Field::new(*name, DataType::Float64, true),
        };
        let told = |names: &[&str], whose: Whose| {
            let columns: Vec<Column> = names.iter().map(column).collect();
            let found = groups(&columns, whose);
            let names = |g: Group| g.members.into_iter().map(|(_, name)| name).collect();
            found.into_iter().map(names).collect::<Vec<Vec<String>>>()
        };
        let state = ["state_joint_1", "state_joint_2", "state_gripper"];
        assert_eq!(told(&state, Whose::Follower), [["1", "2", "gripper"]]);
        let leader = ["gripper_cmd", "waist_position_cmd", "elbow_position_cmd"];
        assert_eq!(told(&leader, Whose::Leader), [["gripper", "waist", "elbow"]]);
        // What would have one name twice keeps its own.
        let both = ["follower_x", "follower_joint_x"];
        assert_eq!(told(&both, Whose::Follower), [["x", "joint_x"]]);
        assert_eq!(told(&["pos_1", "pos_2", "joint_1"], Whose::Follower).len(), 2);
    }

    #[test]
    fn patterns_have_one_star() {
        assert!(matches("meas_*", "meas_waist") && !matches("meas_*", "meas_"));
        assert_eq!(star("meas_*_deg", "meas_waist_deg"), "waist");
    }
}
