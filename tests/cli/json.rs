//! The machine-readable scorecard against its own schema, and against what was put in.

use std::error::Error;

use serde_json::Value;
use teleassay::report::{self, schema, shape};

use super::outcome::{Stage, faulty, healthy, not_assessable, rig_to_fix};
use super::schema::faults;
use super::snapshot;

type Tested = Result<(), Box<dyn Error>>;

fn json(stage: &Stage) -> Result<String, Box<dyn Error>> {
    let mut out = Vec::new();
    report::json(&report::document(&stage.view(), None), &mut out)?;
    Ok(String::from_utf8(out)?)
}

#[test]
fn documents_keep_to_the_schema() -> Tested {
    let schema: Value = serde_json::from_str(&schema())?;
    for stage in [healthy(), faulty(), rig_to_fix(), not_assessable()] {
        let document: Value = serde_json::from_str(&json(&stage)?)?;
        assert_eq!(faults(&schema, &document)?, Vec::<String>::new());
    }
    Ok(())
}

#[test]
fn the_checker_of_schemas_sees_what_is_wrong() -> Tested {
    let schema: Value = serde_json::from_str(&schema())?;
    let whole: Value = serde_json::from_str(&json(&faulty())?)?;
    let spoilt: [fn(&mut Value); 5] = [
        |v| v["schema"] = "teleassay/scorecard/2".into(),
        |v| v["session"]["verdict"] = "splendid".into(),
        |v| v["episodes"][0]["frames"] = (-1).into(),
        |v| v["episodes"][3]["findings"][0]["spans"][0]["frames"] = Value::Array(vec![]),
        |v| v["rig"]["colour"] = "green".into(),
    ];
    for spoil in spoilt {
        let mut document = whole.clone();
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
    snapshot("scorecard-json", &json(&stage)?);
    Ok(())
}

#[test]
fn the_same_outcome_gives_the_same_bytes_and_reads_back() -> Tested {
    let text = json(&faulty())?;
    assert_eq!(text, json(&faulty())?);
    let document: shape::Document = serde_json::from_str(&text)?;
    assert_eq!(document, report::document(&faulty().view(), None));
    Ok(())
}

#[test]
fn json_lines_hold_the_same_records_session_last() -> Tested {
    let stage = faulty();
    let document: Value = serde_json::from_str(&json(&stage)?)?;
    let mut out = Vec::new();
    report::jsonl(&stage.view(), None, &mut out)?;
    let text = String::from_utf8(out)?;
    let lines = text.lines().map(serde_json::from_str).collect::<Result<Vec<Value>, _>>()?;
    let (last, episodes) = lines.split_last().ok_or("no lines")?;
    assert_eq!(document["episodes"].as_array().map(Vec::as_slice), Some(episodes));
    assert_eq!(document["session"], last["session"]);
    assert!(last.get("episodes").is_none());
    Ok(())
}

#[test]
fn a_session_finding_carries_its_interval_and_what_was_left_out_is_reported() -> Tested {
    let document: Value = serde_json::from_str(&json(&faulty())?)?;
    let finding = &document["session"]["findings"][0];
    assert_eq!(finding["interval"], serde_json::json!([0.0681, 0.0785]));
    assert_eq!(finding["confidence"], 0.9586);
    assert_eq!(finding["stretch"], serde_json::json!(["0", "19"]));
    // 20 of 24 by Clopper and Pearson: 0.6262 to 0.9526 (scipy 1.x, binomtest).
    let share = finding["share"].as_array().ok_or("no share")?;
    for (end, expected) in share.iter().zip([0.6262, 0.9526]) {
        assert!((end.as_f64().unwrap_or(0.0) - expected).abs() < 1e-4, "{share:?}");
    }
    assert_eq!(document["session"]["suppressed"], 1);
    let suppressed = serde_json::json!([{"check": "neutral-offset", "joint": "wrist_pitch"}]);
    assert_eq!(document["episodes"][7]["suppressed"], suppressed);
    assert_eq!(document["episodes"][0]["suppressed"], serde_json::json!([]));
    Ok(())
}

#[test]
fn numbers_that_are_not_finite_never_come_out() -> Tested {
    let mut stage = faulty();
    stage.outcome.session.duration_s = f64::NAN;
    stage.outcome.cards[0].duration_s = f64::INFINITY;
    stage.outcome.cards[3].span_times_s[0][0] = [f64::NAN, 1.0];
    stage.rig.rate_hz = Some(f64::NAN);
    let schema: Value = serde_json::from_str(&schema())?;
    let document: Value = serde_json::from_str(&json(&stage)?)?;
    assert_eq!(faults(&schema, &document)?, Vec::<String>::new());
    Ok(())
}
