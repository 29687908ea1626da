//! The answer key against the scorecard: what was planted is named, where it is, and nothing else
//! fails.

use serde_json::Value;

use crate::support::binary::{Tested, run, scorecard};
use crate::support::card::list;

/// Half-open stretches of frames.
fn stretches(spans: &[Value]) -> Vec<(u64, u64)> {
    let end = |span: &Value, end: usize| span[end].as_u64().unwrap_or(u64::MAX);
    spans.iter().map(|span| (end(span, 0), end(span, 1))).collect()
}

fn overlap(one: &[(u64, u64)], other: &[(u64, u64)]) -> bool {
    one.iter().any(|x| other.iter().any(|y| x.0 < y.1 && y.0 < x.1))
}

fn holds(answers: &Value, card: &Value, what: &str) {
    let (answers, episodes) = (list(answers, "episodes"), list(card, "episodes"));
    assert!(!answers.is_empty() && answers.len() == episodes.len(), "{what}: {}", episodes.len());
    for (answer, episode) in answers.iter().zip(episodes) {
        let what = format!("{what}, episode {}", episode["episode"]);
        assert_eq!(answer["episode"], episode["episode"], "{what}");
        let findings = list(episode, "findings");
        let planted = list(answer, "planted");
        for plant in planted {
            let named = findings
                .iter()
                .filter(|f| f["check"] == plant["check"] && f["joint"] == plant["joint"])
                .collect::<Vec<_>>();
            assert!(!named.is_empty(), "{what}: not named: {plant}\n{findings:#?}");
            let shown: Vec<_> = named
                .iter()
                .flat_map(|f| list(f, "spans").iter().map(|span| span["frames"].clone()))
                .collect();
            let (shown, where_) = (stretches(&shown), stretches(list(plant, "frames")));
            assert!(shown.is_empty() || overlap(&shown, &where_), "{what}: elsewhere: {plant}");
        }
        for finding in findings {
            let expected = planted.iter().any(|plant| {
                plant["check"] == finding["check"]
                    || list(plant, "may_also").contains(&finding["check"])
            });
            assert!(expected, "{what}: not planted: {finding}");
        }
        assert!(!planted.is_empty() || episode["verdict"] == "pass", "{what}");
    }
}

#[test]
fn every_planted_fault_is_named_and_nothing_else() -> Tested {
    for rate in ["30", "50", "100"] {
        for seed in ["1", "2", "3", "4", "5"] {
            let dir = tempfile::tempdir()?;
            let place = dir.path().to_string_lossy().into_owned();
            let output = run(&["demo", &place, "--seed", seed, "--rate", rate])?;
            assert_eq!(output.status.code(), Some(0));
            let answers = std::fs::read_to_string(dir.path().join("answers.json"))?;
            let answers: Value = serde_json::from_str(&answers)?;
            let planted = list(&answers, "episodes").iter().map(|e| list(e, "planted").len());
            assert_eq!(planted.sum::<usize>(), 10);
            holds(&answers, &scorecard(&[&place])?, &format!("seed {seed}, {rate} Hz"));
        }
    }
    Ok(())
}
