//! What a copy kept, changed and left out: the document `changes.json`, and the same on a screen.

mod shape;
mod terminal;

pub use shape::{
    ChangeShape, ChangesDocument, CountShape, EpisodeChangeShape, FigureShape, FileShape,
    KeptShape, LeftAloneShape, LeftOutShape, NoteShape, Written, changes_schema,
};
pub use terminal::kept;
