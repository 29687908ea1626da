//! Names of a condition are those of the report's columns: of the episode, its file, its measurements.

use crate::app::AppError;
use crate::app::keep::expression::{Expression, Operator, Written, parse};
use crate::app::names::named;
use crate::model::{
    CheckSpec, JointId, Metric, Rig, Scorecard, Unit, Verdict, path_text, quantity,
};
use crate::profile::nearest;
use crate::source::Input;

/// Columns that every report has.
const COLUMNS: [&str; 7] =
    ["episode", "task", "verdict", "frames", "duration_s", "file", "worst_check"];

/// A column.
#[derive(Debug, Clone, PartialEq)]
enum Field {
    Episode,
    Task,
    Verdict,
    Frames,
    Duration,
    File,
    WorstCheck,
    /// By its place among the declared labels.
    Label(usize),
    /// A measurement: of one joint, or of all that have it.
    Reading {
        check: &'static str,
        metric: &'static str,
        joint: Option<JointId>,
    },
}

/// What a column is compared with.
#[derive(Debug, Clone, PartialEq)]
enum Value {
    Number(f64),
    Text(String),
    Verdict(Verdict),
}

/// One comparison.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Comparison {
    field: Field,
    operator: Operator,
    values: Vec<Value>,
}

/// A condition whose names are known.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Condition(Expression<Comparison>);

impl Condition {
    /// Reads it; `rig` knows the joints and labels.
    pub fn read(text: &str, rig: &Rig) -> Result<Self, AppError> {
        let parsed = parse(text).map_err(|unclear| {
            let hint = "such as: --where \"duration_s >= 2 and verdict != fail\"";
            AppError::input(format!("--where {text}: {}", unclear.what)).with_hint(hint)
        })?;
        Ok(Self(parsed.map(&mut |one| comparison(&one, rig))?))
    }

    /// Whether an episode meets it; none where something in it was not measured.
    pub fn met(&self, card: &Scorecard, inputs: &[Input]) -> Option<bool> {
        self.0.met(&|one| one.met(card, inputs))
    }

    /// Names of measurements that an episode does not have.
    pub fn missing(&self, card: &Scorecard) -> Vec<String> {
        let mut names = Vec::new();
        self.0.each(&mut |one| {
            if let Field::Reading { check, metric, .. } = &one.field
                && one.met(card, &[]).is_none()
            {
                names.push(format!("{check}/{metric}"));
            }
        });
        names.dedup();
        names
    }
}

fn comparison(written: &Written, rig: &Rig) -> Result<Comparison, AppError> {
    let Written { name, operator, values } = written;
    let (field, unit) = field(name, rig)?;
    let odd = |what: &str, hint: String| {
        Err(AppError::input(format!("--where: {name} {what}")).with_hint(hint))
    };
    let ordered = matches!(
        operator,
        Operator::Below | Operator::AtMost | Operator::Above | Operator::AtLeast
    );
    let text = unit.is_none() && field != Field::Verdict;
    if ordered && text {
        return odd(
            "is a text and has no order",
            "compare it with ==, !=, in or contains".to_owned(),
        );
    }
    if *operator == Operator::Contains && !text {
        return odd("is no text", "compare it with a number or a verdict".to_owned());
    }
    let value = |text: &String| -> Result<Value, AppError> {
        if let Some(unit) = unit {
            let read = quantity::read(text, unit);
            let read = read.map_err(|error| {
                let hint = error.hint().to_owned();
                AppError::input(format!("--where: {name}: {error}")).with_hint(hint)
            })?;
            return Ok(Value::Number(read.value));
        }
        if field != Field::Verdict {
            return Ok(Value::Text(text.clone()));
        }
        let known = [("pass", Verdict::Pass), ("ok", Verdict::Pass), ("warn", Verdict::Warn)];
        let known = known.iter().chain(&[("fail", Verdict::Fail)]);
        let mut found = known.filter(|(word, _)| word.eq_ignore_ascii_case(text));
        let found = found.next().map(|(_, verdict)| Value::Verdict(*verdict));
        found.ok_or_else(|| {
            let what = format!("--where: there is no verdict \"{text}\"");
            AppError::input(what).with_hint("one of: pass, warn, fail")
        })
    };
    let values = values.iter().map(value).collect::<Result<_, _>>()?;
    Ok(Comparison { field, operator: *operator, values })
}

/// The column of a name, and its unit if it holds numbers.
fn field(name: &str, rig: &Rig) -> Result<(Field, Option<Unit>), AppError> {
    if let Some(label) = rig.labels.iter().position(|label| label == name) {
        return Ok((Field::Label(label), None));
    }
    Ok(match name {
        "episode" => (Field::Episode, None),
        "task" => (Field::Task, None),
        "verdict" => (Field::Verdict, None),
        "frames" => (Field::Frames, Some(Unit::Frames)),
        "duration_s" => (Field::Duration, Some(Unit::Second)),
        "file" => (Field::File, None),
        "worst_check" => (Field::WorstCheck, None),
        _ => reading(name, rig)?,
    })
}

