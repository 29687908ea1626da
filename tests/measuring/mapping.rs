//! Faults of mapping and tracking planted on the simulated rig: found, on the right joint, at the
//! right size.

use std::sync::Arc;

use super::Card;
use teleassay::demo::{DemoError, Fault, Recording, Simulator, StoredUnit, healthy};
use teleassay::model::{Rig, Severity};

const RATES_HZ: [f64; 5] = [25.0, 30.0, 50.0, 100.0, 200.0];
const JOINTS: [&str; 4] = ["waist", "shoulder", "elbow", "wrist_pitch"];

/// A recording with the fault, its twin without, their rig and the faulty joint.
struct Twin {
    faulty: Recording,
    clean: Recording,
    rig: Arc<Rig>,
    joint: u16,
}

/// Twenty rigs of all rates, six and eight joints, each with the fault on one of four joints.
fn twins(fault: &Fault, on_joint: bool) -> Result<Vec<Twin>, DemoError> {
    let mut all = Vec::new();
    for k in 0..20usize {
        let joints = if k % 2 == 0 { 6 } else { 8 };
        let base = healthy(RATES_HZ[k % 5], joints, StoredUnit::Deg, 1, 300 + k as u64);
        let name = JOINTS[(k / 2) % 4];
        let rig = Arc::new(base.rig());
        let place = rig.joints.iter().position(|joint| joint.name == name).unwrap_or(0);
        let recipe = base.clone().with(fault.clone(), on_joint.then_some(name), &[]);
        let faulty = Simulator::new(&recipe)?.episode(0);
        let clean = Simulator::new(&base)?.episode(0);
        all.push(Twin { faulty, clean, rig, joint: place as u16 });
    }
    Ok(all)
}

fn fails(card: &Card, check: &str, joint: Option<u16>) -> bool {
    let named = |f: &&teleassay::model::Finding| {
        f.check.id == check && f.severity == Severity::Fail && (joint.is_none() || f.joint == joint)
    };
    card.findings.iter().any(|f| named(&f))
}

#[test]
fn hard_faults_fail_on_the_right_joint() -> Result<(), DemoError> {
    for (fault, check) in [
        (Fault::SignFlip, "sign-flip"),
        (Fault::NeutralOffset { deg: 6.5 }, "neutral-offset"),
        (Fault::GainMismatch { factor: 1.13 }, "gain-mismatch"),
        (Fault::GainMismatch { factor: 0.87 }, "gain-mismatch"),
        (Fault::LagJoint { ms: 300.0 }, "tracking-lag"),
        (Fault::DeadJoint, "dead-joint"),
    ] {
        let all = twins(&fault, true)?;
        let found = all
            .iter()
            .filter(|twin| fails(&Card::of(&twin.faulty, &twin.rig), check, Some(twin.joint)));
        assert_eq!(found.count(), all.len(), "{fault:?}");
    }
    for (fault, check) in [
        (Fault::LagAll { ms: 300.0 }, "tracking-lag"),
        (Fault::TrackingLoss { seconds: 1.6 }, "tracking-loss"),
    ] {
        let all = twins(&fault, false)?;
        let found = all.iter().filter(|t| fails(&Card::of(&t.faulty, &t.rig), check, None));
        assert_eq!(found.count(), all.len(), "{fault:?}");
    }
    Ok(())
}

#[test]
fn sizes_are_those_that_were_planted() -> Result<(), DemoError> {
    for twin in twins(&Fault::NeutralOffset { deg: 4.2 }, true)? {
        // The droop of a loaded joint is there without the fault too.
        let read =
            |recording| Card::of(recording, &twin.rig).value("offset_signed", Some(twin.joint));
        let both = read(&twin.faulty).zip(read(&twin.clean));
        let off_deg = both.map_or(f64::NAN, |(x, y)| (x - y).to_degrees() - 4.2);
        assert!(off_deg.abs() <= 0.3, "offset off by {off_deg} degrees");
    }
    for factor in [0.9, 1.08] {
        for twin in twins(&Fault::GainMismatch { factor }, true)? {
            let read = Card::of(&twin.faulty, &twin.rig).value("gain", Some(twin.joint));
            let off = read.map_or(f64::NAN, |read| read - factor);
            assert!(off.abs() <= 0.02, "gain off by {off}");
        }
    }
    for twin in twins(&Fault::ExternalDisturbance { deg: 5.0 }, true)? {
        let read = Card::of(&twin.faulty, &twin.rig).value("pushed", Some(twin.joint));
        let off_deg = read.map_or(f64::NAN, |read| read.to_degrees() - 5.0);
        assert!(off_deg.abs() <= 0.5, "push off by {off_deg} degrees");
    }
    Ok(())
}

/// Columns exchanged, converted or made up after the simulation, which knows nothing of it.
#[test]
fn what_was_done_to_the_columns_is_reported() -> Result<(), DemoError> {
    for twin in twins(&Fault::NoGrasp, false)? {
        let (joint, place) = (Some(twin.joint), usize::from(twin.joint));
        let reported = |change: &dyn Fn(&mut Recording)| {
            let mut recording = twin.clean.clone();
            change(&mut recording);
            Card::of(&recording, &twin.rig)
        };
        let arms = reported(&|r| std::mem::swap(&mut r.leader, &mut r.follower));
        assert!(fails(&arms, "arm-swap", None), "{:?}", arms.reported(&twin.rig));
        // Not the upper arm's roll for the waist: those two go the same way, only not as far, and
        // are recognised by their ranges.
        let named = |name: &str| twin.rig.joints.iter().position(|joint| joint.name == name);
        let other = named(if place == 0 { "elbow" } else { "waist" }).unwrap_or(place);
        let joints = reported(&|r| r.follower.swap(place, other));
        for swapped in [place, other] {
            let found = fails(&joints, "joint-swap", Some(swapped as u16));
            assert!(found, "{:?}", joints.reported(&twin.rig));
        }
        for factor in [57.296, 1.0 / 57.296, 11.378, 1.0 / 11.378] {
            let unit = reported(&|r| r.follower[place].iter_mut().for_each(|v| *v *= factor));
            assert!(
                fails(&unit, "unit-mismatch", joint),
                "{factor}: {:?}",
                unit.reported(&twin.rig)
            );
        }
        let copy = reported(&|r| r.leader.clone_from(&r.follower));
        assert!(fails(&copy, "action-kind", None));
    }
    Ok(())
}

#[test]
fn jaws_that_close_on_nothing_hold_nothing() -> Result<(), DemoError> {
    for twin in twins(&Fault::NoGrasp, false)? {
        let jaw = Some(twin.rig.joints.len() as u16 - 1);
        let grasps = |recording| Card::of(recording, &twin.rig).value("grasps", jaw);
        assert_eq!(grasps(&twin.faulty), Some(0.0));
        assert_eq!(grasps(&twin.clean), Some(1.0));
    }
    Ok(())
}
