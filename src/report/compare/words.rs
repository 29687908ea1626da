//! Numbers and sentences of a comparison, for people.

use super::compared::Compared;
use crate::compare::{Answer, Aspect, AspectUnit, Correction, Row, Scale, Step};
use crate::model::Severity;
use crate::report::number::significant;
use crate::report::words::capital;

const DEGREES: f64 = 180.0 / std::f64::consts::PI;

/// How a row's numbers are shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shown {
    /// Unit of both values.
    pub unit: &'static str,
    /// Unit of the change and of its interval: `x` where B is counted over A.
    pub change_unit: &'static str,
    factor: f64,
    ratio: bool,
    /// Digits behind the point: a twenty-fifth of the equivalence margin is seen, no more.
    digits: usize,
}

impl Shown {
    /// Of a row.
    pub fn of(view: &Compared<'_>, row: &Row) -> Self {
        Self::new(row, view.linear(row))
    }

    /// Of a row, of a linear joint or another.
    pub fn new(row: &Row, linear: bool) -> Self {
        let (unit, factor) = match (row.aspect.unit(), row.aspect) {
            (AspectUnit::Angle, _) if linear => ("mm", 1e3),
            (AspectUnit::Angle, _) => ("deg", DEGREES),
            (AspectUnit::Time, Aspect::Lag) => ("ms", 1e3),
            (AspectUnit::Time, _) => ("s", 1.0),
            (AspectUnit::Rate, _) => ("Hz", 1.0),
            (AspectUnit::Ratio, _) => ("%", 100.0),
            (AspectUnit::Speed, _) => ("deg/s", DEGREES),
            (AspectUnit::Sigma, _) => ("sd", 1.0),
        };
        let ratio = row.aspect.scale() == Scale::Ratio;
        let finest = if ratio { 0.001 } else { row.limits.warn * factor / 25.0 };
        let digits =
            if finest > 0.0 { (-finest.log10()).ceil().clamp(0.0, 6.0) as usize } else { 0 };
        let change_unit = if ratio { "x" } else { unit };
        Self { unit, change_unit, factor, ratio, digits }
    }

    /// A value of one side.
    pub fn value(self, value: f64) -> String {
        if self.ratio {
            return significant(value * self.factor);
        }
        self.fixed(value * self.factor)
    }

    /// A change in the aspect's scale.
    pub fn change(self, change: f64) -> String {
        if !self.ratio {
            return self.value(change);
        }
        let times = change.exp();
        // Of a multiple this great three digits are enough, and nothing runs out of its column.
        if times < 10.0 { self.fixed(times) } else { significant(times) }
    }

    fn fixed(self, value: f64) -> String {
        let text = format!("{value:.*}", self.digits);
        // A zero has no sign.
        let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
        if zero { text.trim_start_matches('-').to_owned() } else { text }
    }

    /// The same with its unit: `1.250 x`, `0.80 sd`, `4.01 deg`.
    pub fn with_unit(self, change: f64) -> String {
        format!("{} {}", self.change(change), self.change_unit)
    }

    /// A value of one side with its unit.
    pub fn quantity(self, value: f64) -> String {
        format!("{} {}", self.value(value), self.unit)
    }
}

/// `offset elbow`
pub(super) fn place(view: &Compared<'_>, aspect: Aspect, joint: Option<usize>) -> String {
    match view.joint(joint) {
        "" => aspect.title().to_owned(),
        joint => format!("{} {joint}", aspect.title()),
    }
}

/// What an aspect measures, to complete "offset: …".
pub(super) const fn definition(aspect: Aspect) -> &'static str {
    match aspect {
        Aspect::Schema => "joints, units, leader and kind of actions",
        Aspect::Offset => "follower minus leader at rest",
        Aspect::Gain => "the follower's motion divided by the leader's",
        Aspect::Lag => "how much later the follower moves",
        Aspect::Rate => "frames a second",
        Aspect::Backlash => "backlash of gears and horns",
        Aspect::Sag => "droop with the pose",
        Aspect::Workspace => "poses of one side that are far from all poses of the other",
        Aspect::StartPose => "where episodes begin",
        Aspect::Length => "how long episodes last",
        Aspect::Speed => "how fast the hand moves while it moves",
        Aspect::Mean => "mean of the dimension, in standard deviations of A",
        Aspect::Std => "standard deviation of the dimension",
        Aspect::Clip => "values of one side beyond the ends of the other",
    }
}

