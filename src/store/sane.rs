//! What a measurements file says of the rig, held to what a rig can be before anything is made of it.

use super::header::Header;
use crate::model::{ClockStorage, Joint, brief};

/// Joints of a rig whose checks measured none of them one by one. Of others each has columns.
const JOINTS: usize = 1024;
/// Checks, labels and the like: far more than there are.
const MANY: usize = 10_000;
/// Characters of a name.
const NAME: usize = 1024;
/// No angle, length, speed or time of a rig is larger, in SI units.
const LARGEST: f64 = 1e15;

/// What is wrong with a header, if anything is. `columns` is the number of columns of the table.
pub(super) fn wrong(header: &Header, columns: usize) -> Option<String> {
    let rig = &header.rig;
    let most = JOINTS.max(columns);
    if rig.joints.len() > most {
        return Some(format!("{} joints in {columns} columns", rig.joints.len()));
    }
    let lists = [
        ("checks", header.checks.len()),
        ("parameters", header.parameters.len()),
        ("labels", rig.labels.len()),
        ("roles", header.roles.len()),
    ];
    if let Some((what, count)) = lists.into_iter().find(|(_, count)| *count > MANY) {
        return Some(format!("{count} {what}"));
    }
    let names = rig.joints.iter().map(|joint| &joint.name).chain(&rig.labels);
    if let Some(name) = names.into_iter().find(|name| name.chars().nth(NAME).is_some()) {
        return Some(format!("a name of {} bytes: \"{}\"", name.len(), brief(name)));
    }
    let odd = |value: f64| !(value.is_finite() && value.abs() <= LARGEST);
    let facts =
        [("period", Some(rig.period_s)), ("usual length", rig.usual_s), ("rate", rig.rate_hz)];
    for (what, value) in facts {
        if let Some(value) = value.filter(|value| odd(*value) || *value < 0.0) {
            return Some(format!("a {what} of {value}"));
        }
    }
    let tick = match rig.clock {
        ClockStorage::None => 1.0,
        ClockStorage::Float { precision_bits: 1..=64, scale_s } => scale_s,
        ClockStorage::Float { precision_bits, .. } => {
            return Some(format!("stamps of {precision_bits} bits"));
        }
        ClockStorage::Ticks { tick_s } => tick_s,
    };
    if odd(tick) || tick <= 0.0 {
        return Some(format!("a clock that ticks every {tick} s"));
    }
    let joint = rig.joints.iter().find(|joint| numbers(joint).into_iter().flatten().any(odd));
    joint.map(|joint| format!("a limit or a range of joint \"{}\"", brief(&joint.name)))
}

fn numbers(joint: &Joint) -> [Option<f64>; 10] {
    let (observed, stored) = (joint.observed.unzip(), joint.stored_range.unzip());
    [
        joint.lower,
        joint.upper,
        joint.max_speed,
        joint.max_effort,
        joint.max_temperature,
        Some(joint.count),
        observed.0,
        observed.1,
        stored.0,
        stored.1,
    ]
}