fn reading(name: &str, rig: &Rig) -> Result<(Field, Option<Unit>), AppError> {
    let mut parts = name.splitn(3, '/');
    let (check, metric, joint) = (parts.next().unwrap_or_default(), parts.next(), parts.next());
    let Some(metric) = metric else {
        let labels = rig.labels.iter().map(String::as_str);
        let near = nearest(name, COLUMNS.into_iter().chain(labels));
        let hint = near.map_or_else(
            || {
                format!(
                    "one of: {}, or check/measurement, check/measurement/joint",
                    COLUMNS.join(", ")
                )
            },
            |near| format!("did you mean {near}?"),
        );
        return Err(
            AppError::input(format!("--where: there is no column \"{name}\"")).with_hint(hint)
        );
    };
    let specs = named(check)?;
    let [spec] = specs.as_slice() else {
        let what = format!("--where: \"{check}\" is a family of checks");
        return Err(AppError::input(what).with_hint("name one check"));
    };
    let spec: &'static CheckSpec = spec;
    let found: Option<&'static Metric> = spec.metrics.iter().copied().find(|m| m.id == metric);
    let Some(found) = found else {
        let ids: Vec<&str> = spec.metrics.iter().map(|metric| metric.id).collect();
        let what = format!("--where: {} has no measurement \"{metric}\"", spec.id);
        return Err(AppError::input(what).with_hint(format!("one of: {}", ids.join(", "))));
    };
    let joint = match joint {
        None => None,
        Some(joint) => {
            let at = rig.joints.iter().position(|known| known.name == joint);
            let Some(at) = at else {
                let names: Vec<&str> = rig.joints.iter().map(|joint| joint.name.as_str()).collect();
                let what = format!("--where: there is no joint \"{joint}\"");
                return Err(
                    AppError::input(what).with_hint(format!("one of: {}", names.join(", ")))
                );
            };
            Some(at as JointId)
        }
    };
    Ok((Field::Reading { check: spec.id, metric: found.id, joint }, Some(found.unit)))
}

impl Comparison {
    fn met(&self, card: &Scorecard, inputs: &[Input]) -> Option<bool> {
        let texts = |text: &str| {
            let equal = |value: &Value| matches!(value, Value::Text(other) if other == text);
            let within =
                |value: &Value| matches!(value, Value::Text(other) if text.contains(other));
            match self.operator {
                Operator::Unequal => !self.values.iter().any(equal),
                Operator::Contains => self.values.iter().any(within),
                _ => self.values.iter().any(equal),
            }
        };
        match &self.field {
            Field::Episode => Some(texts(&card.key.id)),
            Field::Task => card.key.task.as_deref().map(texts),
            Field::Label(at) => card.key.labels.get(*at)?.as_deref().map(texts),
            Field::File => {
                let input = inputs.get(card.key.rows.input as usize)?;
                Some(texts(&path_text(&input.path)))
            }
            Field::WorstCheck => Some(texts(card.findings.first().map_or("", |f| f.check.id))),
            Field::Verdict => {
                let rank = |verdict: Verdict| f64::from(verdict as u8);
                Some(self.number(rank(card.verdict)))
            }
            Field::Frames => Some(self.number(card.frames as f64)),
            Field::Duration => Some(self.number(card.duration_s)),
            Field::Reading { check, metric, joint } => {
                let read = card.readings.iter().filter(|reading| {
                    reading.check.id == *check
                        && reading.metric.id == *metric
                        && (joint.is_none() || reading.joint == *joint)
                });
                let met: Vec<bool> = read.map(|reading| self.number(reading.value)).collect();
                (!met.is_empty()).then(|| met.into_iter().all(|met| met))
            }
        }
    }

    fn number(&self, number: f64) -> bool {
        let compared = |value: &Value| {
            let other = match value {
                Value::Number(other) => *other,
                Value::Verdict(verdict) => f64::from(*verdict as u8),
                Value::Text(_) => return false,
            };
            match self.operator {
                Operator::Equal | Operator::In => number == other,
                Operator::Unequal => number != other,
                Operator::Below => number < other,
                Operator::AtMost => number <= other,
                Operator::Above => number > other,
                Operator::AtLeast => number >= other,
                Operator::Contains => false,
            }
        };
        self.values.iter().any(compared)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Joint;

    #[test]
    fn names_values_and_orders_are_checked() {
        let rig = Rig {
            joints: vec![Joint::named("waist"), Joint::named("left elbow")],
            labels: vec!["operator".to_owned()],
            ..Rig::default()
        };
        for good in [
            "duration_s >= 2 and verdict != fail",
            "verdict < fail",
            "frames > 100 frames",
            "tracking-lag/lag/waist < 150 ms",
            "`tracking-lag/lag/left elbow` < 0.15",
            "operator in (a, b) or task contains pot",
            "idle-time/idle_share <= 20 %",
        ] {
            let read = Condition::read(good, &rig);
            assert!(read.is_ok(), "{good}: {:?}", read.err());
        }
        for (bad, wanted) in [
            ("duration > 2", "duration_s"),
            ("task > 2", "no order"),
            ("frames contains 2", "no text"),
            ("verdict == good", "no verdict"),
            ("tracking-lag/lags < 1", "no measurement"),
            ("tracking-lag/lag/wrist < 1", "no joint"),
            ("timing/lag < 1", "family"),
            ("duration_s > 2 deg", "wanted"),
            ("nothing == 1", "no column"),
        ] {
            let error = Condition::read(bad, &rig).err();
            let text = error.map(|e| format!("{e} {}", e.hint().unwrap_or_default()));
            assert!(text.as_ref().is_some_and(|t| t.contains(wanted)), "{bad}: {text:?}");
        }
    }
}
