//! `JUnit` reports, held against the schema of Jenkins and read by a stock parser.

use std::error::Error;
use std::process::Command;

use serde_json::Value;
use teleassay::model::Severity;
use teleassay::report;

use super::outcome::{Stage, faulty, healthy, not_assessable};
use crate::support::binary::{Tested, run, said};
use crate::support::python::python;

/// Validates with libxml2 by way of lxml, parses with Python's own reader, and gives back what a
/// build server would see.
const READER: &str = r#"
import json, sys
import xml.etree.ElementTree as stock
from lxml import etree
schema = etree.XMLSchema(etree.parse(sys.argv[1]))
schema.assertValid(etree.parse(sys.argv[2]))
root = stock.parse(sys.argv[2]).getroot()
def case(c):
    return {"name": c.get("name"), "classname": c.get("classname"), "time": c.get("time"),
            "parts": [{"tag": p.tag, "type": p.get("type"), "message": p.get("message"),
                       "text": p.text} for p in c]}
suites = [{**s.attrib, "cases": [case(c) for c in s.iter("testcase")]} for s in root]
print(json.dumps({**root.attrib, "suites": suites}))
"#;

fn read(xml: &[u8]) -> Result<Value, Box<dyn Error>> {
    let file = tempfile::NamedTempFile::new()?;
    std::fs::write(file.path(), xml)?;
    let schema = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/junit/junit-10.xsd");
    let output = Command::new(python()?).args(["-c", READER, schema]).arg(file.path()).output()?;
    if !output.status.success() {
        let xml = String::from_utf8_lossy(xml).into_owned();
        return Err(format!("{}\n{xml}", String::from_utf8_lossy(&output.stderr)).into());
    }
    Ok(serde_json::from_slice(&output.stdout)?)
}

fn written(stage: &Stage, from: Option<Severity>) -> Result<Value, Box<dyn Error>> {
    let mut out = Vec::new();
    report::junit(&stage.view(), from, &mut out)?;
    read(&out)
}

fn number(value: &Value) -> Option<u64> {
    value.as_str()?.parse().ok()
}

/// Cases of a suite that hold a part of this kind.
fn holding(suite: &Value, tag: &str) -> u64 {
    let cases = suite["cases"].as_array().into_iter().flatten();
    let holds = |case: &&Value| {
        case["parts"].as_array().into_iter().flatten().any(|part| part["tag"] == tag)
    };
    cases.filter(holds).count() as u64
}

#[test]
fn reports_are_valid_and_their_sums_add_up() -> Tested {
    for stage in [healthy(), faulty(), not_assessable()] {
        for from in [None, Some(Severity::Warn), Some(Severity::Fail)] {
            let root = written(&stage, from)?;
            let mut sums = [0; 3];
            for suite in root["suites"].as_array().ok_or("no suites")? {
                let cases = suite["cases"].as_array().map_or(0, Vec::len) as u64;
                let counted = [cases, holding(suite, "failure"), holding(suite, "error")];
                let claimed = ["tests", "failures", "errors"].map(|key| number(&suite[key]));
                assert_eq!(claimed, counted.map(Some), "{suite}");
                sums.iter_mut().zip(counted).for_each(|(sum, n)| *sum += n);
            }
            let claimed = ["tests", "failures", "errors"].map(|key| number(&root[key]));
            assert_eq!(claimed, sums.map(Some));
        }
    }
    Ok(())
}

/// The program itself, which sees the file as a build server's administrator would. Where
/// `TELEASSAY_ALL_TOOLS` is set it must be there.
#[test]
fn xmllint_finds_reports_valid_and_a_spoilt_one_not() -> Tested {
    let schema = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/junit/junit-10.xsd");
    let dir = tempfile::tempdir()?;
    let file = dir.path().join("junit.xml");
    let valid = |xml: &[u8]| -> Result<Option<bool>, Box<dyn Error>> {
        std::fs::write(&file, xml)?;
        let mut xmllint = Command::new("xmllint");
        match xmllint.args(["--noout", "--nonet", "--schema", schema]).arg(&file).output() {
            Ok(output) => Ok(Some(output.status.success())),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                assert!(std::env::var_os("TELEASSAY_ALL_TOOLS").is_none(), "xmllint is not there");
                Ok(None)
            }
            Err(e) => Err(e.into()),
        }
    };
    for stage in [healthy(), faulty(), not_assessable()] {
        let mut xml = Vec::new();
        report::junit(&stage.view(), Some(Severity::Warn), &mut xml)?;
        assert_ne!(valid(&xml)?, Some(false));
        let spoilt = String::from_utf8(xml)?.replacen("<testcase ", "<testcase nowhere=\"1\" ", 1);
        assert_ne!(valid(spoilt.as_bytes())?, Some(true));
    }
    Ok(())
}

