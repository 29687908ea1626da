//! One episode on the bench, with what several checks need worked out once.

use crate::model::Episode;

/// An episode, and what several checks need of it, worked out on first use.
#[derive(Debug)]
pub struct Study<'a> {
    /// The episode.
    pub episode: &'a Episode,
}
