//! The JSON Schemas of the documents (draft 2020-12), derived from their shapes.

use std::borrow::Cow;

use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::compare::shape as comparison;
use super::shape;
use crate::compare::Aspect;

/// The schema of the scorecard.
pub fn schema() -> String {
    of::<shape::Document>()
}

/// The schema of a comparison.
pub fn comparison_schema() -> String {
    of::<comparison::Document>()
}

/// The order in which a person reads a schema.
const KEYS: [&str; 9] = [
    "$schema",
    "$id",
    "title",
    "description",
    "type",
    "properties",
    "required",
    "additionalProperties",
    "$defs",
];

/// The schema of what is written, two spaces to a level, ending in a line break.
fn of<T: JsonSchema>() -> String {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let settings = settings.with_transform(RecursiveTransform(without_format));
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    let ordered = KEYS.iter().filter_map(|key| Some(((*key).to_owned(), schema.remove(*key)?)));
    let ordered: serde_json::Map<_, _> = ordered.collect();
    format!("{:#}\n", serde_json::Value::from(ordered))
}

/// Takes away what says how Rust holds a number, and what a reader of old documents assumes.
fn without_format(schema: &mut Schema) {
    schema.remove("format");
    schema.remove("default");
}

/// The unit of a value, by its symbol.
pub(super) struct UnitSymbol;

impl JsonSchema for UnitSymbol {
    fn schema_name() -> Cow<'static, str> {
        "unit".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let symbols = ["s", "rad", "rad/s", "m", "m/s", "ratio", "count", "Hz", "sigma", "frames"];
        json_schema!({ "enum": symbols, "description": "SI unit of the value" })
    }
}

/// What two sessions are compared by, by its id.
pub(super) struct AspectId;

impl JsonSchema for AspectId {
    fn schema_name() -> Cow<'static, str> {
        "aspect_id".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "enum": Aspect::ALL.map(Aspect::id) })
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::Value;

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