#[test]
fn each_episode_is_a_case_and_the_gate_says_what_fails() -> Tested {
    let stage = faulty();
    let failures = |from| -> Result<_, Box<dyn Error>> {
        let root = written(&stage, from)?;
        let suites = root["suites"].as_array().ok_or("no suites")?.clone();
        let [session, episodes] = suites.as_slice() else { return Err("not two suites".into()) };
        assert_eq!((&session["name"], &episodes["name"]), (&"session".into(), &"episodes".into()));
        assert_eq!(number(&episodes["tests"]), Some(24));
        assert_eq!(number(&session["errors"]), Some(stage.outcome.unread.len() as u64));
        Ok((number(&session["failures"]), number(&episodes["failures"]), episodes.clone()))
    };
    let (whole, single, episodes) = failures(Some(Severity::Fail))?;
    assert_eq!((whole, single), (Some(0), Some(2)));
    let case = &episodes["cases"][7];
    assert_eq!((&case["name"], &case["time"]), (&"7".into(), &"13.966".into()));
    let (failure, rest) = (&case["parts"][0], &case["parts"][1]);
    assert_eq!((&failure["tag"], &failure["type"]), (&"failure".into(), &"tracking-lag".into()));
    let message = failure["message"].as_str().ok_or("no message")?;
    assert!(message.contains("wrist_pitch") && message.contains("611 ms"), "{message}");
    assert!(failure["text"].as_str().is_some_and(|text| text.contains("To do: ")), "{failure}");
    assert_eq!(rest["tag"], "system-out");
    assert_eq!(failures(Some(Severity::Warn))?.0, Some(1));
    // Every one of the first twenty, and 21.
    assert_eq!(failures(Some(Severity::Warn))?.1, Some(21));
    let (whole, single, _) = failures(None)?;
    assert_eq!((whole, single), (Some(0), Some(0)));
    Ok(())
}

#[test]
fn hostile_names_stay_text() -> Tested {
    let mut stage = faulty();
    let hostile =
        "]]><!--</testcase>&amp;\"'\u{0}\u{1b}[2J\u{8}\u{fffe}\u{ffff}\r\n\t\u{1f331} end";
    stage.rig.joints[3].name = format!("wrist {hostile}");
    for card in &mut stage.outcome.cards {
        card.key.id = format!("{hostile}{}", card.key.id);
    }
    stage.outcome.unread[0].path = format!("nursery/{hostile}").into();
    stage.outcome.unread[0].reason = hostile.to_owned();
    let root = written(&stage, Some(Severity::Fail))?;
    let case = &root["suites"][1]["cases"][7];
    let name = "]]><!--</testcase>&amp;\"'[2J   \u{1f331} end";
    assert_eq!(case["name"], format!("{name}7"));
    let text = case["parts"][0]["text"].as_str().ok_or("no text")?;
    assert!(text.contains("wrist ]]><!--</testcase>&amp;\"'[2J"), "{text}");
    let missing = &root["suites"][0]["cases"][1];
    assert_eq!(missing["name"], format!("nursery/{name}"));
    assert_eq!(missing["parts"][0]["tag"], "error");
    Ok(())
}

#[test]
fn the_binary_writes_it_next_to_its_output() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = |name: &str| dir.path().join(name).to_string_lossy().into_owned();
    let (session, file) = (path("session"), path("junit.xml"));
    let output = run(&["demo", &session])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let output = run(&["audit", &session, "--quiet", "--out-junit", &file])?;
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    let one = std::fs::read(&file)?;
    let root = read(&one)?;
    assert_eq!(number(&root["suites"][0]["tests"]), Some(24), "{root}");
    assert!(number(&root["failures"]) > Some(0));
    let again = ["audit", &session, "--quiet", "--out-junit", &file, "--threads", "1"];
    assert_eq!(run(&again)?.status.code(), Some(1));
    assert_eq!(std::fs::read(&file)?, one, "the same bytes at any number of threads");
    Ok(())
}
