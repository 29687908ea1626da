//! Numbers and sentences of a comparison, for people.

use super::Compared;
use crate::compare::{Answer, Aspect, AspectUnit, Row, Scale, Step, Way};
use crate::model::Severity;
use crate::report::number::significant;

const DEGREES: f64 = 180.0 / std::f64::consts::PI;

/// How a row's numbers are shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shown {
    /// Unit of both values, and of a difference.
    pub unit: &'static str,
    factor: f64,
    quotient: bool,
    /// Digits behind the point: a twenty-fifth of what matters is seen, no more.
    digits: usize,
}

impl Shown {
    /// Of a row.
    pub fn of(view: &Compared<'_>, row: &Row) -> Self {
        let (unit, factor) = match (row.aspect.unit(), row.aspect) {
            (AspectUnit::Angle, _) if view.linear(row) => ("mm", 1e3),
            (AspectUnit::Angle, _) => ("deg", DEGREES),
            (AspectUnit::Time, Aspect::Lag) => ("ms", 1e3),
            (AspectUnit::Time, _) => ("s", 1.0),
            (AspectUnit::Rate, _) => ("Hz", 1.0),
            (AspectUnit::Ratio, _) => ("%", 100.0),
            (AspectUnit::Speed, _) => ("deg/s", DEGREES),
            (AspectUnit::Sigma, _) => ("sigma", 1.0),
        };
        let quotient = row.aspect.scale() == Scale::Quotient;
        let finest = if quotient { 0.001 } else { row.limits.warn * factor / 25.0 };
        let digits =
            if finest > 0.0 { (-finest.log10()).ceil().clamp(0.0, 6.0) as usize } else { 0 };
        Self { unit, factor, quotient, digits }
    }

    /// A value of one side.
    pub fn value(self, value: f64) -> String {
        if self.quotient {
            return significant(value * self.factor);
        }
        self.fixed(value * self.factor)
    }

    /// A change in the aspect's scale.
    pub fn change(self, change: f64) -> String {
        if self.quotient { self.fixed(change.exp()) } else { self.value(change) }
    }

    fn fixed(self, value: f64) -> String {
        let text = format!("{value:.*}", self.digits);
        // A nought has no sign.
        let nought = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
        if nought { text.trim_start_matches('-').to_owned() } else { text }
    }

    /// The same with its unit.
    pub fn told(self, change: f64) -> String {
        if self.quotient {
            format!("x {}", self.change(change))
        } else {
            format!("{} {}", self.value(change), self.unit)
        }
    }
}

/// `offset elbow`
pub(super) fn place(view: &Compared<'_>, aspect: Aspect, joint: Option<usize>) -> String {
    match view.joint(joint) {
        "" => aspect.title().to_owned(),
        joint => format!("{} {joint}", aspect.title()),
    }
}

/// The three answers in symbol and words.
pub(super) const fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::Same => "= same",
        Answer::Different(Severity::Warn) => "! differs",
        Answer::Different(Severity::Fail) => "x DIFFERS",
        Answer::NotEnough => "? more data",
    }
}

/// Places of rows in one line, each once, at most so many.
pub(super) fn places(view: &Compared<'_>, rows: &[&Row], most: usize) -> String {
    let all: Vec<String> = rows.iter().map(|row| place(view, row.aspect, row.joint)).collect();
    match all.len().saturating_sub(most) {
        0 => all.join(", "),
        more => format!("{} and {more} more", all[..most].join(", ")),
    }
}

/// What a row says: `offset elbow: 2.10 deg (1.98 to 2.22), 20 and 20 episodes`.
pub(super) fn message(view: &Compared<'_>, row: &Row) -> String {
    let shown = Shown::of(view, row);
    let mut text = place(view, row.aspect, row.joint);
    if let (Some(change), Some((low, high))) = (row.change, row.interval) {
        let (m, n) = row.episodes;
        text = format!(
            "{text}: {} ({} to {}), {m} and {n} episodes",
            shown.told(change),
            shown.change(low),
            shown.change(high)
        );
    }
    for note in &row.notes {
        text = format!("{text}; {note}");
    }
    if let Some(needs) = row.needs {
        text = format!("{text}; needs about {needs} episodes to a side");
    }
    text
}

/// What to do about one difference.
pub(super) fn step(view: &Compared<'_>, step: &Step) -> String {
    let joint = view.joint(step.joint);
    let linear =
        step.joint.and_then(|at| view.comparison.pairs.get(at)).is_some_and(|pair| pair.linear);
    let what = place(view, step.aspect, step.joint);
    match &step.way {
        Way::Subtract(angle) => {
            let angle = if linear {
                format!("{} mm", significant(angle * 1e3))
            } else {
                format!("{} deg", significant(angle * DEGREES))
            };
            format!(
                "{what}: subtract {angle} from {joint} of B's follower (if the leader was the one \
                 that moved, add it to the leader's)"
            )
        }
        Way::Multiply(factor) => format!(
            "{what}: multiply {joint} of B's follower by {}, about the pose in which both arms agree",
            significant(*factor)
        ),
        Way::ShiftFrames(frames) => {
            let way = if *frames > 0 { "later" } else { "earlier" };
            format!(
                "{what}: one frame on every joint looks like a habit of the logger, which writes the \
                 action beside another row; if so, move B's action one frame {way}"
            )
        }
        Way::Resample(rate_hz) => {
            format!("rate: resample B to {} Hz by its stamps", significant(*rate_hz))
        }
        Way::Words(words) => (*words).to_owned(),
        Way::None => match step.aspect {
            Aspect::Lag => format!(
                "{what}: the servo or its bus; shifting actions by it would take the force of the \
                 grasp out of the data"
            ),
            Aspect::Schema => "the columns do not mean the same: nothing to convert".to_owned(),
            _ => format!("{what}: nothing takes it out of the data; make both rigs alike"),
        },
    }
}
