//! How a dataset was read, in one line: what was declared, what was measured, what was guessed.

use super::number::significant;
use super::text::count;
use super::view::View;
use crate::model::{ActionKind, AngleUnit};
use crate::source::{Role, RoleChoice};

/// `rad (guessed), 30.0 Hz (measured), 6 joints and leader by name`
pub(super) fn read_as(view: &View<'_>) -> String {
    [unit(view), rate(view), columns(view)].join(", ")
}

fn unit(view: &View<'_>) -> String {
    let rig = view.rig;
    let unit = match rig.unit {
        AngleUnit::Counts { per_turn } => format!("counts ({} a turn)", significant(per_turn)),
        AngleUnit::Normalized { low, high } => {
            format!("shares of travel [{}, {}]", significant(low), significant(high))
        }
        unit => unit.name().to_owned(),
    };
    let how = if rig.unit_declared { "declared" } else { "guessed" };
    format!("{unit} ({how})")
}

fn rate(view: &View<'_>) -> String {
    let rig = view.rig;
    let hertz = |rate: f64| {
        if (rate - rate.round()).abs() < 1e-9 { format!("{rate:.0}") } else { significant(rate) }
    };
    match rig.rate_hz {
        Some(rate) => format!("{} Hz (declared)", hertz(rate)),
        None if rig.period_s > 0.0 => {
            format!("{} Hz (measured)", significant(1.0 / rig.period_s))
        }
        None => "rate unknown".to_owned(),
    }
}

/// Joints and leader, and how their columns came to these roles.
fn columns(view: &View<'_>) -> String {
    let of = |role: Role| view.roles.iter().find(|choice| choice.role == role);
    let joints = count(view.rig.joints.len() as u64, "joint");
    let state = of(Role::State).map_or("", how);
    let leader = of(Role::Action).filter(|role| !role.columns.is_empty());
    match leader.filter(|_| view.rig.actions.kind != ActionKind::None) {
        Some(leader) if how(leader) == state => format!("{joints} and leader {state}"),
        Some(leader) => format!("{joints} {state}, leader {}", how(leader)),
        None => format!("{joints} {state}, no leader"),
    }
}

/// How a column came to its role.
fn how(role: &RoleChoice) -> &'static str {
    if role.why.contains("name") && !role.why.contains("profile") { "by name" } else { "declared" }
}
