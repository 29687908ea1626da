//! Looking things up on a scorecard's JSON.

use serde_json::Value;

/// The items of a list under a key; none if it is not there.
pub fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

/// A reading of an episode.
pub fn reading(card: &Value, check: &str, metric: &str, joint: Option<&str>) -> Option<f64> {
    let found = list(card, "readings").iter().find(|reading| {
        reading["check"] == check
            && reading["metric"] == metric
            && reading["joint"].as_str() == joint
    });
    found.and_then(|reading| reading["value"].as_f64())
}

/// A reading of the whole episode, which must be there.
pub fn value(card: &Value, check: &str, metric: &str) -> f64 {
    match reading(card, check, metric, None) {
        Some(value) => value,
        None => panic!("no reading {check} {metric} of episode {}", card["episode"]),
    }
}

/// The findings of a check on an episode.
pub fn findings<'a>(card: &'a Value, check: &str) -> Vec<&'a Value> {
    list(card, "findings").iter().filter(|finding| finding["check"] == check).collect()
}

/// Why a whole check could not be assessed on an episode.
pub fn not_assessed<'a>(card: &'a Value, check: &str) -> Option<&'a str> {
    let of_all = |gap: &&Value| gap["check"] == check && gap["joint"].is_null();
    list(card, "not_assessed").iter().find(of_all).and_then(|gap| gap["reason"].as_str())
}
