//! Fills the shape of the plan from a digest.

use super::plan::{
    AffectedShape, CauseShape, LeaveOutShape, PlanShape, RecoverShape, RigFaultShape,
};
use super::values::{finite, joint};
use crate::judge::{Affected, Cause, Extent};
use crate::model::{CheckSpec, Severity};
use crate::report::advice;
use crate::report::view::View;

pub(super) fn plan(view: &View<'_>) -> PlanShape {
    let plan = &view.digest.plan;
    let id = |place| view.card(place).key.id.clone();
    let ids = |checks: &[&CheckSpec]| checks.iter().map(|check| check.id.to_owned()).collect();
    let leave_out = plan.leave_out.iter().map(|one| LeaveOutShape {
        episode: id(one.place),
        checks: ids(&one.checks),
        time_s: one.time_s,
    });
    let recover = plan.recover.iter().map(|one| RecoverShape {
        episode: id(one.place),
        checks: ids(&one.checks),
        how: one.how.iter().map(|&how| how.to_owned()).collect(),
    });
    let rig = plan.rig.iter().map(|fault| RigFaultShape {
        check: fault.check.id.to_owned(),
        joint: joint(view, fault.joint),
        stretch: fault.stretch.map(|s| [id(s.first), id(s.last)]),
        how: fault.how.map(str::to_owned),
    });
    PlanShape {
        leave_out: leave_out.collect(),
        recover: recover.collect(),
        rig: rig.collect(),
        causes: view.digest.causes.iter().map(|one| cause(view, one)).collect(),
        keep: advice::options(view),
        usable_after_s: finite(plan.usable_after_s),
    }
}

fn cause(view: &View<'_>, cause: &Cause) -> CauseShape {
    let affected = |one: &Affected| AffectedShape {
        episode: view.card(one.place).key.id.clone(),
        severity: one.severity,
        spans_s: one.spans_s.iter().map(|span| span.map(finite)).collect(),
    };
    CauseShape {
        check: cause.check.id.to_owned(),
        joints: cause.joints.iter().filter_map(|at| joint(view, Some(*at))).collect(),
        severity: cause.severity,
        metric: cause.metric.id.to_owned(),
        value: finite(cause.value),
        limit: finite(cause.limit),
        unit: view.unit(cause.metric, cause.joints.first().copied()).to_owned(),
        session: matches!(cause.extent, Extent::Session(_)),
        episodes: cause.affected().iter().map(affected).collect(),
        lost_s: finite(cause.lost_s),
        cause: cause.check.cause.to_owned(),
        remedy: cause.check.remedy.to_owned(),
        recovery: cause.recovery.iter().map(|&how| how.to_owned()).collect(),
        keep: advice::options_of(view, cause),
        rig_only: cause.severity == Severity::Fail && cause.recovery.is_empty(),
        also: cause.also.iter().map(|check| check.id.to_owned()).collect(),
    }
}
