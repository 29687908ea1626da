//! A fault, and where in the session it is planted.

use serde::{Deserialize, Serialize};

use super::fault::Fault;

/// A fault, and where in the session it is planted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Planted {
    /// What is wrong.
    pub fault: Fault,
    /// Name of the joint concerned; for faults of one joint. None lets some faults take all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<String>,
    /// Numbers of the episodes concerned, from 0; empty means all of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub episodes: Vec<u64>,
}

impl Planted {
    /// Whether it affects this episode.
    pub fn affects(&self, episode: u64) -> bool {
        self.episodes.is_empty() || self.episodes.contains(&episode)
    }

    /// Says what is wrong with where it is planted.
    pub(super) fn check(&self, joints: &[String], episodes: u64) -> Result<(), String> {
        let kind = self.fault.kind();
        if let Some(late) = self.episodes.iter().find(|e| **e >= episodes) {
            return Err(format!("{kind}: episode {late}, but there are only {episodes}"));
        }
        match &self.joint {
            None if self.fault.needs_joint() => return Err(format!("{kind} needs a joint")),
            Some(name) if !joints.contains(name) => {
                return Err(format!("{kind}: no joint {name}; there are {}", joints.join(", ")));
            }
            _ => {}
        }
        match &self.fault {
            Fault::SwappedJoints { with } if !joints.contains(with) => {
                Err(format!("{kind}: no joint {with}; there are {}", joints.join(", ")))
            }
            Fault::DuplicateEpisode { of } if *of >= episodes || self.affects(*of) => {
                Err(format!("{kind}: episode {of} must be another one of the {episodes}"))
            }
            _ => Ok(()),
        }
    }
}

/// What was planted in one episode, as it came to pass.
#[derive(Debug, Clone, Default)]
pub(super) struct Mark {
    /// Place of the fault in the recipe.
    pub planted: usize,
    /// Where, in seconds of true time since the episode began.
    pub spans_s: Vec<[f64; 2]>,
    /// How many frames, values or events.
    pub count: usize,
}

/// One episode's share of the faults.
#[derive(Debug, Clone)]
pub(super) struct Mine<'a> {
    /// The fault, its joint's index, and its place in the recipe.
    pub faults: Vec<(usize, &'a Fault, Option<usize>)>,
}

impl<'a> Mine<'a> {
    /// Picks what affects an episode.
    pub fn of(planted: &'a [Planted], joints: &[String], episode: u64) -> Self {
        let index = |name: &String| joints.iter().position(|j| j == name);
        let faults = planted
            .iter()
            .enumerate()
            .filter(|(_, p)| p.affects(episode))
            .map(|(i, p)| (i, &p.fault, p.joint.as_ref().and_then(index)))
            .collect();
        Self { faults }
    }

    /// All faults: place in the recipe, fault, joint.
    pub fn iter(&self) -> impl Iterator<Item = (usize, &'a Fault, Option<usize>)> + '_ {
        self.faults.iter().copied()
    }
}
