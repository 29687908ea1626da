//! Which of an outcome's findings were there before.

use std::collections::BTreeMap;

use super::finding::Finding;
use super::position::EpisodeIndex;
use super::scorecard::{Scorecard, Verdict};

/// Which findings a baseline has as well, at least as bad: they are shown and do not count.
#[derive(Debug, Clone)]
pub struct Known {
    /// For each episode with findings, by its place in the dataset, whether each one is known.
    pub episodes: BTreeMap<EpisodeIndex, Vec<bool>>,
    /// The same for the findings of the session.
    pub session: Vec<bool>,
    /// How many are known, the session's among them.
    pub before: u64,
    /// How many are not.
    pub new: u64,
    /// The worst of those that are not known.
    pub verdict: Verdict,
}

impl Known {
    /// Whether a finding of a card is known. A card has one finding for a measurement and joint.
    pub fn of(&self, card: &Scorecard, finding: &Finding) -> bool {
        let at = card.findings.iter().position(|own| own.is(finding));
        let known = self.episodes.get(&card.key.index);
        at.and_then(|at| known?.get(at)).copied().unwrap_or(false)
    }
}
