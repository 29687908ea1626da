//! Both sides: how large they are, and where they come from.

use minijinja::Value;

use super::super::ComparedSide;
use crate::report::html::page::{inputs, inputs_title, roles, unread};
use crate::report::number::significant;
use crate::report::text::{clean, count};

/// A side: its name and size, and where it comes from.
pub(in super::super) fn side(letter: &str, of: &ComparedSide<'_>) -> Value {
    let (ledger, rig) = (&of.side.ledger, &of.side.rig);
    let minutes = ledger.duration_s().iter().sum::<f64>() / 60.0;
    let joints: Vec<String> = rig.joints.iter().map(|joint| clean(&joint.name)).collect();
    let mut facts = vec![format!("joints: {}", joints.join(", "))];
    if let Some(rate_hz) = rig.rate_hz {
        facts.push(format!("declared rate: {} Hz", significant(rate_hz)));
    }
    let how = if rig.unit_declared { "declared" } else { "by the size of the values" };
    facts.push(format!("stored in: {} ({how})", rig.unit.name()));
    facts.push(format!("leader: {}", if of.side.leader { "yes" } else { "no" }));
    minijinja::context! {
        letter,
        name => clean(&of.side.name),
        episodes => count(ledger.rows() as u64, "episode"),
        minutes => significant(minutes),
        from => if of.stored { "a measurements file; its recordings were" } else { "recordings" },
        facts,
        roles => roles(of.roles),
        inputs_title => inputs_title(of.inputs),
        inputs => inputs(of.inputs),
        unread => unread(of.unread),
    }
}
