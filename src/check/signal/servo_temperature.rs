//! A servo that gets hotter than it should.
//!
//! A servo temperature gives less torque, droops under its load, and at some point switches off.
//!
//! How: where the table has temperatures and the profile says how hot a joint's motor may get
//! (`max_temperature`, in the unit of the table): the 99th percentile over the episode as a share
//! of that, and how far it rose from the first to the last tenth of the episode, as a
//! share of it too.
//!
//! Traps: there is no guess: without a declared largest temperature nothing is said. The sensor
//! sits on the board and comes after the winding, by minutes. One wrong reading is no heat, so not
//! the highest value is read. Shares of a temperature in Celsius are no physical quantity; they
//! tell how near it is.

use crate::check::prelude::{Check, Params, Study};
use crate::model::{CheckSpec, Extra, Family, Metric, Rig, Sheet, Unit};
use crate::num::quantile::{median_in_place, quantile_in_place};

static HEAT: Metric = Metric::of_joint(
    "heat",
    Unit::Ratio,
    "temperature, 99th percentile, over the largest that is declared",
)
.above(Some(1.0), None);
static HEAT_RISE: Metric = Metric::of_joint(
    "heat_rise",
    Unit::Ratio,
    "rise from the first to the last tenth of the episode, over the largest that is declared",
);

static SPEC: CheckSpec = CheckSpec {
    id: "servo-temperature",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("servo_temperature.rs"),
    cause: "too much load for too long, or too little air",
    remedy: "let it cool down; lighten the load, rest between episodes, move air over it",
    reference: "common practice, no source",
    metrics: &[&HEAT, &HEAT_RISE],
    params: &[],
};

/// Fewer readings have no tenths.
const ENOUGH: usize = 20;

/// The check; the head of this file is its manual.
pub static CHECK: Check =
    Check::of_episode(&SPEC, measure).extras(&[Extra::Temperature]).without(without);

fn without(rig: &Rig) -> Option<&'static str> {
    if !rig.extras.contains(&Extra::Temperature) {
        return Some("no temperature columns");
    }
    let declared = rig.joints.iter().any(|joint| joint.max_temperature.is_some());
    (!declared).then_some("no largest temperature is declared (max_temperature in the profile)")
}

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    let Some(temperature) = &study.episode.extras.temperature else {
        return sheet.not_assessed("no temperature columns");
    };
    for (joint, described) in study.joints().iter().enumerate() {
        let Some(most) = described.max_temperature else { continue };
        let channel = temperature.joint(joint).iter();
        let mut known: Vec<f32> = channel.copied().filter(|v| v.is_finite()).collect();
        if known.len() < ENOUGH {
            sheet
                .not_assessed_joint(joint, format!("{} temperatures, needs {ENOUGH}", known.len()));
            continue;
        }
        let tenth = known.len() / 10;
        let first = median_in_place(&mut known[..tenth].to_vec());
        let last = median_in_place(&mut known[known.len() - tenth..].to_vec());
        sheet.put_joint(&HEAT, joint, quantile_in_place(&mut known, 0.99) / most);
        sheet.put_joint(&HEAT_RISE, joint, (last - first) / most);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::testing::{Bench, Measured};
    use crate::model::Channels;

    /// The waist from 40 to 60 degrees, one wrong reading of 255; the elbow without any.
    fn measured(most: Option<f64>) -> Measured {
        let rig = move |rig: &mut Rig| rig.joints[0].max_temperature = most;
        let mut episode = Bench::at(50.0).frames(1_000).rig(rig).episode();
        let waist = (0..1_000).map(|i| if i == 500 { 255.0 } else { 40.0 + 0.02 * i as f32 });
        let values = waist.chain((0..1_000).map(|_| f32::NAN)).collect();
        episode.extras.temperature = Some(Channels::new(values, 1_000, 2));
        Measured::of(&CHECK, &episode)
    }

    #[test]
    fn heat_is_a_share_of_what_is_declared() {
        let read = measured(Some(50.0));
        // 99 % of the way from 40 to 60, over 50.
        assert!((read.joint("heat", 0) - 1.196).abs() < 0.002, "{read:?}");
        assert!((read.joint("heat_rise", 0) - 18.0 / 50.0).abs() < 0.002, "{read:?}");
        assert!(read.joint("heat", 1).is_nan());
    }

    #[test]
    fn nothing_is_guessed() {
        assert!(measured(None).readings.is_empty());
        let mut rig = Rig::default();
        assert_eq!(CHECK.left_out(&rig), Some("no temperature columns"));
        rig.extras = vec![Extra::Temperature];
        rig.joints = vec![crate::model::Joint::named("waist")];
        assert!(CHECK.left_out(&rig).is_some_and(|reason| reason.contains("max_temperature")));
        rig.joints[0].max_temperature = Some(70.0);
        assert_eq!(CHECK.left_out(&rig), None);
    }
}
