//! JSON and JSON Lines.

use std::io::{self, Write};

use serde::Serialize;

use super::shape::{Document, EpisodeShape, Head};
use super::view::View;
use crate::model::Scorecard;

/// The JSON Schema of the document, which is derived from it.
pub fn schema() -> String {
    super::schema::of::<Document>()
}

/// The machine-readable document; with `only`, its list of episodes holds that one alone.
pub fn document(view: &View<'_>, only: Option<&Scorecard>) -> Document {
    match only {
        Some(card) => Document::with(view, std::iter::once(card)),
        None => Document::of(view),
    }
}

/// Writes the document, two spaces to a level, ending in a line break.
///
/// # Errors
/// If the output cannot be written.
pub fn json(document: &Document, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, document)?;
    writeln!(out)
}

/// Writes one episode a line, and the rest of the document as the last line. Episodes are turned
/// into their shape one by one, so that the whole document is never in memory.
///
/// # Errors
/// If the output cannot be written.
pub fn jsonl(view: &View<'_>, only: Option<&Scorecard>, out: &mut dyn Write) -> io::Result<()> {
    match only {
        Some(card) => line(&EpisodeShape::of(view, card), out)?,
        None => {
            for card in &view.outcome.cards {
                line(&EpisodeShape::of(view, card), out)?;
            }
        }
    }
    line(&Head::of(view), out)
}

fn line(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer(&mut *out, value)?;
    writeln!(out)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::Value;

    use super::super::schema::KEYS;
    use super::*;
    use crate::catalogue;

    #[test]
    fn every_unit_that_a_check_measures_in_is_in_the_schema() {
        let schema: Value = serde_json::from_str(&schema()).unwrap_or_default();
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
        let schema: Value = serde_json::from_str(&schema()).unwrap_or_default();
        let finding = &schema["$defs"]["finding"];
        let required = finding["required"].as_array().cloned().unwrap_or_default();
        assert!(required.contains(&"joint".into()) && !required.contains(&"known".into()));
        assert_eq!(finding["properties"]["known"]["type"], "boolean");
        assert_eq!(finding["properties"]["joint"]["type"], serde_json::json!(["string", "null"]));
        let defs = schema["$defs"].as_object().cloned().unwrap_or_default();
        let objects = || defs.values().filter(|def| def["type"] == "object");
        assert!(objects().count() > 15);
        assert!(
            objects()
                .all(|def| def["additionalProperties"] == false && !def["description"].is_null())
        );
        let keys: Vec<String> =
            schema.as_object().into_iter().flat_map(|o| o.keys().cloned()).collect();
        assert_eq!(keys, KEYS);
    }
}
