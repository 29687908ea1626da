//! Common words for columns, and how well a column's name fits a role.
//!
//! A name is cut into words at punctuation and at capitals. Words are of the role (`follower`),
//! neutral (`position`, `arm`, a unit), or foreign. **The rank of words**: a word of the role
//! itself before a mere quantity (`position`); fewer foreign words before more; a name that is
//! the word alone before a longer one. Equals are never guessed between.

use crate::source::declared::TimeUnit;

/// Words for the follower, measured.
pub(in crate::source) const STATE: &[&str] = &[
    "state",
    "states",
    "follower",
    "measured",
    "measurement",
    "measurements",
    "meas",
    "actual",
    "observation",
    "observations",
    "observed",
    "obs",
];
/// Words for the leader, commanded. One of these makes a name the leader's whatever else it says.
pub(in crate::source) const ACTION: &[&str] = &[
    "action",
    "actions",
    "leader",
    "command",
    "commands",
    "commanded",
    "cmd",
    "target",
    "targets",
    "goal",
    "desired",
    "setpoint",
];
/// Words for a position without saying whose; the follower's if nobody else's.
pub(in crate::source) const POSITION: &[&str] =
    &["position", "positions", "pos", "joint", "joints", "angle", "angles"];
/// Words that say nothing of whose or what.
pub(in crate::source) const FILLER: &[&str] =
    &["arm", "rad", "radian", "radians", "deg", "degree", "degrees", "counts"];
/// Words for time.
pub(in crate::source) const TIME: &[&str] =
    &["time", "times", "timestamp", "timestamps", "stamp", "stamps", "t", "ts"];
/// Words for an episode.
pub(in crate::source) const EPISODE: &[&str] = &["episode", "run", "take"];
/// Words for a frame counter.
pub(in crate::source) const FRAME: &[&str] = &["frame", "step", "index"];
/// Words for a task.
pub(in crate::source) const TASK: &[&str] = &["task", "tasks"];
/// Words that make a name an identifier of the thing before them.
const IDENTIFIER: &[&str] = &["index", "id", "idx", "number", "no", "num", "name"];
/// Quantities that are no positions, and bookkeeping.
const OTHER: &[&str] = &[
    "velocity",
    "velocities",
    "vel",
    "speed",
    "speeds",
    "acceleration",
    "accel",
    "acc",
    "effort",
    "efforts",
    "torque",
    "torques",
    "force",
    "forces",
    "current",
    "currents",
    "load",
    "loads",
    "voltage",
    "voltages",
    "temperature",
    "temperatures",
    "temp",
    "image",
    "images",
    "camera",
    "depth",
    "status",
    "error",
    "errors",
    "fault",
    "faults",
    "flag",
    "flags",
    "valid",
    "mask",
    "time",
    "timestamp",
    "stamp",
    "index",
    "id",
    "idx",
    "count",
    "number",
    "name",
    "episode",
    "run",
    "take",
    "frame",
    "task",
];
/// Quantities of a joint, besides its position.
pub(in crate::source) const QUANTITY: &[&str] = &[
    "velocity",
    "velocities",
    "vel",
    "speed",
    "acceleration",
    "accel",
    "acc",
    "effort",
    "torque",
    "force",
    "current",
    "load",
    "voltage",
    "temperature",
    "temp",
];
/// Whole words for a gripper.
const GRIPPER: &[&str] =
    &["gripper", "grippers", "jaw", "jaws", "claw", "finger", "fingers", "grip"];
/// Unit suffixes of a time column, with their meaning.
const TIME_UNITS: &[(&str, TimeUnit)] = &[
    ("s", TimeUnit::Second),
    ("sec", TimeUnit::Second),
    ("secs", TimeUnit::Second),
    ("seconds", TimeUnit::Second),
    ("ms", TimeUnit::Milli),
    ("msec", TimeUnit::Milli),
    ("millis", TimeUnit::Milli),
    ("us", TimeUnit::Micro),
    ("usec", TimeUnit::Micro),
    ("micros", TimeUnit::Micro),
    ("ns", TimeUnit::Nano),
    ("nsec", TimeUnit::Nano),
    ("nanos", TimeUnit::Nano),
];

/// One word of a name and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::source) struct Word {
    pub text: String,
    pub start: usize,
    pub end: usize,
}

impl Word {
    /// Whether it is one of these.
    pub fn among(&self, words: &[&str]) -> bool {
        words.contains(&self.text.as_str())
    }

    /// Whether it names a position or says nothing.
    pub fn neutral(&self) -> bool {
        self.among(POSITION) || self.among(FILLER)
    }
}

/// Cuts a name into lower-case words.
pub(in crate::source) fn words(name: &str) -> Vec<Word> {
    let mut found: Vec<Word> = Vec::new();
    let mut before = ' ';
    for (at, c) in name.char_indices() {
        if c.is_alphanumeric() {
            let begins = !before.is_alphanumeric() || (before.is_lowercase() && c.is_uppercase());
            if begins {
                found.push(Word { text: String::new(), start: at, end: at });
            }
            if let Some(word) = found.last_mut() {
                word.text.extend(c.to_lowercase());
                word.end = at + c.len_utf8();
            }
        }
        before = c;
    }
    found
}

/// How well a name fits; less is better. See the rank of words above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::source) struct Fit {
    /// Not the role's own word but a quantity, or only the type.
    pub weak: bool,
    /// Foreign words.
    pub foreign: usize,
    /// 0 a vector, 1 a group of scalars, 2 a single scalar.
    pub shape: u8,
    /// More than the word itself.
    pub longer: bool,
}

