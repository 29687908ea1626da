//! Planted faults of signal, limits and motion: how many are found, by the check that should find
//! them, at the severity and on the joint that they deserve.

use super::cards;
use teleassay::demo::{DemoError, Fault, StoredUnit, healthy};
use teleassay::model::Severity;

/// The share found, and a line for each one missed.
struct Recall {
    share: f64,
    missed: Vec<String>,
}

/// Looks in 50 episodes, ten at each rate, for whether the check reports at this severity, on the
/// joint planted where there is one.
fn recall(fault: &Fault, joint: Option<&str>, least: Severity) -> Result<Recall, DemoError> {
    let (mut planted, mut missed) = (0, Vec::new());
    // At 200 Hz a slow hand hardly moves from frame to frame: there is nothing to plant.
    let enough = if matches!(fault, Fault::StaleReadings { .. }) { 2 } else { 1 };
    for (rate_hz, seed) in [(25.0, 3), (30.0, 4), (50.0, 5), (100.0, 6), (200.0, 7)] {
        let recipe = healthy(rate_hz, 6, StoredUnit::Deg, 10, seed).with(fault.clone(), joint, &[]);
        let (rig, cards) = cards(&recipe)?;
        for (recording, card) in &cards {
            if recording.truth.answers.iter().all(|a| a.count < enough) {
                continue;
            }
            planted += 1;
            let named = card.findings.iter().any(|f| {
                f.check.id == fault.check()
                    && f.severity >= least
                    && (joint.is_none() || f.joint.map(|j| rig.joint_name(j)) == joint)
            });
            if !named {
                let (kind, id, reported) =
                    (fault.kind(), recording.id, card.reported(&rig).join("; "));
                missed.push(format!("{kind} {rate_hz} Hz, episode {id}: {reported}"));
            }
        }
    }
    assert!(planted >= 40, "{}: only {planted} planted", fault.kind());
    Ok(Recall { share: 1.0 - missed.len() as f64 / f64::from(planted), missed })
}

#[test]
fn hard_faults_fail() -> Result<(), DemoError> {
    let cases: [(Fault, Option<&str>); 7] = [
        (Fault::StaleReadings { share: 0.03 }, Some("waist")),
        (Fault::StaleReadings { share: 0.03 }, None),
        (Fault::FrozenFollower { seconds: 0.9 }, None),
        (Fault::Spikes { count: 12, deg: 20.0 }, Some("elbow")),
        (Fault::EncoderWrap, Some("waist")),
        (Fault::LimitDwell { push_deg: 9.0, stop_deg: None }, Some("wrist_roll")),
        (Fault::DeadJoint, Some("waist")),
    ];
    for (fault, joint) in cases {
        let Recall { share, missed } = recall(&fault, joint, Severity::Fail)?;
        assert!(share >= 0.98, "{share:.2} found; missed:\n{}", missed.join("\n"));
    }
    Ok(())
}

#[test]
fn advisory_faults_warn() -> Result<(), DemoError> {
    let cases = [
        Fault::FrozenLeader { seconds: 2.5 },
        Fault::IdleHead { seconds: 2.5 },
        Fault::IdleTail { seconds: 2.5 },
        Fault::CutShort,
    ];
    for fault in cases {
        let Recall { share, missed } = recall(&fault, None, Severity::Warn)?;
        assert!(share >= 0.9, "{share:.2} found; missed:\n{}", missed.join("\n"));
    }
    Ok(())
}

/// Rows lost before the stamps were made: a lower limit, so only many lost rows must show.
#[test]
fn hidden_drops_show_under_made_stamps() -> Result<(), DemoError> {
    let mut reported = Vec::new();
    for (rate_hz, seed) in [(25.0, 3), (30.0, 4), (50.0, 5)] {
        for dropped in [false, true] {
            let mut recipe = healthy(rate_hz, 6, StoredUnit::Deg, 10, seed);
            if dropped {
                recipe = recipe.with(Fault::DroppedFrames { share: 0.06, burst: 1 }, None, &[]);
            }
            let (_, cards) = cards(&recipe.with(Fault::SyntheticStamps, None, &[]))?;
            let hidden = |card: &super::Card| card.value("hidden_share", None).map(|v| v > 0.002);
            let read: Vec<bool> = cards.iter().filter_map(|(_, card)| hidden(card)).collect();
            let found = read.iter().filter(|found| **found).count();
            reported.push((rate_hz, dropped, found, read.len()));
        }
    }
    let good = |(_, dropped, found, of): &(f64, bool, usize, usize)| {
        if *dropped { found * 10 >= of * 9 } else { *found == 0 }
    };
    assert!(reported.iter().all(good), "{reported:?}");
    assert!(reported.iter().any(|(.., of)| *of >= 5), "{reported:?}");
    Ok(())
}