/// How a change is counted: `B - A`.
pub(super) const fn counted(scale: Scale) -> &'static str {
    match scale {
        Scale::Difference => "B - A",
        Scale::Ratio => "B / A",
        Scale::Share => "share",
    }
}

/// The three answers in symbol and words.
pub(super) const fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::Same => "= same",
        Answer::Different(Severity::Warn) => "! differs",
        Answer::Different(Severity::Fail) => "x DIFFERS",
        Answer::Inconclusive => "? inconclusive",
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

/// What a row says, in the form of all messages: `Offset: joint elbow, 2.10 deg (1.98 to 2.22), 20
/// and 20 episodes (margin 1.00 deg)`.
pub(super) fn message(view: &Compared<'_>, row: &Row) -> String {
    let shown = Shown::of(view, row);
    let mut text = capital(row.aspect.title());
    let joint = view.joint(row.joint);
    if !joint.is_empty() {
        text = format!("{text}: joint {joint}");
    }
    if let (Some(change), Some((low, high))) = (row.change, row.interval) {
        let (m, n) = row.episodes;
        let after = if joint.is_empty() { ":" } else { "," };
        text = format!(
            "{text}{after} {} ({} to {}), {m} and {n} episodes",
            shown.with_unit(change),
            shown.change(low),
            shown.change(high)
        );
        if row.limits.warn > 0.0 {
            text = format!("{text} (margin {})", shown.with_unit(row.limits.warn));
        }
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
        Correction::Subtract(angle) => {
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
        Correction::Multiply(factor) => format!(
            "{what}: multiply {joint} of B's follower by {}, about the pose in which both arms agree",
            significant(*factor)
        ),
        Correction::ShiftFrames(frames) => {
            let way = if *frames > 0 { "later" } else { "earlier" };
            format!(
                "{what}: one frame on every joint looks like a habit of the logger, which writes the \
                 action next to another row; if so, move B's action one frame {way}"
            )
        }
        Correction::Resample(rate_hz) => {
            format!("rate: resample B to {} Hz by its stamps", significant(*rate_hz))
        }
        Correction::Words(words) => (*words).to_owned(),
        Correction::None => match step.aspect {
            Aspect::Lag => format!(
                "{what}: the servo or its bus; shifting actions by it would take the force of the \
                 grasp out of the data"
            ),
            Aspect::Schema => "the columns do not mean the same: nothing to convert".to_owned(),
            _ => format!("{what}: nothing takes it out of the data; make both rigs alike"),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::Shown;
    use crate::compare::{Aspect, Row};

    fn row(aspect: Aspect) -> Row {
        Row::open(aspect, None, aspect.limits(1.0 / 30.0, false))
    }

    #[test]
    fn a_value_and_a_change_each_say_their_unit() {
        let degree = 1f64.to_radians();
        for (aspect, value, quantity, change, told) in [
            (Aspect::Offset, 3.81 * degree, "3.81 deg", -4.01 * degree, "-4.01 deg"),
            (Aspect::Lag, 0.104, "104 ms", 0.018, "18 ms"),
            (Aspect::Gain, 1.0, "100.0 %", -0.001, "-0.1 %"),
            (Aspect::Rate, 30.0, "30.0 Hz", 1.25f64.ln(), "1.250 x"),
            (Aspect::Length, 14.4, "14.4 s", 12.5f64.ln(), "12.5 x"),
            (Aspect::Speed, 36.8 * degree, "36.8 deg/s", 0.988f64.ln(), "0.988 x"),
            (Aspect::Std, 11.8 * degree, "11.8 deg", 0.949f64.ln(), "0.949 x"),
            (Aspect::Mean, 1.43, "1.43 sd", 0.8, "0.80 sd"),
            (Aspect::Clip, 0.0, "0.00 %", 0.0147, "1.47 %"),
        ] {
            let shown = Shown::new(&row(aspect), false);
            assert_eq!(
                (shown.quantity(value), shown.with_unit(change)),
                (quantity.into(), told.into())
            );
        }
        let mut linear = row(Aspect::Offset);
        linear.limits = Aspect::Offset.limits(1.0 / 30.0, true);
        assert_eq!(Shown::new(&linear, true).with_unit(0.0021), "2.10 mm");
    }
}
