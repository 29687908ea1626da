//! When to look at which file: a machine over what is seen of them and the time, which reads none.
//!
//! A writer that closes its file, or gives it its name, says that it is done. Of one that says
//! nothing (a network folder, a logger that keeps its file open) only rest can be seen.

use std::collections::{BTreeMap, HashMap};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::source::{Seen, natural_order};

/// A file that changes all the time is looked at this often: what it has whole may be read.
const BETWEEN: Duration = Duration::from_secs(1);

/// How long a file is at rest before something is concluded.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rest {
    /// Before a file that has an end of its own is taken for whole.
    pub short: Duration,
    /// Before a file that has none is taken for closed.
    pub long: Duration,
    /// Before a file that is not whole is reported.
    pub late: Duration,
}

/// How sure it is that nobody writes any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Certain {
    /// It still changes.
    Writing,
    /// It has been at rest for a moment.
    Resting,
    /// It was just closed or renamed.
    Closed,
    /// It was closed and nobody opened it again, or it has been at rest for long.
    Settled,
}

/// A file to look at now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Due {
    pub path: PathBuf,
    pub seen: Seen,
    pub certain: Certain,
}

/// A file that is not whole and has not changed for long.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Late {
    /// The file.
    pub path: PathBuf,
    /// What is missing.
    pub why: String,
    /// How long it has been at rest.
    pub rest: Duration,
}

#[derive(Debug)]
struct Pending {
    /// When it was seen first.
    since: Duration,
    seen: Seen,
    changed: Duration,
    /// How long it had been at rest when it was seen first.
    before: Duration,
    closed: bool,
    /// It was closed before, and written to since: a logger that opens its file for each row.
    opened_again: bool,
    looked: Option<(Duration, Seen, Certain)>,
    why: String,
    reported: bool,
}

impl Pending {
    fn rest(&self, now: Duration) -> Duration {
        now.saturating_sub(self.changed) + self.before
    }

    fn certain(&self, now: Duration, rest: &Rest) -> Certain {
        match self.rest(now) {
            at if at >= rest.long => Certain::Settled,
            at if at >= rest.short && self.closed && !self.opened_again => Certain::Settled,
            _ if self.closed => Certain::Closed,
            at if at >= rest.short => Certain::Resting,
            _ => Certain::Writing,
        }
    }
}

/// The files of a folder that is being recorded into. Of those that are done a number each is kept.
#[derive(Debug)]
pub(super) struct Files {
    rest: Rest,
    pending: BTreeMap<PathBuf, Pending>,
    done: HashMap<u64, u64>,
}

impl Files {
    pub fn new(rest: Rest) -> Self {
        Self { rest, pending: BTreeMap::new(), done: HashMap::new() }
    }

    /// A file was seen. `age` is how long ago it changed, `closed` whether it was just closed or
    /// renamed.
    pub fn found(&mut self, now: Duration, path: &Path, seen: Seen, age: Duration, closed: bool) {
        if self.done.get(&number(path)) == Some(&number(&seen)) {
            return;
        }
        let before = age;
        let new = || Pending {
            since: now,
            seen,
            changed: now,
            before,
            closed: false,
            opened_again: false,
            looked: None,
            why: String::new(),
            reported: false,
        };
        let one = self.pending.entry(path.to_owned()).or_insert_with(new);
        if one.seen != seen {
            let Pending { since, looked, .. } = *one;
            let opened_again = one.opened_again || one.closed;
            *one = Pending { since, looked, opened_again, before: Duration::ZERO, ..new() };
        }
        one.closed |= closed;
    }

    /// A file is gone; whether it was waited for.
    pub fn gone(&mut self, path: &Path) -> bool {
        self.pending.remove(path).is_some()
    }

    /// Files that are waited for.
    pub fn waiting(&self) -> impl Iterator<Item = &Path> {
        self.pending.keys().map(PathBuf::as_path)
    }

    /// The files to look at now.
    pub fn due(&self, now: Duration) -> Vec<Due> {
        let due = |(path, one): (&PathBuf, &Pending)| {
            let certain = one.certain(now, &self.rest);
            let wanted = match one.looked {
                None => certain > Certain::Writing || now.saturating_sub(one.since) >= BETWEEN,
                Some((at, seen, _)) if seen != one.seen => {
                    certain > Certain::Writing || now.saturating_sub(at) >= BETWEEN
                }
                Some((_, _, then)) => certain > then,
            };
            let due = || Due { path: path.clone(), seen: one.seen, certain };
            wanted.then(|| (one.changed, due()))
        };
        let mut all: Vec<(Duration, Due)> = self.pending.iter().filter_map(due).collect();
        // In the order in which they were written.
        all.sort_by_cached_key(|(changed, due)| (*changed, natural_order(&due.path)));
        all.into_iter().map(|(_, due)| due).collect()
    }

    /// A file was looked at and is not done: why, and that there is nothing more to see in it as it
    /// is.
    pub fn wait(&mut self, now: Duration, due: &Due, why: String) {
        if let Some(one) = self.pending.get_mut(&due.path) {
            one.looked = Some((now, due.seen, due.certain));
            one.why = why;
        }
    }

    /// A file is looked at once more.
    pub fn again(&mut self, path: &Path) {
        if let Some(one) = self.pending.get_mut(path) {
            one.looked = None;
        }
    }

    /// A file was looked at and is done, as it was then.
    pub fn done(&mut self, path: &Path, seen: Seen) {
        self.done.insert(number(path), number(&seen));
        if self.pending.get(path).is_some_and(|one| one.seen == seen) {
            self.pending.remove(path);
        }
    }

    /// Whether it was done as it is.
    pub fn is_done(&self, path: &Path, seen: Seen) -> bool {
        self.done.get(&number(path)) == Some(&number(&seen))
    }

    /// Files that are not whole and have not changed for long, each once.
    pub fn late(&mut self, now: Duration) -> Vec<Late> {
        let rest = self.rest;
        let late = |(path, one): (&PathBuf, &mut Pending)| {
            let looked = one.looked.is_some_and(|(_, seen, certain)| {
                seen == one.seen && certain >= one.certain(now, &rest)
            });
            let late = looked && !one.reported && one.rest(now) >= rest.late;
            one.reported |= late;
            late.then(|| Late { path: path.clone(), why: one.why.clone(), rest: one.rest(now) })
        };
        self.pending.iter_mut().filter_map(late).collect()
    }

    /// All that is not whole, whenever it changed.
    pub fn unfinished(&self, now: Duration) -> Vec<Late> {
        let one = |(path, one): (&PathBuf, &Pending)| Late {
            path: path.clone(),
            why: one.why.clone(),
            rest: one.rest(now),
        };
        self.pending.iter().map(one).collect()
    }
}

/// A number that stands for a value: two values have the same by a probability of 2^-64.
pub(super) fn number(value: &(impl Hash + ?Sized)) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

#[cfg(test)]
mod tests;
