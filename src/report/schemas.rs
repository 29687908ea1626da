//! The JSON Schemas of reports, of their lines, and of lists: derived from what is written.

use serde_json::{Map, Value, json};

use super::json::{EPISODE_LINE, SESSION_LINE};
use super::lists::ListDocument;
use super::schema::{of, print};
use super::shape::{Document, EpisodeFindings, EpisodeShape, EpisodeSummary, JsonDetail};

/// The JSON Schema of a report.
pub fn schema(detail: JsonDetail) -> String {
    print(report(detail))
}

/// The JSON Schema of each line of JSON Lines.
pub fn lines_schema(detail: JsonDetail) -> String {
    let mut report = report(detail);
    let mut defs = taken(&mut report, "$defs");
    let mut of_episode = taken(&mut defs, "episode");
    let mut properties = taken(&mut report, "properties");
    properties.remove("episodes");
    let description = "What concerns all episodes.";
    defs.insert("report".to_owned(), object(description, &properties));

    let known = taken(&mut of_episode, "properties");
    let null = |what: &str| json!({"type": "null", "description": what});
    let (mut episode, mut session) = (Map::new(), Map::new());
    episode.insert("kind".to_owned(), json!({"const": EPISODE_LINE}));
    session.insert("kind".to_owned(), json!({"const": SESSION_LINE}));
    session.extend(known.keys().map(|key| (key.clone(), null("Of an episode alone"))));
    episode.extend(known);
    episode.insert("report".to_owned(), null("In the line of the session"));
    session.insert("report".to_owned(), json!({"$ref": "#/$defs/report"}));
    defs.insert("episode_line".to_owned(), object("One episode.", &episode));
    defs.insert("session_line".to_owned(), object("The last line: the session.", &session));
    let word = detail.word();
    let head = json!({
        "$schema": report["$schema"],
        "$id": format!("urn:teleassay:lines:1:{word}"),
        "title": format!("a line of a teleassay report, version 1, {word}"),
        "description": "One line for each episode, in the order of the dataset, and the session \
                        last. Values are SI (rad, m, s). Spans of frames and ranges of rows are \
                        half open: the first, and the first after the last.",
        "oneOf": [{"$ref": "#/$defs/episode_line"}, {"$ref": "#/$defs/session_line"}],
    });
    let mut schema = head.as_object().cloned().unwrap_or_default();
    schema.insert("$defs".to_owned(), defs.into());
    print(schema)
}

/// The JSON Schema of a keep or drop list.
pub fn list_schema() -> String {
    print(of::<ListDocument>())
}

fn report(detail: JsonDetail) -> Map<String, Value> {
    let mut schema = match detail {
        JsonDetail::Summary => of::<Document<Vec<EpisodeSummary>>>(),
        JsonDetail::Findings => of::<Document<Vec<EpisodeFindings>>>(),
        JsonDetail::Full => of::<Document<Vec<EpisodeShape>>>(),
    };
    let word = detail.word();
    for (key, more) in [("title", format!(", {word}")), ("$id", format!(":{word}"))] {
        // What has everything keeps the id that it always had.
        let more = if key == "$id" && detail == JsonDetail::Full { "" } else { more.as_str() };
        if let Some(Value::String(text)) = schema.get_mut(key) {
            text.push_str(more);
        }
    }
    if let Some(held) = schema.get_mut("properties").and_then(|known| known.get_mut("detail")) {
        *held = json!({"description": "How much of each episode it holds", "const": word});
    }
    if let Some(Value::Object(defs)) = schema.get_mut("$defs") {
        defs.remove("detail");
    }
    schema
}

/// An object in which all of these fields must be.
fn object(description: &str, properties: &Map<String, Value>) -> Value {
    // Only what a baseline or an option adds may be missing.
    let optional = ["normalisation"];
    let keys = properties.keys().filter(|key| !optional.contains(&key.as_str()));
    let required: Vec<&String> = keys.collect();
    json!({
        "description": description,
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

/// Takes an object out of a schema.
fn taken(schema: &mut Map<String, Value>, key: &str) -> Map<String, Value> {
    match schema.remove(key) {
        Some(Value::Object(object)) => object,
        _ => Map::new(),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::super::schema::KEYS;
    use super::super::shape::EpisodeRow;
    use super::*;
    use crate::catalogue;

    fn parsed(text: &str) -> Value {
        serde_json::from_str(text).unwrap_or_default()
    }

    #[test]
    fn every_unit_that_a_check_measures_in_is_in_the_schema() {
        let schema = parsed(&schema(JsonDetail::Findings));
        let listed = schema["$defs"]["unit"]["enum"].as_array().cloned().unwrap_or_default();
        let listed: BTreeSet<&str> = listed.iter().filter_map(Value::as_str).collect();
        let metrics = catalogue::specs().flat_map(|check| check.metrics);
        let mut used: BTreeSet<&str> = metrics.map(|metric| metric.unit.symbol()).collect();
        // A linear joint has metres where others have radians.
        used.extend(["m", "m/s"]);
        assert_eq!(listed, used);
    }

    /// What is always written is required, what may be absent is not, and nothing else is allowed.
    #[test]
    fn the_schema_says_what_is_always_there() {
        for detail in JsonDetail::ALL {
            let schema = parsed(&schema(detail));
            assert_eq!(schema["properties"]["detail"]["const"], detail.word());
            let defs = schema["$defs"].as_object().cloned().unwrap_or_default();
            let objects = || defs.values().filter(|def| def["type"] == "object");
            assert!(objects().count() > 15);
            assert!(objects().all(|def| {
                def["additionalProperties"] == false && !def["description"].is_null()
            }));
            let keys: Vec<String> =
                schema.as_object().into_iter().flat_map(|o| o.keys().cloned()).collect();
            assert_eq!(keys, KEYS);
        }
        let schema = parsed(&schema(JsonDetail::Full));
        let finding = &schema["$defs"]["finding"];
        let required = finding["required"].as_array().cloned().unwrap_or_default();
        assert!(required.contains(&"joint".into()) && !required.contains(&"known".into()));
        assert_eq!(finding["properties"]["known"]["type"], "boolean");
        assert_eq!(finding["properties"]["joint"]["type"], json!(["string", "null"]));
    }

    #[test]
    fn each_schema_has_an_id_of_its_own_and_says_that_spans_are_half_open() {
        let all = JsonDetail::ALL.map(|detail| [schema(detail), lines_schema(detail)]);
        let all: Vec<Value> = all.as_flattened().iter().map(|text| parsed(text)).collect();
        let ids: BTreeSet<&str> = all.iter().filter_map(|schema| schema["$id"].as_str()).collect();
        assert_eq!(ids.len(), 6);
        assert!(ids.contains("urn:teleassay:scorecard:1"));
        for schema in all {
            let text = schema["description"].as_str().unwrap_or_default();
            assert!(text.contains("half open"), "{text}");
        }
    }

    /// The fields that the line of a session has empty are those that an episode has.
    #[test]
    fn the_fields_of_an_episode_are_known() {
        let of = |detail, keys: &[&str]| {
            let schema = parsed(&lines_schema(detail));
            let known = schema["$defs"]["episode_line"]["properties"].as_object().cloned();
            let known: Vec<String> = known.unwrap_or_default().keys().cloned().collect();
            assert_eq!(known[1..known.len() - 1], *keys);
        };
        of(JsonDetail::Summary, EpisodeSummary::KEYS);
        of(JsonDetail::Findings, EpisodeFindings::KEYS);
        of(JsonDetail::Full, EpisodeShape::KEYS);
    }
}
