//! What a pipeline allows and a person accepts: shares, minutes, severities, reasons and days.

use std::error::Error;
use std::path::Path;

use serde_json::Value;

use crate::support::binary::{Tested, run, said};

/// The demo without its profile, and one with these lines.
fn audited(profile: &str, args: &[&str]) -> Result<(i32, Value, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session");
    let place = place.to_str().ok_or("no text")?;
    assert_eq!(run(&["demo", place])?.status.code(), Some(0));
    let file = Path::new(place).join("teleassay.toml");
    let text = std::fs::read_to_string(&file)?;
    std::fs::write(&file, format!("{text}\n{profile}"))?;
    let all = [&["audit", place, "--format", "json"][..], args].concat();
    let output = run(&all)?;
    let said = said(&output);
    let card = serde_json::from_slice(&output.stdout).unwrap_or(Value::Null);
    Ok((output.status.code().unwrap_or(-1), card, said))
}

fn with<'v>(list: &'v Value, check: &str) -> Vec<&'v Value> {
    list.as_array().into_iter().flatten().filter(|one| one["check"] == check).collect()
}

fn of_episodes<'v>(card: &'v Value, list: &str, check: &str) -> Vec<&'v Value> {
    let episodes = card["episodes"].as_array().into_iter().flatten();
    episodes.flat_map(|episode| with(&episode[list], check)).collect()
}

#[test]
fn a_ruling_sets_how_bad_whatever_a_check_finds_is() -> Tested {
    let (_, plain, _) = audited("", &[])?;
    let found = of_episodes(&plain, "findings", "dropped-frames");
    assert!(found.iter().any(|finding| finding["severity"] == "fail"), "{found:?}");
    let (_, card, _) =
        audited("[severity]\ndropped-frames = \"warn\"\ntracking-error = \"fail\"\n", &[])?;
    let ruled = of_episodes(&card, "findings", "dropped-frames");
    assert_eq!(ruled.len(), found.len());
    assert!(ruled.iter().all(|finding| finding["severity"] == "warn"));
    // An advisory check, too: the person has ruled.
    let error = of_episodes(&card, "findings", "tracking-error");
    assert!(!error.is_empty() && error.iter().all(|finding| finding["severity"] == "fail"));
    let before = of_episodes(&plain, "findings", "tracking-error");
    assert!(before.iter().all(|finding| finding["severity"] == "warn"));
    let (code, _, text) = audited("[severity]\nidle-time = \"off\"\n", &[])?;
    assert_eq!(code, 2);
    assert!(text.contains("neither \"warn\" nor \"fail\"") && text.contains("skip ="), "{text}");
    Ok(())
}

#[test]
fn accepted_findings_are_kept_and_count_no_more() -> Tested {
    let (_, plain, _) = audited("", &[])?;
    let found = of_episodes(&plain, "findings", "dropped-frames").len();
    assert!(found > 0);
    let accept = "[[accept]]\ncheck = \"dropped-frames\"\nreason = \"long cable\"\n";
    let (_, card, text) = audited(accept, &[])?;
    assert_eq!(of_episodes(&card, "findings", "dropped-frames").len(), 0);
    let kept = of_episodes(&card, "suppressed", "dropped-frames");
    let kept: Vec<_> = kept.iter().filter(|one| one["why"] == "accepted").collect();
    assert_eq!(kept.len(), found);
    let session = &card["session"];
    assert_eq!(session["accepted"][0]["findings"], found);
    assert_eq!(session["accepted"][0]["reason"], "long cable");
    assert!(session["counts"]["fail"].as_u64() < plain["session"]["counts"]["fail"].as_u64());
    assert!(session["usable_s"].as_f64() > plain["session"]["usable_s"].as_f64());
    assert!(!text.contains("warning"), "{text}");
    Ok(())
}

#[test]
fn what_accepts_nothing_or_is_past_is_said() -> Tested {
    let (_, plain, _) = audited("", &[])?;
    let past = "[[accept]]\ncheck = \"dropped-frames\"\nreason = \"a\"\nuntil = \"2020-02-29\"\n";
    let none = "[[accept]]\ncheck = \"dropped-frames\"\nepisodes = [\"none*\"]\nreason = \"b\"\n";
    let (_, card, text) = audited(&format!("{past}{none}"), &[])?;
    assert_eq!(card["session"]["counts"], plain["session"]["counts"]);
    assert!(text.contains("accepted until 2020-02-29, which is past: dropped frames"), "{text}");
    assert!(text.contains("nothing to accept: dropped frames in none*"), "{text}");
    assert_eq!(card["session"]["accepted"][0]["past"], true);
    for (wrong, words) in [
        ("check = \"dropped-frames\"\nreason = \" \"\n", "for a reason"),
        ("check = \"dropped-frames\"\nreason = \"a\"\nuntil = \"soon\"\n", "2026-12-31"),
        ("check = \"droped-frames\"\nreason = \"a\"\n", "did you mean \"dropped-frames\"?"),
        ("check = \"dropped-frames\"\n", "reason"),
    ] {
        let (code, _, text) = audited(&format!("[[accept]]\n{wrong}"), &[])?;
        assert_eq!(code, 2, "{wrong}");
        assert!(text.contains(words) && text.contains("teleassay.toml"), "{wrong}: {text}");
    }
    Ok(())
}

#[test]
fn a_share_of_bad_episodes_and_the_usable_minutes_shut_the_gate() -> Tested {
    // Nothing of the session as a whole: single episodes only.
    let single = &["--only", "dropped-frames"];
    let (code, card, _) = audited("", single)?;
    let bad = card["session"]["counts"]["fail"].as_f64().ok_or("no count")?;
    let all = card["session"]["episodes"].as_f64().ok_or("no count")?;
    assert!(
        code == 1
            && bad >= 1.0
            && card["session"]["findings"].as_array().is_some_and(Vec::is_empty)
    );
    let share = bad / all;
    let held = |share: f64| -> Result<(i32, String), Box<dyn Error>> {
        let (code, _, text) =
            audited("", &[single, &["--max-bad-share", &share.to_string()][..]].concat())?;
        Ok((code, text))
    };
    assert_eq!(held(share * 1.01)?.0, 0);
    let (code, text) = held(share * 0.99)?;
    assert_eq!(code, 1);
    assert!(text.contains(&format!("gate: {bad} of {all} episodes fail")), "{text}");
    let minutes = card["session"]["usable_s"].as_f64().ok_or("no seconds")? / 60.0;
    let wants = |minutes: f64| -> Result<(i32, String), Box<dyn Error>> {
        let minutes = minutes.to_string();
        let args = ["--fail-on", "never", "--min-usable-minutes", &minutes];
        let (code, _, text) = audited("", &[&single[..], &args].concat())?;
        Ok((code, text))
    };
    assert_eq!(wants(minutes * 0.99)?.0, 0);
    let (code, text) = wants(minutes * 1.01)?;
    assert!(code == 1 && text.contains("min can be trained on as they are"), "{text}");
    Ok(())
}

/// A fault of the rig is one of all episodes, and no share allows it.
#[test]
fn no_share_allows_a_fault_of_the_session() -> Tested {
    let (code, card, _) = audited(
        "[limits.tracking-lag]\nlag = { warn = 0.001, fail = 0.002 }\n",
        &["--only", "tracking-lag", "--max-bad-share", "1"],
    )?;
    let findings = card["session"]["findings"].as_array().ok_or("no list")?;
    assert!(findings.iter().any(|finding| finding["severity"] == "fail"), "{findings:?}");
    assert_eq!(code, 1);
    Ok(())
}
