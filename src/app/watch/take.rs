//! Takes what a file has whole: opens it on the rig that is known, measures, leaves out what is
//! still being written.

use std::path::Path;
use std::sync::Arc;

use super::files::{Certain, Due};
use crate::engine::{self, Landed, Plan};
use crate::model::{Rig, Unread};
use crate::source::{
    Dataset, Declared, IdsFrom, Input, Look, Mark, Part, RoleChoice, Seen, Source as _,
    SourceError, look,
};

/// Why a file that grows is waited for to its end.
pub(super) const INTERLEAVED: &str = "its episodes are interleaved: it is judged when it has ended";

/// How far a file that grows was taken.
#[derive(Debug, Clone, Default)]
pub(super) struct Grown {
    pub mark: Mark,
    /// Episodes that were taken last, and their rows' ends: the next part may begin with rows of
    /// theirs.
    pub known: Vec<(String, u64)>,
    /// Its episodes are interleaved, so that none has ended before the file has.
    pub whole: bool,
}

/// What came of looking at a file.
#[derive(Debug)]
pub(super) enum Taken {
    /// It has nothing more to give as it is, and why.
    NotYet(String),
    /// It is no recording.
    Own,
    /// It is gone.
    Gone,
    /// It is whole and cannot be used: what is wrong, and a hint.
    Refused(String, Option<String>),
    /// Episodes, in the order of the file.
    Episodes(Box<Episodes>),
}

/// What was taken of a file.
#[derive(Debug)]
pub(super) struct Episodes {
    pub landed: Vec<Landed>,
    /// What it was read from.
    pub part: Part,
    /// Whether it begins with the file's first row.
    pub fresh: bool,
    /// Where to go on; none where the file has ended.
    pub grown: Option<Grown>,
    /// Rows of the file up to the last whole episode.
    pub rows: u64,
    pub rig: Arc<Rig>,
    pub roles: Vec<RoleChoice>,
    pub unread: Vec<Unread>,
}

/// Looks at a file and takes what is new.
pub(super) fn take(due: &Due, from: &Grown, declared: &Declared, plan: &Plan) -> Taken {
    let part = match look(&due.path, from.mark, due.certain == Certain::Settled) {
        Look::Part(part) => part,
        Look::NotYet(why) => return Taken::NotYet(why),
        Look::Own => return Taken::Own,
        Look::Gone => return Taken::Gone,
    };
    if from.whole && !part.ends {
        return Taken::NotYet(INTERLEAVED.to_owned());
    }
    if !part.is_copy() && due.certain == Certain::Writing {
        return Taken::NotYet("it is still being written".to_owned());
    }
    // A file in one piece that was written again has nothing that is known from before.
    let nothing = Grown::default();
    let from = if part.grows { from } else { &nothing };
    let read = read(part.path(), declared, plan);
    match Seen::of(&due.path) {
        None => return Taken::Gone,
        // An end that is not that of the file as it was seen would be taken for a new one later.
        Some(seen) if part.ends && seen != due.seen => {
            return Taken::NotYet("it changed while it was read".to_owned());
        }
        Some(_) => {}
    }
    match read {
        Ok(read) => of_part(part, read, from),
        // Of a file that still grows, the first rows may not show yet what its columns are.
        Err(error) if !part.ends => Taken::NotYet(error.to_string()),
        Err(error) => Taken::Refused(error.to_string(), error.hint()),
    }
}

/// What was read of a table.
pub(super) struct Read {
    pub source: Dataset,
    pub episodes: Vec<Landed>,
    pub unread: Vec<Unread>,
}

/// Reads and measures all of a table.
pub(super) fn read(path: &Path, declared: &Declared, plan: &Plan) -> Result<Read, SourceError> {
    let source = Dataset::open(&[path], declared)?.reading(&plan.extras());
    let (episodes, unread) = engine::landed(&source, plan);
    Ok(Read { source, episodes, unread })
}

fn of_part(part: Part, read: Read, from: &Grown) -> Taken {
    let Read { source, mut episodes, unread } = read;
    let all: u64 = source.inputs().iter().map(|input: &Input| input.rows).sum();
    let by_column = IdsFrom::of(source.roles()) == IdsFrom::Column;
    // What goes on behind its end had not ended: whoever keeps it will see.
    let known = |one: &Landed| {
        let end = one.card.key.rows.end + part.rows_before;
        from.known.iter().any(|(id, known)| *id == one.card.key.id && end <= *known)
    };
    episodes.retain(|one| !known(one));
    let (mut grown, mut rows) = (None, all);
    if !part.ends {
        if !by_column {
            return Taken::NotYet("its one episode has not ended".to_owned());
        }
        // The last episode may have more rows, and is the first of the next part.
        let last = (0..episodes.len()).max_by_key(|at| episodes[*at].card.key.rows.end);
        let open = last.map(|at| episodes.remove(at));
        let open_from = open.map_or(all, |open| open.card.key.rows.start);
        if episodes.is_empty() {
            return Taken::NotYet("its last episode has not ended".to_owned());
        }
        rows = open_from;
        let mark = part.mark(rows);
        let ended = |one: &Landed| {
            let key = &one.card.key;
            (key.id.clone(), key.rows.end + part.rows_before)
        };
        let mut known: Vec<(String, u64)> = episodes.iter().map(ended).collect();
        // One piece may hold the rows of many episodes.
        if mark == from.mark {
            known.extend(from.known.iter().cloned());
        }
        grown = Some(Grown { mark, known, whole: false });
    } else if let (true, Some(file)) = (episodes.is_empty(), unread.first()) {
        return Taken::Refused(file.reason.clone(), None);
    }
    for one in &mut episodes {
        one.card.key.rows.start += part.rows_before;
        one.card.key.rows.end += part.rows_before;
    }
    Taken::Episodes(Box::new(Episodes {
        rows: rows + part.rows_before,
        fresh: from.mark == Mark::default() && from.known.is_empty(),
        rig: Arc::clone(source.rig()),
        roles: source.roles().to_vec(),
        landed: episodes,
        part,
        grown,
        unread,
    }))
}
