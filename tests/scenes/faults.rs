//! Sessions with faults in single episodes, and with faults of the rig.

use teleassay::demo::{Fault, Recipe};

use super::{SCREEN, Tested, audit, session};
use crate::support::binary::run;
use crate::support::recipes;

const NONE: [&str; 0] = [];

/// The demo: cause, remedy and episodes of all planted faults within forty lines.
#[test]
fn all_planted_faults_with_cause_remedy_and_episodes() -> Tested {
    let recipe = recipes::load("nursery.json")?;
    let dir = session(&recipe)?;
    let seen = audit(dir.path(), &NONE)?;
    seen.begins("x FAIL Exclude or re-record 8 of 24 episodes; train on the rest.").exits(1);
    seen.has(&["what to fix, most minutes lost first:", "exclude: ", "recoverable: ", "read as: "]);
    let answers = std::fs::read(dir.path().join("answers.json"))?;
    let answers: serde_json::Value = serde_json::from_slice(&answers)?;
    let mut planted = 0;
    for episode in answers["episodes"].as_array().ok_or("no episodes")? {
        let id = episode["episode"].as_str().ok_or("no id")?;
        for answer in episode["planted"].as_array().ok_or("no answers")? {
            let check = answer["check"].as_str().ok_or("no check")?;
            let title = check.replace('-', " ");
            let ids = [format!(": {id}"), format!(", {id}")];
            let named = |line: &&String| {
                line.contains(&title) && ids.iter().any(|id| line.contains(id.as_str()))
            };
            let at = seen.lines.iter().find(named);
            let at = at.ok_or_else(|| format!("{title} of {id} is missing:\n{}", seen.text))?;
            let from = seen.lines.iter().position(|line| line == at).unwrap_or(0);
            let item = seen.lines[from + 1..].iter().take(2).flat_map(|l| l.split_whitespace());
            let item = item.collect::<Vec<_>>().join(" ");
            // A remedy stands with all that cannot be trained on.
            let manual = String::from_utf8(run(&["explain", check])?.stdout)?;
            let manual = manual.split_whitespace().collect::<Vec<_>>().join(" ");
            let fix = item.split("Fix: ").nth(1).ok_or_else(|| format!("no remedy: {item}"))?;
            let first = fix.split(' ').take(3).collect::<Vec<_>>().join(" ");
            assert!(manual.contains(first.trim_end_matches(['.', ';', ','])), "{first}: {manual}");
            planted += 1;
        }
    }
    assert!(planted >= 10, "only {planted} faults are planted");
    Ok(())
}

#[test]
fn ten_lines_are_enough_for_the_brief_form() -> Tested {
    let dir = session(&recipes::load("nursery.json")?)?;
    let seen = audit(dir.path(), &["--brief"])?;
    assert!(seen.lines.len() <= 10, "{}", seen.text);
    seen.begins("x FAIL Exclude or re-record 8 of 24 episodes").has(&["exclude: ", "next: "]);
    Ok(())
}

#[test]
fn every_row_is_printed_on_request() -> Tested {
    let dir = session(&recipes::load("nursery.json")?)?;
    let usual = audit(dir.path(), &NONE)?;
    let all = audit(dir.path(), &["--all"])?;
    assert!(all.lines.len() > SCREEN, "{}", all.text);
    let ok = |text: &str| text.matches(". ok").count();
    assert!(ok(&all.text) > 20 && ok(&usual.text) == 0, "{}", usual.text);
    Ok(())
}

#[test]
fn a_sound_session_has_nothing_to_fix() -> Tested {
    let dir = session(&Recipe { episodes: 24, seed: 7, ..Recipe::default() })?;
    let seen = audit(dir.path(), &NONE)?;
    seen.begins(". ok Usable. All 24 episodes are within their limits.").exits(0);
    seen.has(&["next: "]).lacks(&["FAIL", "Fix: ", "exclude", "what to"]);
    Ok(())
}

