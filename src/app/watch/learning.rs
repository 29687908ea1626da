//! The rig of the first episodes: learnt again with each of them until there are as many as a
//! survey of a finished folder looks at.

use std::path::Path;
use std::sync::Arc;

use crate::model::{Rig, Verdict};
use crate::source::{Dataset, Declared, Part, Source as _};

/// Episodes that a survey looks at: more of them make the rig no other.
pub(super) const ENOUGH: usize = 12;
/// Frame periods that differ by more than this share are two rates.
const SAME_RATE: f64 = 0.1;

/// What some of the first episodes were read from.
#[derive(Debug)]
pub(super) struct First {
    /// Number of the file.
    pub file: u32,
    /// What was read of it.
    pub part: Part,
    /// The episodes that were taken, with the verdicts that were given.
    pub episodes: Vec<(String, Verdict)>,
}

/// What the first episodes were read from.
#[derive(Debug, Default)]
pub(super) struct Learning {
    /// File by file, or part by part.
    pub parts: Vec<First>,
}

impl Learning {
    /// Episodes so far.
    pub fn episodes(&self) -> usize {
        self.parts.iter().map(|part| part.episodes.len()).sum()
    }

    /// What they were read from.
    pub fn paths(&self) -> Vec<&Path> {
        self.parts.iter().map(|first| first.part.path()).collect()
    }
}

/// The rig of some files; none where it is the known one, or they cannot be read.
pub(super) fn surveyed(paths: &[&Path], declared: &Declared, known: &Rig) -> Option<Arc<Rig>> {
    let source = Dataset::open(paths, declared).ok()?;
    let same = source.rig().as_ref() == known;
    (!same).then(|| Arc::clone(source.rig()))
}

/// How a rig is understood otherwise than before, in words; none where only what was seen of ranges
/// and counts differs.
pub(super) fn difference(before: &Rig, now: &Rig) -> Option<String> {
    let mut found = Vec::new();
    if before.unit != now.unit {
        found.push(format!("joint values in {}, not {}", now.unit.name(), before.unit.name()));
    }
    let (x, y) = (before.period_s, now.period_s);
    if (x - y).abs() > SAME_RATE * x.min(y) && x > 0.0 && y > 0.0 {
        found.push(format!("{:.1} Hz, not {:.1} Hz", 1.0 / y, 1.0 / x));
    }
    for (x, y) in before.joints.iter().zip(&now.joints) {
        if x.kind() != y.kind() {
            found.push(format!("joint {} is {}, not {}", y.name, y.kind().word(), x.kind().word()));
        }
    }
    if before.actions.kind != now.actions.kind {
        found.push(now.actions.kind.words(now.period_s));
    }
    (!found.is_empty()).then(|| found.join("; "))
}