/// How well a name fits the follower.
pub(in crate::source) fn state_fit(name: &str) -> Option<Fit> {
    let all = words(name);
    if all.iter().any(|w| w.among(ACTION)) {
        return None;
    }
    fit(&all, STATE, POSITION, Word::neutral)
}

/// How well a name fits the leader.
pub(in crate::source) fn action_fit(name: &str) -> Option<Fit> {
    fit(&words(name), ACTION, &[], |w| w.neutral() || w.among(STATE))
}

fn fit(all: &[Word], own: &[&str], weak: &[&str], free: impl Fn(&Word) -> bool) -> Option<Fit> {
    if all.iter().any(|w| w.among(OTHER)) {
        return None;
    }
    let strong = all.iter().any(|w| w.among(own));
    if !strong && !all.iter().any(|w| w.among(weak)) {
        return None;
    }
    let foreign = all.iter().filter(|w| !w.among(own) && !free(w)).count();
    Some(Fit { weak: !strong, foreign, shape: 0, longer: all.len() > 1 })
}

/// How well a name fits a time column, and the unit that its suffix states.
pub(in crate::source) fn time_fit(name: &str) -> Option<Fit> {
    let all = words(name);
    if !all.iter().any(|w| w.among(TIME)) {
        return None;
    }
    let rest = if time_unit(name).is_some() { &all[..all.len() - 1] } else { &all[..] };
    let foreign = rest.iter().filter(|w| !w.among(TIME)).count();
    Some(Fit { weak: false, foreign, shape: 0, longer: all.len() > 1 })
}

/// The unit that a time column's last word states.
pub(in crate::source) fn time_unit(name: &str) -> Option<TimeUnit> {
    let all = words(name);
    let last = all.last().filter(|_| all.len() > 1)?;
    TIME_UNITS.iter().find(|(text, _)| *text == last.text).map(|(_, unit)| *unit)
}

/// How well a name fits an identifier: the word alone, or with `_index`, `_id` and the like;
/// more words are foreign.
pub(in crate::source) fn id_fit(name: &str, own: &[&str]) -> Option<Fit> {
    let all = words(name);
    let mut found = false;
    let mut foreign = 0;
    for word in &all {
        if word.among(own) {
            found = true;
        } else if !word.among(IDENTIFIER) {
            foreign += 1;
        }
    }
    // `episode_length` counts something else; `session_episode` still says which episode.
    let ends_well = all.last().is_some_and(|w| w.among(own) || w.among(IDENTIFIER));
    (found && ends_well).then_some(Fit { weak: false, foreign, shape: 0, longer: all.len() > 1 })
}

/// Words for the side of an arm.
const SIDES: &[(&str, &str)] =
    &[("left", "left"), ("l", "left"), ("right", "right"), ("r", "right")];

/// The side that a name says, and the rest of its words.
pub(in crate::source) fn side(name: &str) -> Option<(&'static str, String)> {
    let all = words(name);
    let of = |word: &Word| SIDES.iter().find(|(text, _)| *text == word.text).map(|(_, side)| *side);
    let found = all.iter().find_map(of)?;
    let rest: Vec<&str> = all.iter().filter(|w| of(w).is_none()).map(|w| w.text.as_str()).collect();
    Some((found, rest.join("_")))
}

/// Whether a joint's name is a gripper's.
pub(in crate::source) fn is_gripper(name: &str) -> bool {
    words(name).iter().any(|w| w.among(GRIPPER))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_cut_at_punctuation_and_capitals() {
        let texts = |name| words(name).into_iter().map(|w| w.text).collect::<Vec<_>>();
        assert_eq!(texts("observation.leftArm_pos"), ["observation", "left", "arm", "pos"]);
        assert_eq!(texts("_t"), ["t"]);
    }

    #[test]
    fn the_leaders_word_decides() {
        assert!(state_fit("leader_position").is_none() && action_fit("leader_position").is_some());
        assert!(state_fit("follower_velocity").is_none());
        assert!(state_fit("state") < state_fit("follower_position"));
        assert!(state_fit("follower_position") < state_fit("position"));
        assert!(state_fit("wrist_camera").is_none());
    }

    #[test]
    fn identifiers_are_told_from_amounts() {
        assert!(id_fit("episode_index", EPISODE).is_some() && id_fit("run", EPISODE).is_some());
        assert!(id_fit("episode_length", EPISODE).is_none());
        assert!(id_fit("run", EPISODE) < id_fit("run_id", EPISODE));
    }

    #[test]
    fn units_are_suffixes() {
        assert_eq!(time_unit("stamp_ms"), Some(crate::source::declared::TimeUnit::Milli));
        assert_eq!(time_unit("time"), None);
        assert!(time_fit("time_s") > time_fit("time") && time_fit("wall").is_none());
    }

    #[test]
    fn the_whole_path_says_the_side() {
        let own = |name| side(name).map(|(side, rest)| format!("{side} {rest}"));
        assert_eq!(own("left.arm.position").as_deref(), Some("left arm_position"));
        assert_eq!(own("follower_r").as_deref(), Some("right follower"));
        assert_eq!(own("follower"), None);
    }

    #[test]
    fn grippers_go_by_whole_words() {
        assert!(is_gripper("left_gripper") && is_gripper("jaw") && !is_gripper("gripping"));
    }
}
