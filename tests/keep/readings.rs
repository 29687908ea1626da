//! What is kept reads as it did.

use std::collections::BTreeMap;

use serde_json::Value;
use teleassay::catalogue::of_sessions;
use teleassay::demo::{Layout, Recipe};

use super::Session;
use crate::support::binary::Tested;

/// Readings of each episode that no other episode has a part in.
fn own(report: &Value) -> BTreeMap<(String, String), String> {
    let shared: Vec<&str> = of_sessions().map(|check| check.spec().id).collect();
    let mut found = BTreeMap::new();
    for episode in report["episodes"].as_array().into_iter().flatten() {
        let readings = episode["readings"].as_array().into_iter().flatten();
        for reading in readings.filter(|r| !shared.iter().any(|check| r["check"] == *check)) {
            let name = format!("{} {} {}", reading["check"], reading["metric"], reading["joint"]);
            let id = episode["episode"].as_str().unwrap_or_default().to_owned();
            found.insert((id, name), reading["value"].to_string());
        }
    }
    found
}

#[test]
fn kept_episodes_have_the_same_readings_and_the_rest_is_named() -> Tested {
    for layout in Layout::ALL {
        let session = Session::new(&Recipe::nursery().of_episodes(24), layout)?;
        let before = session.audit(&session.source())?;
        let document = session.keep("copy", &[])?;
        let after = session.audit(&session.path("copy"))?;
        let (old, new) = (own(&before), own(&after));
        let ids = |key: &str| -> Vec<String> {
            let all = document[key].as_array().into_iter().flatten();
            all.filter_map(|one| one["episode"].as_str().map(str::to_owned)).collect()
        };
        let (kept, left_out) = (ids("kept"), ids("left_out"));
        assert_eq!((kept.len(), kept.len() + left_out.len()), (16, 24), "{layout:?}");
        let wanted: BTreeMap<_, _> =
            old.into_iter().filter(|((id, _), _)| kept.contains(id)).collect();
        assert!(wanted.len() > 1000);
        let differ: Vec<_> =
            wanted.iter().filter(|(key, value)| new.get(*key) != Some(*value)).take(5).collect();
        assert!(differ.is_empty() && wanted.len() == new.len(), "{layout:?}: {differ:?}");
        // Those that fail, and no others.
        for episode in before["episodes"].as_array().into_iter().flatten() {
            let id = episode["episode"].as_str().unwrap_or_default().to_owned();
            assert_eq!(episode["verdict"] == "fail", left_out.contains(&id), "{layout:?} {id}");
        }
    }
    Ok(())
}
