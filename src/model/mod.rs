//! The basic types: what a rig, an episode, a measurement, a reading and a finding are.
//!
//! Layer 1: knows only [`crate::num`]. Angles are radians, lengths metres, times seconds; a
//! reading is always finite.

mod accepted;
mod action_kind;
mod brief;
mod channels;
mod count;
mod dimension;
mod episode;
mod extras;
mod family;
mod finding;
mod known;
mod ledger;
mod metric;
mod name;
mod position;
pub mod quantity;
mod quantity_words;
mod reading;
mod relation;
mod required;
mod rig;
mod scorecard;
mod session;
mod severity;
mod signal_kind;
mod sketch;
mod sketches;
mod skipped;
mod span;
mod stored;
mod suppressed;
mod unit;

pub use accepted::{Acceptance, Accepted};
pub use action_kind::{ActionKind, Actions, KnownBy};
pub use brief::{brief, cut};
pub use channels::Channels;
pub use count::count;
pub use dimension::{Dimension, MIN_STD};
pub use episode::{Episode, EpisodeKey, RowRange};
pub use extras::{BaseTrack, CameraTrack, Extra, Extras, RotationTrack};
pub use family::Family;
pub use finding::Finding;
pub use known::Known;
pub use ledger::{Ledger, Row};
pub use metric::{Bound, CheckSpec, Limit, Metric, Param, Pool, Scope, TRIM};
pub use name::{as_text, escaped, name_bytes, name_text, path_of, path_text};
pub use position::{CardPlace, EpisodeIndex};
pub use reading::{NotAssessed, Reading, Sheet};
pub use relation::Relation;
pub use required::{Assessed, Required};
pub use rig::{ClockStorage, Joint, JointId, Rig};
pub use scorecard::{Scorecard, Verdict};
pub use session::{
    Counts, LeftOut, Outcome, Progress, Session, SessionFinding, SessionNotAssessed,
    SessionReading, Stretch,
};
pub use severity::Severity;
pub use signal_kind::SignalKind;
pub use sketch::{LEADER_EVERY, LEADER_POSES, Moments, Motion, POSES, Sketch};
pub use skipped::{OwnFile, Skipped, Unread, UnreadKind};
pub use span::{FrameSpan, SpanList, Trim};
pub use stored::{RotationForm, Stored, StoredEntry, Take};
pub use suppressed::{Suppressed, Why};
pub use unit::{AngleUnit, METRES_A_RADIAN, Unit};
