//! Faults for the checks that warn at most, and for those whose readings nobody judges.

use teleassay::demo::{Fault, Recipe};

use super::super::rigs::Spot;
use super::super::sizes;
use super::super::trial::Seen;
use super::{ARM, Case, Grade, with};

fn advisory(check: &'static str, what: &'static str, plant: fn(&Spot) -> Recipe) -> Case {
    Case::new(check, Grade::Advisory, what, plant)
}

fn reported(
    check: &'static str,
    what: &'static str,
    plant: fn(&Spot) -> Recipe,
    shows: fn(&Seen) -> bool,
) -> Case {
    Case::new(check, Grade::Reported, what, plant).reported(shows)
}

pub(super) fn cases() -> Vec<Case> {
    let mut all = signal();
    all.extend(tracking());
    all.extend(motion());
    all.extend(unjudged());
    all
}

fn signal() -> Vec<Case> {
    vec![
        advisory("hidden-drops", "4 % of the frames lost under made stamps, to 50 Hz", |s| {
            let mut recipe = with(s, Fault::DroppedFrames { share: 0.04, burst: 1 }).with(
                Fault::SyntheticStamps,
                None,
                &[],
            );
            recipe.rate_hz = recipe.rate_hz.min(50.0);
            recipe
        })
        .at_least(3),
        advisory("frozen-leader", "3 s of the same readings, from motion", |s| {
            with(s, Fault::FrozenLeader { seconds: 3.0 })
        })
        .sized(sizes::LEADER_FROZEN),
        advisory("coarse-quantisation", "rounded to 0.65 degrees", |s| {
            with(s, Fault::CoarseQuantisation { deg: 0.65 })
        }),
        advisory("limit-cycle", "hunting by 2 degrees at 4 to 9 Hz", |s| {
            let hertz = 4.0 + (s.turn % 6) as f64;
            let mut recipe = with(s, Fault::Hunting { deg: 2.0, hertz });
            recipe.operator.dwell_s = [1.8, 2.4];
            recipe
        })
        .on(ARM)
        .sized(sizes::HUNTING),
        advisory("overspeed", "1.75 times what the joint can do", |s| {
            let mut recipe = with(s, Fault::FastHand { deg_s: 262.5 });
            recipe.servo.speed_limit_deg_s = 150.0;
            recipe
        }),
    ]
}

fn tracking() -> Vec<Case> {
    vec![
        advisory("tracking-error", "a load that pulls by 6 degrees", |s| {
            with(s, Fault::LoadSurges { deg: 6.0 })
        })
        .on(ARM),
        advisory("backlash", "2.25 degrees of backlash", |s| {
            with(s, Fault::Backlash { deg: 2.25 })
        })
        .on(ARM)
        .sized(sizes::BACKLASH_OF_JOINT),
        advisory("gravity-sag", "a shoulder that droops by 9 degrees", |s| {
            with(s, Fault::TrackingError { deg: 4.5 })
        })
        .on(&["shoulder"])
        .or(&["gain-mismatch"]),
        advisory("external-disturbance", "pushed by 2.6 degrees", |s| {
            with(s, Fault::ExternalDisturbance { deg: 2.6 })
        })
        .on(ARM)
        .sized(sizes::PUSHED),
    ]
}

fn motion() -> Vec<Case> {
    vec![
        advisory("idle-time", "1.75 s before anything happens", |s| {
            with(s, Fault::IdleHead { seconds: 1.75 })
        })
        .sized(sizes::IDLE_HEAD),
        advisory("idle-time", "1.75 s after the last motion", |s| {
            with(s, Fault::IdleTail { seconds: 1.75 })
        }),
        advisory("cut-short", "ends in motion", |s| with(s, Fault::CutShort)),
        advisory("action-steps", "a jump at 1050 degrees a second", |s| {
            with(s, Fault::Clutch { deg_s: 1050.0 })
        })
        .on(ARM),
    ]
}

fn unjudged() -> Vec<Case> {
    vec![
        reported(
            "leader-stick-slip",
            "a joint that sticks by 2 degrees: twice the share of its sound twin",
            |s| with(s, Fault::StickSlip { deg: 2.0 }),
            |seen| {
                let both = seen.on_joint("chatter").zip(seen.on_sound_joint("chatter"));
                both.is_some_and(|(stuck, sound)| stuck > 2.0 * sound)
            },
        )
        .on(ARM),
        reported(
            "grasp",
            "jaws that close on nothing: none held, and one on the sound twin",
            |s| with(s, Fault::NoGrasp),
            |seen| {
                let grippers = seen.faulty.rig.joints.iter().zip(0u16..);
                let held = |(_, at): &(_, u16)| {
                    let sound = seen.sound.as_ref().and_then(|c| c.value("grasps", Some(*at)));
                    (seen.faulty.value("grasps", Some(*at)), sound) == (Some(0.0), Some(1.0))
                };
                grippers.filter(|(joint, _)| joint.gripper).all(|joint| held(&joint))
            },
        ),
        reported(
            "smoothness",
            "a hand that circles by 3 degrees: worse arc length than its sound twin",
            |s| with(s, Fault::Searching { deg: 3.0 }),
            |seen| less(seen, "sparc"),
        ),
        reported(
            "smoothness",
            "the same: worse jerk",
            |s| with(s, Fault::Searching { deg: 3.0 }),
            |seen| less(seen, "log_jerk"),
        ),
        reported(
            "path-efficiency",
            "a hand that circles by 3 degrees: less straight than its sound twin",
            |s| with(s, Fault::Searching { deg: 3.0 }),
            |seen| less(seen, "straightness"),
        ),
        reported(
            "reset-motion",
            "cut short on the return: none counted, and one on the sound twin",
            |s| with(s, Fault::CutShort),
            |seen| {
                let sound = seen.sound.as_ref().and_then(|c| c.value("returns", None));
                (seen.faulty.value("returns", None), sound) == (Some(0.0), Some(1.0))
            },
        ),
    ]
}

/// Whether an episode reads less than its sound twin.
fn less(seen: &Seen, metric: &str) -> bool {
    let sound = seen.sound.as_ref().and_then(|card| card.value(metric, None));
    seen.faulty.value(metric, None).zip(sound).is_some_and(|(faulty, sound)| faulty < sound)
}
