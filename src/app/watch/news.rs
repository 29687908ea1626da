//! What is new for the person at the rig.

use std::path::PathBuf;

use super::files::Late;
use crate::model::{CheckSpec, JointId, Scorecard, SessionFinding, Verdict};

/// One piece of news.
#[derive(Debug)]
pub enum News {
    /// An episode was judged.
    Episode(Box<Landing>),
    /// A fault of the rig is certain: to go on recording would be in vain.
    Stop(SessionFinding),
    /// Something of the session is certain, and recording may go on.
    Notice(SessionFinding),
    /// What was reported of the session has not shown in the last episodes.
    Cleared(&'static CheckSpec, Option<JointId>),
    /// A file is not whole and has not changed for long.
    Unfinished(Late),
    /// A file that was waited for is gone.
    Vanished(PathBuf),
    /// An episode goes on after it was judged: its file, which is judged again when it has ended.
    Interleaved(String, PathBuf),
    /// A file is whole and cannot be used.
    Refused(PathBuf, String, Option<String>),
    /// The rig is understood otherwise with more episodes: how, and by how many.
    Rig(String, usize),
    /// The verdict on an episode is another one with the rig of more episodes: before, now.
    Rejudged(String, Verdict, Verdict),
}

/// An episode that was judged.
#[derive(Debug)]
pub struct Landing {
    /// Its id, with its file where another one has the same.
    pub id: String,
    /// Its card, without what the rig has in all episodes.
    pub card: Scorecard,
    /// Its file.
    pub path: PathBuf,
    /// Whether the file was written again, so that an earlier verdict is void.
    pub again: bool,
    /// Whether any check could read something.
    pub assessed: bool,
}
