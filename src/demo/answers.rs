//! The answer key: what was planted, in words that can be held against a scorecard.

use serde::Serialize;

use super::recipe::Recipe;
use super::recording::{Answer, JointTruth, Recording};

/// Name and version of the answer key's shape.
pub const ANSWERS_SCHEMA: &str = "teleassay/answers/1";

/// The answer key of a session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AnswerKey {
    /// [`ANSWERS_SCHEMA`].
    pub schema: &'static str,
    /// What the session was made from.
    pub recipe: Recipe,
    /// The follower of a sound episode, joint by joint.
    pub joints: Vec<JointTruth>,
    /// All episodes in order.
    pub episodes: Vec<EpisodeAnswers>,
}

/// What was planted in one episode.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EpisodeAnswers {
    /// Its id, as stored.
    pub episode: String,
    /// Number of frames.
    pub frames: usize,
    /// How long it really lasted, seconds.
    pub duration_s: f64,
    /// What was planted; empty for a sound episode.
    pub planted: Vec<Answer>,
}

impl EpisodeAnswers {
    /// The answers of one recording.
    pub fn of(recording: &Recording) -> Self {
        let moments = &recording.truth.moment_s;
        let duration_s = moments.last().zip(moments.first()).map_or(0.0, |(b, a)| b - a);
        Self {
            episode: recording.id.to_string(),
            frames: recording.frames(),
            duration_s,
            planted: recording.truth.answers.clone(),
        }
    }
}

impl AnswerKey {
    /// An empty key.
    pub(super) fn new(recipe: &Recipe) -> Self {
        Self {
            schema: ANSWERS_SCHEMA,
            recipe: recipe.clone(),
            joints: Vec::new(),
            episodes: Vec::new(),
        }
    }

    /// Adds an episode; the first sound one shows the follower.
    pub(super) fn push(&mut self, recording: &Recording) {
        if self.joints.is_empty() && recording.truth.answers.is_empty() {
            self.joints.clone_from(&recording.truth.joints);
        }
        self.episodes.push(EpisodeAnswers::of(recording));
    }
}
