//! The machine-readable report against its own schema, and against what was put in.

use std::error::Error;

use serde_json::{Value, json};
use teleassay::report::{self, JsonDetail, lines_schema, schema, shape};

use super::outcome::{Stage, faulty, healthy, not_assessable, rig_to_fix};
use super::schema::faults;
use super::snapshot;
use crate::support::card::list;

type Tested = Result<(), Box<dyn Error>>;

fn json_of(stage: &Stage, detail: JsonDetail) -> Result<String, Box<dyn Error>> {
    let mut out = Vec::new();
    report::json(&stage.view(), None, detail, &mut out)?;
    Ok(String::from_utf8(out)?)
}

fn whole(stage: &Stage) -> Result<String, Box<dyn Error>> {
    json_of(stage, JsonDetail::Full)
}

fn lines_of(stage: &Stage, detail: JsonDetail) -> Result<Vec<Value>, Box<dyn Error>> {
    let mut out = Vec::new();
    report::jsonl(&stage.view(), None, detail, &mut out)?;
    let text = String::from_utf8(out)?;
    Ok(text.lines().map(serde_json::from_str).collect::<Result<_, _>>()?)
}

#[test]
fn documents_keep_to_their_schemas() -> Tested {
    for detail in JsonDetail::ALL {
        let schema: Value = serde_json::from_str(&schema(detail))?;
        let lines: Value = serde_json::from_str(&lines_schema(detail))?;
        for stage in [healthy(), faulty(), rig_to_fix(), not_assessable()] {
            let document: Value = serde_json::from_str(&json_of(&stage, detail)?)?;
            assert_eq!(faults(&schema, &document)?, Vec::<String>::new(), "{detail:?}");
            // One look at all lines: each start of the validator takes its time.
            let all = json!({"type": "array", "items": {"$ref": "#/$defs/line"}});
            let mut all = all.as_object().cloned().unwrap_or_default();
            let mut line = lines.as_object().cloned().unwrap_or_default();
            let mut defs = line.remove("$defs").ok_or("no definitions")?;
            all.insert("$schema".to_owned(), line.remove("$schema").ok_or("no schema")?);
            line.remove("$id");
            defs["line"] = line.into();
            all.insert("$defs".to_owned(), defs);
            let found = faults(&all.into(), &lines_of(&stage, detail)?.into())?;
            assert_eq!(found, Vec::<String>::new(), "{detail:?}");
        }
    }
    Ok(())
}

/// What is said of an episode is the same in every detail that says it.
#[test]
fn details_differ_in_what_they_leave_out_alone() -> Tested {
    let stage = faulty();
    let of = |detail| -> Result<Value, Box<dyn Error>> {
        Ok(serde_json::from_str(&json_of(&stage, detail)?)?)
    };
    let (summary, findings, full) =
        (of(JsonDetail::Summary)?, of(JsonDetail::Findings)?, of(JsonDetail::Full)?);
    for (short, word) in [(&summary, "summary"), (&findings, "findings")] {
        assert_eq!(short["detail"], word);
        assert_eq!(short["session"], full["session"]);
    }
    for (number, whole) in list(&full, "episodes").iter().enumerate() {
        let (short, some) = (&summary["episodes"][number], &findings["episodes"][number]);
        for key in ["episode", "source", "task", "frames", "duration_s", "verdict", "usable"] {
            assert_eq!((&short[key], &some[key]), (&whole[key], &whole[key]), "{key}");
        }
        for key in ["findings", "suppressed"] {
            assert_eq!(some[key], whole[key]);
        }
        assert!(some.get("readings").is_none() && short.get("findings").is_none());
        let severe = |severity: &str| -> Vec<&Value> {
            let all = list(whole, "findings").iter().filter(|f| f["severity"] == severity);
            all.map(|f| &f["check"]).collect()
        };
        assert_eq!(list(short, "failed").iter().collect::<Vec<_>>(), severe("fail"));
        assert!(list(short, "warned").iter().all(|check| severe("warn").contains(&check)));
    }
    // An episode is a line, so that a difference is one.
    let text = json_of(&stage, JsonDetail::Findings)?;
    assert_eq!(text.lines().filter(|line| line.starts_with("    {\"episode\":")).count(), 24);
    Ok(())
}

