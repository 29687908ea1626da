//! A sensor or a table that is too coarse: positions come in large steps.
//!
//! Velocities made of such positions are steps of noise.
//!
//! How: the smallest step of the follower's reading that is not zero, if the larger ones are whole
//! multiples of it (within a twentieth, 95 % of them); else the joint shows no coarse grid and its
//! resolution is read as zero.
//!
//! Traps: a joint that moved in fewer than 20 frames shows nothing: not assessable. Grippers and
//! linear joints have units of their own and are left out.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Family, Metric, Pool, Sheet, Unit, count};

const FEWEST: usize = 20;
/// Below this no grid is coarse, and none is looked for: 0.2 degrees.
const FINE_RAD: f32 = 0.2 * std::f32::consts::PI / 180.0;

/// The measurement `resolution`.
pub static RESOLUTION: Metric = Metric::of_joint(
    "resolution",
    Unit::Radian,
    "step of the grid that positions lie on, if it is coarser than 0.2 degrees; else 0",
)
.above(Some(0.35 * std::f64::consts::PI / 180.0), Some(std::f64::consts::PI / 180.0))
.pooled(Pool::Own);

static SPEC: CheckSpec = CheckSpec {
    id: "coarse-quantisation",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::JOINTS,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("coarse_quantisation.rs"),
    cause: "positions were rounded when stored, or the sensor is coarse",
    remedy: "store the sensor's own counts, or more decimals",
    reference: "common practice, no source",
    metrics: &[&RESOLUTION],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    for (joint, described) in study.joints().iter().enumerate() {
        if described.gripper || described.linear {
            continue;
        }
        match resolution(study.state(joint)) {
            Ok(size) => sheet.put_joint(&RESOLUTION, joint, f64::from(size)),
            Err(steps) => {
                sheet.not_assessed_joint(
                    joint,
                    format!("it moved in {}, needs {FEWEST}", count(steps, "frame")),
                );
            }
        }
    }
}

/// Step of the grid, zero for none, or the number of steps where they are too few.
fn resolution(values: &[f32]) -> Result<f32, usize> {
    let steps = || values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).filter(|s| *s > 0.0);
    // One fine step among many is enough to know; rounding of single precision is no step.
    let large = values.iter().fold(0.0f32, |most, v| most.max(v.abs()));
    let rounding = 4.0 * f32::EPSILON * large;
    if steps().filter(|s| *s > rounding && *s < FINE_RAD).take(FEWEST).count() == FEWEST {
        return Ok(0.0);
    }
    let mut all: Vec<f32> = steps().filter(|s| *s > rounding).collect();
    if all.len() < FEWEST {
        return Err(all.len());
    }
    all.sort_unstable_by(f32::total_cmp);
    let size = all[0];
    let whole = |s: &&f32| {
        let times = **s / size;
        (times - times.round()).abs() < 0.05
    };
    let on_grid = all.iter().filter(whole).count();
    Ok(if size >= FINE_RAD && on_grid * 20 >= all.len() * 19 { size } else { 0.0 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, sway};

    fn rounded(rate_hz: f64, step_deg: f64) -> Bench {
        let step = step_deg.to_radians();
        Bench::at(rate_hz)
            .seconds(20.0)
            .follower(move |joint, t| (sway(joint, t - 0.08) / step).round() * step)
    }

    #[test]
    fn the_grid_of_rounded_positions_is_read_back() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            for step_deg in [0.5, 1.0, 2.0f64] {
                let bench = rounded(rate_hz, step_deg).measure(&CHECK);
                let read = bench.joint("resolution", 0).to_degrees();
                assert!((read - step_deg).abs() < 1e-3, "{rate_hz} Hz: {read} for {step_deg}");
            }
        }
    }

    #[test]
    fn sensors_of_twelve_bits_and_plain_floats_are_fine() {
        for rate_hz in [25.0, 30.0, 50.0, 100.0, 200.0] {
            let counts = rounded(rate_hz, 360.0 / 4096.0).measure(&CHECK);
            assert_eq!(counts.joint("resolution", 0), 0.0, "{rate_hz} Hz");
            let plain = Bench::at(rate_hz).seconds(20.0).measure(&CHECK);
            assert_eq!(plain.joint("resolution", 0), 0.0, "{rate_hz} Hz");
        }
    }

    #[test]
    fn a_joint_at_rest_shows_nothing() {
        let bench = Bench::at(30.0).still().measure(&CHECK);
        assert!(bench.missing("resolution") && bench.is_not_assessed("needs 20"));
    }
}