/// A fault of the rig: named with its joint, size and remedy, before anything else.
#[test]
fn a_fault_of_the_rig_stands_first() -> Tested {
    let recipe = Recipe { episodes: 12, seed: 3, ..Recipe::default() };
    let recipe = recipe.with(Fault::NeutralOffset { deg: 8.0 }, Some("elbow"), &[]);
    let recipe = recipe.with(Fault::DroppedFrames { share: 0.06, burst: 3 }, None, &[4]);
    let seen = audit(session(&recipe)?.path(), &NONE)?;
    seen.begins("x FAIL Fix the rig first: elbow neutral offset 7.").exits(1);
    seen.has(&["neutral offset elbow", "put both sides into the same jig pose", "dropped frames"]);
    let place = |text: &str| seen.lines.iter().position(|line| line.contains(text));
    assert!(
        place("x FAIL  neutral offset").is_some()
            && place("x FAIL  neutral offset") < place("x FAIL  dropped frames"),
        "{}",
        seen.text
    );
    Ok(())
}

#[test]
fn a_fault_from_one_episode_on_names_it() -> Tested {
    let recipe = Recipe { episodes: 16, seed: 9, ..Recipe::default() };
    let late: Vec<u64> = (10..16).collect();
    let recipe = recipe.with(Fault::NeutralOffset { deg: 12.0 }, Some("elbow"), &late);
    let seen = audit(session(&recipe)?.path(), &NONE)?;
    seen.exits(1).has(&["neutral offset elbow", "from episode 10 on"]);
    Ok(())
}

/// What follows from one cause in one episode is one item.
#[test]
fn joints_and_checks_of_one_cause_are_one_item() -> Tested {
    let recipe = Recipe { episodes: 12, seed: 11, ..Recipe::default() };
    let dwell = Fault::LimitDwell { push_deg: 9.0, stop_deg: None };
    let seen = audit(session(&recipe.with(dwell, Some("wrist_roll"), &[5]))?.path(), &NONE)?;
    seen.exits(1).has(&["limit dwell wrist_roll", ": 5 (", "Also: leader overreach"]);
    assert_eq!(seen.text.matches("x FAIL  ").count(), 3, "{}", seen.text);
    Ok(())
}

/// Two faults that have nothing to do with one another are two items.
#[test]
fn two_faults_of_one_episode_are_two_items() -> Tested {
    let recipe = Recipe { episodes: 12, seed: 12, ..Recipe::default() };
    let recipe = recipe.with(Fault::DeadJoint, Some("waist"), &[5]);
    let recipe = recipe.with(Fault::DroppedFrames { share: 0.06, burst: 3 }, None, &[5]);
    let seen = audit(session(&recipe)?.path(), &NONE)?;
    seen.exits(1).has(&["dead joint waist", "dropped frames", "record in a thread of its own"]);
    Ok(())
}

/// What the data alone can mend is said, with what is usable after that.
#[test]
fn what_can_be_recovered_is_said_with_how() -> Tested {
    let recipe = Recipe { episodes: 12, seed: 14, ..Recipe::default() };
    let recipe = recipe.with(Fault::RepeatedFrames { share: 0.02 }, None, &[3]);
    let seen = audit(session(&recipe)?.path(), &NONE)?;
    seen.exits(1).has(&["recoverable: 3", "Data: ", "2.93 once recovered"]);
    seen.lacks(&["exclude: "]);
    Ok(())
}

/// The machine's forms hold the same plan.
#[test]
fn the_plan_is_in_json_and_markdown() -> Tested {
    let dir = session(&recipes::load("nursery.json")?)?;
    let json = crate::support::binary::scorecard(&[dir.path()])?;
    let causes = json["session"]["plan"]["causes"].as_array().ok_or("no causes")?;
    let first = &causes[0];
    assert!(causes.len() >= 10, "{causes:?}");
    assert!(first["lost_s"].as_f64() >= causes[1]["lost_s"].as_f64());
    assert!(first["remedy"].is_string() && first["episodes"][0]["episode"].is_string());
    let after = json["session"]["plan"]["usable_after_s"].as_f64();
    assert!(after > json["session"]["usable_s"].as_f64(), "{after:?}");
    let args = ["audit".as_ref(), dir.path().as_os_str(), "--format".as_ref(), "markdown".as_ref()];
    let output = run(&args)?;
    let text = String::from_utf8(output.stdout)?;
    assert!(text.contains("### What to fix, most minutes lost first"), "{text}");
    assert!(text.contains("Fix: record in a thread of its own"), "{text}");
    Ok(())
}
