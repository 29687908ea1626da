//! What a report offers to mend is what `keep` does, and it offers nothing else.

use serde_json::Value;
use teleassay::demo::{Fault, Layout, Recipe};

use super::{Session, findings};
use crate::support::binary::{Tested, run};

fn offered(report: &Value) -> Vec<String> {
    let all = report["session"]["plan"]["keep"].as_array().into_iter().flatten();
    all.filter_map(|option| option.as_str().map(str::to_owned)).collect()
}

/// The command of a report is pasted, and what it mends is gone.
#[test]
fn the_offered_command_runs_and_mends() -> Tested {
    let swapped = Fault::SwappedJoints { with: "elbow".to_owned() };
    let radians = Fault::UnitMismatch { factor: std::f64::consts::PI / 180.0 };
    for (fault, joint, layout, check, option) in [
        (
            Fault::RepeatedFrames { share: 0.02 },
            None,
            Layout::List,
            "repeated-frames",
            "--drop-doubled",
        ),
        (
            Fault::ClockBackward { seconds: 2.0 },
            None,
            Layout::List,
            "non-monotonic-time",
            "--split",
        ),
        (Fault::IdleTail { seconds: 4.0 }, None, Layout::List, "idle-time", "--trim-idle"),
        (Fault::EncoderWrap, Some("waist"), Layout::List, "encoder-wrap", "--mend unwrap:waist"),
        (Fault::SwappedArms, None, Layout::Scalars, "arm-swap", "--mend exchange-sides"),
        (
            swapped,
            Some("shoulder"),
            Layout::Scalars,
            "joint-swap",
            "--mend exchange-joints:shoulder,elbow",
        ),
        (radians, Some("elbow"), Layout::List, "unit-mismatch", "--mend unit:elbow"),
    ] {
        let recipe = Recipe { episodes: 8, seed: 11, ..Recipe::default() };
        let episodes: &[u64] = if joint.is_some() || check == "arm-swap" { &[] } else { &[2] };
        let session = Session::new(&recipe.with(fault, joint, episodes), layout)?;
        let session = if check == "encoder-wrap" { session.with_ends("waist")? } else { session };
        let report = session.audit(&session.source())?;
        assert_eq!(offered(&report), [option], "{check}");
        let causes = report["session"]["plan"]["causes"].as_array().into_iter().flatten();
        let cause = causes.into_iter().find(|cause| cause["check"] == check).ok_or(check)?;
        assert!(cause["keep"].as_array().is_some_and(|keep| keep.iter().any(|o| o == option)));
        assert_eq!(cause["rig_only"], false);
        let screen = run(&["audit".as_ref(), session.source().as_os_str()])?;
        let screen = String::from_utf8_lossy(&screen.stdout).into_owned();
        let line =
            screen.lines().find_map(|line| line.trim().strip_prefix("clean copy: teleassay "));
        let line = line.ok_or_else(|| format!("{check}: {screen}"))?;
        let mut words = shlex::split(line).ok_or("no command line")?;
        let to = session.path("clean").display().to_string();
        let at = words.iter().position(|word| word == "--to").ok_or("no --to")?;
        words[at + 1].clone_from(&to);
        assert_eq!(run(&words)?.status.code(), Some(0), "{words:?}");
        assert_eq!(findings(&session.audit(to.as_ref())?, check), 0, "{check}");
    }
    Ok(())
}

/// Joints that are places in a list are named by nobody but the profile; offset, lag and gain are of
/// how two columns relate; a dead joint is lost.
#[test]
fn what_is_not_exact_is_not_offered() -> Tested {
    let swapped = Fault::SwappedJoints { with: "elbow".to_owned() };
    for (fault, joint, rig_only) in [
        (swapped, "shoulder", false),
        (Fault::NeutralOffset { deg: 7.0 }, "elbow", false),
        (Fault::LagJoint { ms: 400.0 }, "elbow", false),
        (Fault::SignFlip, "elbow", false),
        (Fault::DeadJoint, "elbow", true),
    ] {
        let check = fault.check();
        let recipe = Recipe { episodes: 6, seed: 12, ..Recipe::default() };
        let session = Session::new(&recipe.with(fault, Some(joint), &[]), Layout::List)?;
        let report = session.audit(&session.source())?;
        assert_eq!(offered(&report), Vec::<String>::new(), "{check}");
        let causes = report["session"]["plan"]["causes"].as_array().into_iter().flatten();
        let cause = causes.into_iter().find(|cause| cause["check"] == check).ok_or(check)?;
        assert_eq!(cause["rig_only"], rig_only, "{check}");
    }
    Ok(())
}
