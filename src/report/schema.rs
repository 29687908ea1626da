//! How a JSON Schema (draft 2020-12) is derived from the shape of a document.

use std::borrow::Cow;

use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value};

use crate::compare::Aspect;

/// The order in which a person reads a schema.
pub(super) const KEYS: [&str; 9] = [
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

/// The schema of what is written.
pub(super) fn of<T: JsonSchema>() -> Map<String, Value> {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let settings = settings.with_transform(RecursiveTransform(without_format));
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    // A document within another has no place of its own: references are to the whole.
    for part in schema.get_mut("$defs").and_then(Value::as_object_mut).into_iter().flatten() {
        part.1.as_object_mut().and_then(|part| part.remove("$id"));
    }
    let ordered = KEYS.iter().filter_map(|key| Some(((*key).to_owned(), schema.remove(*key)?)));
    ordered.collect()
}

/// A schema as text, two spaces to a level, ending in a line break.
pub(super) fn print(schema: Map<String, Value>) -> String {
    format!("{:#}\n", Value::from(schema))
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
        let symbols = ["s", "rad", "rad/s", "m", "m/s", "ratio", "count", "Hz", "frames"];
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
