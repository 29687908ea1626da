//! What a check declares of itself: measurements, default limits, parameters, manual.

use super::family::Family;
use super::relation::Relation;
use super::severity::Severity;
use super::signal_kind::SignalKind;
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
    /// How bad whatever lies beyond either is, where a profile says so.
    pub ruling: Option<Severity>,
}

impl Limit {
    /// Two thresholds.
    pub const fn new(warn: Option<f64>, fail: Option<f64>) -> Self {
        Self { warn, fail, ruling: None }
    }
}

/// On which side of its limit a reading is bad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// Bad when above the limit.
    Above(Limit),
    /// Bad when below the limit.
    Below(Limit),
    /// Never judged: context for a person, or a feature for the cohort.
    Unjudged,
}

/// How a session judges a measurement on the evidence of all its episodes together, rather than by
/// how many of them are beyond it. For what is of the rig and not of the take: a sign, a neutral point.
#[derive(Debug, Clone, Copy)]
pub enum Pool {
    /// The median of its readings, held against its own limits.
    Own,
    /// How far the median of a signed measurement is from its neutral value, held against this
    /// measurement's own limits. What scatters about the neutral value cancels, where sizes would
    /// add up.
    About {
        /// The signed measurement, read wherever this one is.
        signed: &'static Metric,
        /// Its value where nothing is wrong.
        neutral: f64,
    },
    /// As [`Pool::Own`], and also against limits that no single episode could be held to, once there are
    /// enough episodes for a 95 % interval and all of it lies beyond.
    Session(Bound),
    /// A fact of the rig that is the same in every take: no episode is held to it, and the session is from
    /// two episodes on, by its median.
    Fact(Bound),
}

/// What is done with still frames at the begin and the end of an episode.
pub const TRIM: &str = "trim head and tail to about 0.3 s";

/// One measurement, declared with its check.
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
    /// How the session judges it on all episodes together; none: by how many are beyond it.
    pub pool: Option<Pool>,
    /// How recorded data that is beyond the limit is recoverable, where it can: an instruction.
    pub recovery: Option<&'static str>,
}

impl Metric {
    const fn new(id: &'static str, unit: Unit, scope: Scope, summary: &'static str) -> Self {
        let (bound, cohort, pool, recovery) = (Bound::Unjudged, false, None, None);
        Self { id, summary, unit, scope, bound, cohort, pool, recovery }
    }

    /// Whether it is the same measurement of a check: ids are unique among those of one check.
    pub fn is(&self, other: &Self) -> bool {
        self.id == other.id
    }

    /// A measurement of the whole episode that is not judged.
    #[must_use]
    pub const fn of_episode(id: &'static str, unit: Unit, summary: &'static str) -> Self {
        Self::new(id, unit, Scope::Episode, summary)
    }

    /// A measurement of each joint that is not judged.
    #[must_use]
    pub const fn of_joint(id: &'static str, unit: Unit, summary: &'static str) -> Self {
        Self::new(id, unit, Scope::Joint, summary)
    }

    /// The same, bad above these limits: warn, fail.
    #[must_use]
    pub const fn above(mut self, warn: Option<f64>, fail: Option<f64>) -> Self {
        self.bound = Bound::Above(Limit::new(warn, fail));
        self
    }

    /// The same, bad below these limits: warn, fail.
    #[must_use]
    pub const fn below(mut self, warn: Option<f64>, fail: Option<f64>) -> Self {
        self.bound = Bound::Below(Limit::new(warn, fail));
        self
    }

    /// The same, as a feature of the outlier check.
    #[must_use]
    pub const fn feature(mut self) -> Self {
        self.cohort = true;
        self
    }

    /// The same, judged for the session on all its episodes together.
    #[must_use]
    pub const fn pooled(mut self, pool: Pool) -> Self {
        self.pool = Some(pool);
        self
    }

    /// The same, with a way to recover data that was recorded already.
    #[must_use]
    pub const fn recovery(mut self, how: &'static str) -> Self {
        self.recovery = Some(how);
        self
    }

    /// Whether what it finds can be left out at the begin or the end.
    pub fn trims(&self) -> bool {
        self.recovery == Some(TRIM)
    }
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
    /// Which family it belongs to.
    pub family: Family,
    /// Kinds of dimensions that it measures: it is given no others.
    pub applies_to: &'static [SignalKind],
    /// What it needs of the action.
    pub needs: Relation,
    /// Advisory checks never go above warn.
    pub advisory: bool,
    /// The check's own source file: its opening comment is the manual page, so that the two can
    /// never differ. Read it with [`CheckSpec::manual_text`].
    pub source: &'static str,
    /// What most likely happened when it reports: completes "cause: …".
    pub cause: &'static str,
    /// What to do on the rig.
    pub remedy: &'static str,
    /// Where the method comes from.
    pub reference: &'static str,
    /// Its measurements, the leading one first.
    pub metrics: &'static [&'static Metric],
    /// Its parameters.
    pub params: &'static [&'static Param],
}

impl CheckSpec {
    /// Whether it is the same check: ids are unique among checks.
    pub fn is(&self, other: &Self) -> bool {
        self.id == other.id
    }

    /// The name for headings and sentences: the id with spaces, `dropped frames`.
    pub fn title(&self) -> String {
        self.id.replace('-', " ")
    }

    /// The manual page: the opening comment of the check's file, without the comment marks.
    pub fn manual_text(&self) -> String {
        let lines = self.source.lines().map_while(|line| line.strip_prefix("//!"));
        let text: Vec<&str> = lines.map(|line| line.strip_prefix(' ').unwrap_or(line)).collect();
        text.join("\n")
    }
}
