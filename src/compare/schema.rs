//! What must be equal: joints and their order, unit, leader, action kind.

use super::aspect::Aspect;
use super::row::Draft;
use super::side::Side;
use crate::check::MetricOf;
use crate::check::mapping::action_kind::{self, DELTA_MARGIN, NEXT_SHARE, SAME_SHARE};
use crate::model::{ActionKind, AngleUnit, Joint};
use crate::num::robust::median;

/// One thing that must be equal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SchemaPoint {
    /// Which.
    pub what: &'static str,
    /// In A, in plain words.
    pub a: String,
    /// In B.
    pub b: String,
    /// Whether both are known and not the same.
    pub differs: bool,
    /// How the two can be brought together, where that takes no guess.
    pub way: Option<&'static str>,
}

/// Everything that must be equal.
pub(super) fn schema(a: &Side, b: &Side) -> Vec<SchemaPoint> {
    let point = |what, of: &dyn Fn(&Side) -> Option<String>, way: Option<&'static str>| {
        let (x, y) = (of(a), of(b));
        let differs = x.is_some() && y.is_some() && x != y;
        let shown = |known: Option<String>| known.unwrap_or_else(|| "not known".to_owned());
        SchemaPoint { what, a: shown(x), b: shown(y), differs, way: way.filter(|_| differs) }
    };
    let names = |side: &Side| -> Vec<String> {
        side.rig.joints.iter().map(|joint| joint.name.clone()).collect()
    };
    let sorted = |side: &Side| {
        let mut names = names(side);
        names.sort();
        Some(names.join(", "))
    };
    let order = |side: &Side| Some(names(side).join(", "));
    let mut points = vec![point("joints", &sorted, None)];
    if points[0].differs {
        // What is not there has no place in an order.
        points[0].a = names(a).join(", ");
        points[0].b = names(b).join(", ");
    } else {
        let way = Some("put B's columns in the order of A's joints");
        points.push(point("order of joints", &order, way));
    }
    points.push(point("unit", &|side| Some(unit(side)), Some("convert B to the unit of A")));
    points.push(point("linear joints", &|side| Some(those(side, |joint| joint.linear)), None));
    points.push(point("grippers", &|side| Some(those(side, |joint| joint.gripper)), None));
    let leader = |side: &Side| Some(if side.leader { "yes" } else { "no" }.to_owned());
    points.push(point("leader", &leader, None));
    points.push(point("action kind", &kind, None));
    points
}

/// The row that stands for all of them.
pub(super) fn draft(points: &[SchemaPoint], episodes: (usize, usize)) -> Draft {
    let mut draft = Draft::empty(Aspect::Schema, None, Aspect::Schema.limits(0.0, false));
    draft.row.episodes = episodes;
    draft.within = points.iter().all(|point| !point.differs);
    for point in points.iter().filter(|point| point.differs) {
        draft = draft.noted(format!("{}: {} / {}", point.what, point.a, point.b));
    }
    draft
}

fn unit(side: &Side) -> String {
    match side.rig.unit {
        AngleUnit::Counts { per_turn } => format!("counts of {per_turn} a turn"),
        AngleUnit::Normalized { low, high } => format!("normalized from {low} to {high}"),
        unit => unit.name().to_owned(),
    }
}

fn those(side: &Side, which: impl Fn(&Joint) -> bool) -> String {
    let names =
        side.rig.joints.iter().filter(|joint| which(joint)).map(|joint| joint.name.as_str());
    let names: Vec<&str> = names.collect();
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

/// What the action is, by what most episodes show; none where no episode shows it.
fn kind(side: &Side) -> Option<String> {
    match side.rig.actions.kind {
        ActionKind::Position | ActionKind::Next | ActionKind::Unknown | ActionKind::None => {}
        // How long a hold is, is no other kind.
        ActionKind::Held { .. } => return Some(ActionKind::Held { frames: 0 }.words(1.0)),
        kind => return Some(kind.words(1.0)),
    }
    let middle = |metric| {
        let values = side.read(MetricOf::new(&action_kind::CHECK, metric), None, &side.rows());
        median(&values.iter().map(|(_, value)| *value).collect::<Vec<f64>>())
    };
    let (same, next, delta) = (middle(&SAME_SHARE), middle(&NEXT_SHARE), middle(&DELTA_MARGIN));
    let kind = if same.is_nan() {
        return None;
    } else if same > 0.99 {
        "a copy of the state"
    } else if next > 0.99 {
        "a copy of the next state"
    } else if delta > 0.3 {
        "a change of position"
    } else {
        "a position of its own"
    };
    Some(kind.to_owned())
}