#[test]
fn the_checker_of_schemas_sees_what_is_wrong() -> Tested {
    let schema: Value = serde_json::from_str(&schema(JsonDetail::Full))?;
    let right: Value = serde_json::from_str(&whole(&faulty())?)?;
    let spoilt: [fn(&mut Value); 5] = [
        |v| v["schema"] = "teleassay/scorecard/2".into(),
        |v| v["session"]["verdict"] = "splendid".into(),
        |v| v["episodes"][0]["frames"] = (-1).into(),
        |v| v["episodes"][3]["findings"][0]["spans"][0]["frames"] = Value::Array(vec![]),
        |v| v["rig"]["colour"] = "green".into(),
    ];
    for spoil in spoilt {
        let mut document = right.clone();
        spoil(&mut document);
        assert_eq!(faults(&schema, &document)?.len(), 1);
    }
    Ok(())
}

#[test]
fn the_shape_is_frozen() -> Tested {
    let mut stage = faulty();
    // Two episodes show every part; the rest only lengthen the file.
    stage.outcome.cards = vec![stage.outcome.cards[3].clone(), stage.outcome.cards[5].clone()];
    // Of the two no stretch of episodes can be named.
    stage.outcome.session.findings[0].stretch = None;
    snapshot("scorecard-json", &whole(&stage)?);
    Ok(())
}

#[test]
fn the_same_outcome_gives_the_same_bytes_and_reads_back() -> Tested {
    let text = whole(&faulty())?;
    assert_eq!(text, whole(&faulty())?);
    let document: shape::Document = serde_json::from_str(&text)?;
    assert_eq!(document, report::document(&faulty().view(), None));
    Ok(())
}

#[test]
fn json_lines_hold_the_same_records_and_the_session_last() -> Tested {
    let stage = faulty();
    for detail in JsonDetail::ALL {
        let document: Value = serde_json::from_str(&json_of(&stage, detail)?)?;
        let lines = lines_of(&stage, detail)?;
        let (last, episodes) = lines.split_last().ok_or("no lines")?;
        for (line, episode) in episodes.iter().zip(list(&document, "episodes")) {
            let mut line = line.as_object().cloned().ok_or("no object")?;
            assert_eq!(line.remove("kind"), Some("episode".into()));
            assert_eq!(line.remove("report"), Some(Value::Null));
            assert_eq!(Value::from(line), *episode);
        }
        assert_eq!((episodes.len(), &last["kind"]), (24, &"session".into()));
        assert_eq!(document["session"], last["report"]["session"]);
        // All lines have the same fields, so that they are one table.
        let keys = |line: &Value| line.as_object().map(|o| o.keys().cloned().collect::<Vec<_>>());
        assert!(episodes.iter().all(|line| keys(line) == keys(last)));
        let filled = last.as_object().into_iter().flatten().filter(|(_, value)| !value.is_null());
        assert_eq!(filled.map(|(key, _)| key.as_str()).collect::<Vec<_>>(), ["kind", "report"]);
    }
    Ok(())
}

#[test]
fn a_session_finding_carries_its_interval_and_what_was_left_out_is_reported() -> Tested {
    let document: Value = serde_json::from_str(&whole(&faulty())?)?;
    let finding = &document["session"]["findings"][0];
    assert_eq!(finding["interval"], json!([0.0681, 0.0785]));
    assert_eq!(finding["confidence"], 0.9586);
    assert_eq!(finding["stretch"], json!(["0", "19"]));
    // 20 of 24 by Clopper and Pearson: 0.6262 to 0.9526 (scipy 1.x, binomtest).
    let share = finding["share"].as_array().ok_or("no share")?;
    for (end, expected) in share.iter().zip([0.6262, 0.9526]) {
        assert!((end.as_f64().unwrap_or(0.0) - expected).abs() < 1e-4, "{share:?}");
    }
    assert_eq!(document["session"]["suppressed"], 1);
    let suppressed = json!([{
        "check": "neutral-offset",
        "metric": "offset",
        "joint": "wrist_pitch",
        "severity": "warn",
        "value": 0.04,
        "unit": "rad",
        "why": "follows",
        "by": "tracking-lag",
        "by_joint": "wrist_pitch",
    }]);
    assert_eq!(document["episodes"][7]["suppressed"], suppressed);
    assert_eq!(document["episodes"][0]["suppressed"], json!([]));
    Ok(())
}

#[test]
fn numbers_that_are_not_finite_never_come_out() -> Tested {
    let mut stage = faulty();
    stage.outcome.session.duration_s = f64::NAN;
    stage.outcome.cards[0].duration_s = f64::INFINITY;
    stage.outcome.cards[3].span_times_s[0][0] = [f64::NAN, 1.0];
    stage.rig.rate_hz = Some(f64::NAN);
    let schema: Value = serde_json::from_str(&schema(JsonDetail::Full))?;
    let document: Value = serde_json::from_str(&whole(&stage)?)?;
    assert_eq!(faults(&schema, &document)?, Vec::<String>::new());
    Ok(())
}
