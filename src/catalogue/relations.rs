//! Which check suppresses which. A person should fix the cause; the suppressed findings then go away.

use crate::check::{Check, limits, mapping, motion, signal, timing, tracking};
use crate::cohort;
use crate::model::CheckSpec;

/// Where a cause suppresses other findings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// On its own joint.
    Joint,
    /// On the other joints, in its episode, unless all episodes of the session show them.
    Neighbours,
    /// On every joint and the whole episode.
    All,
}

/// A cause, and the checks whose findings only follow from it.
#[derive(Debug)]
pub struct Suppression {
    /// The cause.
    pub cause: &'static Check,
    /// Where it suppresses.
    pub reach: Reach,
    /// What it suppresses.
    pub consequences: &'static [&'static Check],
}

impl Suppression {
    const fn of_joint(cause: &'static Check, consequences: &'static [&'static Check]) -> Self {
        Self { cause, reach: Reach::Joint, consequences }
    }

    const fn of_all(cause: &'static Check, consequences: &'static [&'static Check]) -> Self {
        Self { cause, reach: Reach::All, consequences }
    }

    const fn of_neighbours(cause: &'static Check, consequences: &'static [&'static Check]) -> Self {
        Self { cause, reach: Reach::Neighbours, consequences }
    }

    /// Whether this check may be suppressed.
    pub fn suppresses(&self, check: &CheckSpec) -> bool {
        self.consequences.iter().any(|consequence| consequence.spec.is(check))
    }
}

/// What means nothing where leader and follower of a joint do not belong together.
static UNPAIRED: &[&Check] = &[
    &tracking::tracking_lag::CHECK,
    &tracking::lag_variation::CHECK,
    &tracking::tracking_error::CHECK,
    &tracking::neutral_offset::CHECK,
    &tracking::gain_mismatch::CHECK,
    &tracking::backlash::CHECK,
    &tracking::gravity_sag::CHECK,
    &tracking::tracking_loss::CHECK,
    &tracking::external_disturbance::CHECK,
    &limits::limit_dwell::CHECK,
    &limits::leader_overreach::CHECK,
];

/// What only seems to have met something.
static CONTACT: &[&Check] = &[&cohort::contact_outlier::CHECK];

/// What a joint that was read or moved wrongly makes unusual in the path of an episode.
static PATHS: &[&Check] = &[&cohort::path_outlier::CHECK, &cohort::start_pose::CHECK];

/// What is read of a joint's calibration and gears.
static CALIBRATION: &[&Check] = &[
    &tracking::neutral_offset::CHECK,
    &tracking::gain_mismatch::CHECK,
    &tracking::backlash::CHECK,
    &tracking::gravity_sag::CHECK,
];

/// Every suppression.
pub static SUPPRESSIONS: &[Suppression] = &[
    // The path of an episode that was moved or read wrongly is unusual for that reason.
    Suppression::of_all(&mapping::arm_swap::CHECK, PATHS),
    Suppression::of_all(&mapping::joint_swap::CHECK, PATHS),
    Suppression::of_all(&mapping::sign_flip::CHECK, PATHS),
    Suppression::of_all(&mapping::unit_mismatch::CHECK, PATHS),
    Suppression::of_all(&signal::dead_joint::CHECK, PATHS),
    Suppression::of_all(&signal::encoder_wrap::CHECK, PATHS),
    Suppression::of_all(&signal::decode_error::CHECK, PATHS),
    Suppression::of_all(&signal::spikes::CHECK, PATHS),
    Suppression::of_all(&signal::frozen_follower::CHECK, PATHS),
    Suppression::of_all(&signal::reading_held::CHECK, PATHS),
    Suppression::of_all(&tracking::tracking_loss::CHECK, PATHS),
    Suppression::of_all(&limits::limit_dwell::CHECK, PATHS),
    Suppression::of_all(&cohort::outlier_episode::CHECK, &[&cohort::path_outlier::CHECK]),
    Suppression::of_all(&mapping::arm_swap::CHECK, UNPAIRED),
    Suppression::of_all(&mapping::arm_swap::CHECK, &[&mapping::sign_flip::CHECK]),
    Suppression::of_joint(&mapping::joint_swap::CHECK, UNPAIRED),
    Suppression::of_joint(&mapping::joint_swap::CHECK, &[&mapping::sign_flip::CHECK]),
    Suppression::of_joint(&mapping::sign_flip::CHECK, UNPAIRED),
    Suppression::of_joint(&mapping::unit_mismatch::CHECK, UNPAIRED),
    Suppression::of_joint(&mapping::unit_mismatch::CHECK, &[&mapping::sign_flip::CHECK]),
    Suppression::of_joint(&signal::dead_joint::CHECK, UNPAIRED),
    Suppression::of_joint(&signal::dead_joint::CHECK, &[&mapping::sign_flip::CHECK]),
    // A joint that something stopped follows neither range nor gears; what stopped by itself met nothing.
    Suppression::of_joint(&cohort::contact_outlier::CHECK, CALIBRATION),
    Suppression::of_joint(
        &cohort::contact_outlier::CHECK,
        &[&tracking::tracking_lag::CHECK, &tracking::lag_variation::CHECK],
    ),
    Suppression::of_all(&cohort::contact_outlier::CHECK, PATHS),
    Suppression::of_joint(&tracking::tracking_loss::CHECK, CONTACT),
    Suppression::of_joint(&limits::limit_dwell::CHECK, CONTACT),
    Suppression::of_joint(&limits::leader_overreach::CHECK, CONTACT),
    Suppression::of_joint(&signal::reading_held::CHECK, CONTACT),
    Suppression::of_joint(&signal::encoder_wrap::CHECK, CONTACT),
    Suppression::of_joint(&signal::dead_joint::CHECK, CONTACT),
    Suppression::of_joint(&mapping::sign_flip::CHECK, CONTACT),
    Suppression::of_joint(&mapping::unit_mismatch::CHECK, CONTACT),
    Suppression::of_all(&signal::frozen_follower::CHECK, CONTACT),
    Suppression::of_all(&signal::frozen_leader::CHECK, CONTACT),
    Suppression::of_all(&mapping::arm_swap::CHECK, CONTACT),
    Suppression::of_joint(&mapping::joint_swap::CHECK, CONTACT),
    Suppression::of_all(&mapping::action_kind::CHECK, CONTACT),
    // A joint whose reading held follows nothing meanwhile, and jumps afterwards.
    Suppression::of_joint(&signal::reading_held::CHECK, UNPAIRED),
    Suppression::of_joint(
        &signal::reading_held::CHECK,
        &[
            &signal::stale_readings::CHECK,
            &signal::spikes::CHECK,
            &signal::limit_cycle::CHECK,
            &signal::motion_oscillation::CHECK,
        ],
    ),
    Suppression::of_joint(
        &signal::motion_oscillation::CHECK,
        &[
            &tracking::tracking_error::CHECK,
            &tracking::backlash::CHECK,
            &tracking::external_disturbance::CHECK,
        ],
    ),
    // The same unrest, seen more closely at rest.
    Suppression::of_joint(
        &signal::limit_cycle::CHECK,
        &[&signal::motion_oscillation::CHECK, &tracking::external_disturbance::CHECK],
    ),
    Suppression::of_all(&mapping::action_kind::CHECK, UNPAIRED),
    Suppression::of_all(&mapping::action_kind::CHECK, &[&mapping::sign_flip::CHECK]),
    Suppression::of_joint(&tracking::tracking_loss::CHECK, CALIBRATION),
    Suppression::of_joint(
        &tracking::tracking_loss::CHECK,
        &[
            &tracking::tracking_lag::CHECK,
            &tracking::lag_variation::CHECK,
            &tracking::tracking_error::CHECK,
            &tracking::external_disturbance::CHECK,
        ],
    ),
    // What stops one joint of an arm, or lets it fall, pushes and pulls at its neighbours: in this
    // episode they tell nothing of their calibration.
    Suppression::of_neighbours(&tracking::tracking_loss::CHECK, CALIBRATION),
    Suppression::of_joint(
        &limits::limit_dwell::CHECK,
        &[
            &tracking::tracking_error::CHECK,
            &tracking::gain_mismatch::CHECK,
            &tracking::gravity_sag::CHECK,
            &tracking::backlash::CHECK,
        ],
    ),
    Suppression::of_joint(
        &tracking::gain_mismatch::CHECK,
        &[&tracking::gravity_sag::CHECK, &tracking::tracking_error::CHECK],
    ),
    Suppression::of_all(
        &timing::dropped_frames::CHECK,
        &[&timing::frame_rate::CHECK, &timing::hidden_drops::CHECK, &motion::action_steps::CHECK],
    ),
    Suppression::of_joint(&signal::dead_joint::CHECK, &[&cohort::constant_dimension::CHECK]),
    // Of the session: an episode that is unusual in one way is reported once, in the plainest words.
    Suppression::of_all(
        &cohort::stick_slip_outlier::CHECK,
        &[&cohort::motion_outlier::CHECK, &cohort::outlier_episode::CHECK],
    ),
    Suppression::of_all(
        &cohort::motion_outlier::CHECK,
        &[&cohort::duration_outlier::CHECK, &cohort::outlier_episode::CHECK],
    ),
    Suppression::of_all(&cohort::duration_outlier::CHECK, &[&cohort::outlier_episode::CHECK]),
    Suppression::of_all(
        &motion::duration::CHECK,
        &[&cohort::motion_outlier::CHECK, &cohort::duration_outlier::CHECK],
    ),
    Suppression::of_all(&motion::idle_time::CHECK, &[&cohort::duration_outlier::CHECK]),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::all;
    use crate::model::Family;

    /// What is wrong with a table of suppressions.
    fn faults(table: &[Suppression]) -> Vec<String> {
        let known = |check: &Check| all().any(|listed| listed.spec.is(check.spec));
        let mut faults = Vec::new();
        for entry in table {
            let cause = entry.cause.spec;
            if !known(entry.cause) {
                faults.push(format!("the cause {} is not in the catalogue", cause.id));
            }
            if entry.suppresses(cause) {
                faults.push(format!("{} suppresses itself", cause.id));
            }
            if entry.consequences.is_empty() {
                faults.push(format!("{} suppresses nothing", cause.id));
            }
            for consequence in entry.consequences {
                if !known(consequence) {
                    faults.push(format!("{} is not in the catalogue", consequence.spec.id));
                }
            }
        }
        faults
    }

    #[test]
    fn both_ends_of_every_suppression_are_in_the_catalogue() {
        assert_eq!(faults(SUPPRESSIONS), Vec::<String>::new());
    }

    static SPEC: CheckSpec = CheckSpec {
        id: "strange",
        family: Family::Signal,
        applies_to: crate::model::SignalKind::ALL,
        needs: crate::model::Relation::Nothing,
        advisory: true,
        source: "",
        cause: "",
        remedy: "",
        reference: "",
        metrics: &[],
        params: &[],
    };
    static STRANGE: Check = Check::of_episode(&SPEC, |_, _, _| {});

    #[test]
    fn a_wrong_suppression_is_found() {
        static TABLE: &[Suppression] = &[
            Suppression::of_all(&STRANGE, &[&timing::frame_rate::CHECK]),
            Suppression::of_joint(&signal::dead_joint::CHECK, &[&STRANGE]),
            Suppression::of_joint(&signal::dead_joint::CHECK, &[]),
            Suppression::of_joint(&timing::frame_rate::CHECK, &[&timing::frame_rate::CHECK]),
        ];
        let found = faults(TABLE);
        assert_eq!(found.len(), 4, "{found:?}");
        assert!(found[0].contains("the cause strange is not in the catalogue"), "{found:?}");
    }
}
