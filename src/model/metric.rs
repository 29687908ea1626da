//! What a check declares of itself: measurements, default limits, parameters, manual.

use super::unit::Unit;

/// Whether a metric is read once an episode or once a joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// One reading an episode.
    Episode,
    /// One reading a joint.
    Joint,
}

/// A pair of thresholds. `None` means that this severity is never given.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Limit {
    /// Beyond this: warn.
    pub warn: Option<f64>,
    /// Beyond this: fail.
    pub fail: Option<f64>,
}

/// On which side of its limit a reading is bad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// Bad when greater than the limit.
    Above(Limit),
    /// Bad when less than the limit.
    Below(Limit),
    /// Never judged: context for a person, or a feature for the cohort.
    Unjudged,
}

/// One measurement, declared beside its check.
#[derive(Debug)]
pub struct Metric {
    /// Identifier, stable once released: `dropped_share`.
    pub id: &'static str,
    /// One line: what the number is.
    pub summary: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// Read per episode or per joint.
    pub scope: Scope,
    /// Where it becomes bad, by default.
    pub bound: Bound,
    /// Whether the outlier check looks at it.
    pub cohort: bool,
}

/// A number that shapes how a check measures, such as the length of a window. Not a limit.
#[derive(Debug)]
pub struct Param {
    /// Identifier: `search_s`.
    pub id: &'static str,
    /// One line: what it sets.
    pub summary: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// Value unless the profile says otherwise.
    pub default: f64,
}

/// Everything a check declares of itself.
#[derive(Debug)]
pub struct CheckSpec {
    /// Identifier, the same as its file's name with dashes: `dropped-frames`.
    pub id: &'static str,
    /// Family: `timing`, `signal`, `limits`, `mapping`, `tracking`, `motion`, `camera`, `cohort`.
    pub family: &'static str,
    /// The check's name in plain words, for headings and sentences: `dropped frames`.
    pub title: &'static str,
    /// Advisory checks never go above warn.
    pub advisory: bool,
    /// The manual page: what, why, how, traps (the file's own comment).
    pub manual: &'static str,
    /// What most likely happened when it speaks up: completes "cause: …".
    pub cause: &'static str,
    /// What to do on the bench.
    pub remedy: &'static str,
    /// Where the method comes from.
    pub reference: &'static str,
    /// Its measurements, the leading one first.
    pub metrics: &'static [&'static Metric],
    /// Its parameters.
    pub params: &'static [&'static Param],
}
