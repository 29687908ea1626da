//! What the survey shows of the rig: unit, counts, ranges, clock.

use crate::model::{AngleUnit, ClockStorage, Joint, SignalKind};
use crate::source::declared::Declared;
use crate::source::rig::robust::median;
use crate::source::rig::scale::Scale;
use crate::source::rig::survey::Sample;
use crate::source::rig::{clock, grid};
use crate::source::roles::parts::Columns;

/// Counts of a turn of the encoders usual on such arms, 12 bits. Common practice, no source.
const USUAL_PER_TURN: f64 = 4096.0;
/// Joints that go beyond this are not in radians: it is more than a full turn.
const BEYOND_RADIANS: f64 = 7.0;
/// Whole numbers that go beyond this are not in degrees.
const BEYOND_DEGREES: f64 = 400.0;

/// The unit of the joint values: declared, else by their size, the grippers left out.
pub(in crate::source) fn unit(
    columns: &Columns,
    declared: &Declared,
    joints: &[Joint],
    samples: &[Sample],
) -> AngleUnit {
    if let Some(unit) = declared.unit {
        return unit;
    }
    let largest = |joint: usize| {
        let all = samples.iter().flat_map(|s| s.joint(joint)).filter(|v| v.is_finite());
        all.map(|v| f64::from(v.abs())).max_by(f64::total_cmp)
    };
    let angle = |j: &Joint| matches!(j.kind(), SignalKind::Revolute | SignalKind::Continuous);
    let arm = joints.iter().enumerate().filter(|(_, j)| angle(j));
    let typical = median(&mut arm.filter_map(|(n, _)| largest(n)).collect::<Vec<_>>());
    match typical {
        Some(size) if columns.state.integer() && size > BEYOND_DEGREES => {
            AngleUnit::Counts { per_turn: declared.counts_per_turn.unwrap_or(USUAL_PER_TURN) }
        }
        Some(size) if size > BEYOND_RADIANS => AngleUnit::Degree,
        _ => AngleUnit::Radian,
    }
}

/// Adds what the samples show of each joint: the sensor's count and the range seen.
pub(in crate::source) fn learn(
    joints: &mut [Joint],
    declared: &Declared,
    unit: AngleUnit,
    scales: &[Scale],
    samples: &[Sample],
) {
    for (number, joint) in joints.iter_mut().enumerate() {
        let Scale { factor, offset } = scales[number];
        joint.count = match (declared.counts_per_turn, unit) {
            (Some(per_turn), _) if !joint.linear => std::f64::consts::TAU / per_turn,
            (_, AngleUnit::Counts { .. }) => factor,
            _ => grid::count(samples.iter().map(|s| s.joint(number))) * factor,
        };
        let all = samples.iter().flat_map(|s| s.joint(number)).filter(|v| v.is_finite());
        joint.observed = all.map(|v| f64::from(*v) * factor).fold(None, |range, v| {
            let v = v + offset;
            let (min, max) = range.unwrap_or((v, v));
            Some((v.min(min), v.max(max)))
        });
    }
}

/// The clock: how stamps are stored and the frame period.
pub(in crate::source) fn frame_clock(
    columns: &Columns,
    declared: &Declared,
    step_s: Option<f64>,
    per_second: f64,
) -> (ClockStorage, f64) {
    match &columns.time {
        Some(time) => {
            let period_s = clock::period_s(step_s, declared.rate_hz);
            (clock::storage(time, per_second), period_s)
        }
        None => (ClockStorage::None, clock::period_s(None, declared.rate_hz)),
    }
}
