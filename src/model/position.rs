//! Positions of episodes: two numbers that look alike and must not be exchanged.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Position of an episode in the order of the dataset, whether or not it could be read.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct EpisodeIndex(u64);

impl EpisodeIndex {
    /// The episode that has so many before it.
    pub const fn new(before: u64) -> Self {
        Self(before)
    }

    /// How many episodes come before it.
    pub const fn get(self) -> u64 {
        self.0
    }
}

impl From<u64> for EpisodeIndex {
    fn from(before: u64) -> Self {
        Self(before)
    }
}

impl fmt::Display for EpisodeIndex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Place of a card among those of an outcome: an episode that could not be read has none.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct CardPlace(usize);

impl CardPlace {
    /// The card that has so many before it.
    pub const fn new(before: usize) -> Self {
        Self(before)
    }

    /// How many cards come before it.
    pub const fn get(self) -> usize {
        self.0
    }

    /// All places of so many cards.
    pub fn all(cards: usize) -> impl DoubleEndedIterator<Item = Self> {
        (0..cards).map(Self)
    }
}

impl From<usize> for CardPlace {
    fn from(before: usize) -> Self {
        Self(before)
    }
}

impl fmt::Display for CardPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
