//! Documents held against a JSON Schema by a validator that is not ours.

use std::error::Error;
use std::io::Write;
use std::process::{Command, Stdio};

use serde_json::{Value, json};

use crate::support::python::python;

/// The Python package jsonschema (draft 2020-12), which looks at the schema itself first.
const VALIDATOR: &str = r#"
import json, sys
from jsonschema import Draft202012Validator as Draft
given = json.load(sys.stdin)
Draft.check_schema(given["schema"])
assert given["schema"]["$schema"] == Draft.META_SCHEMA["$id"]
found = Draft(given["schema"]).iter_errors(given["document"])
print(json.dumps([f"{error.json_path}: {error.message}" for error in found]))
"#;

/// Everything in which a document departs from a schema.
pub fn faults(schema: &Value, document: &Value) -> Result<Vec<String>, Box<dyn Error>> {
    let mut child = Command::new(python()?)
        .args(["-c", VALIDATOR])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let given = json!({ "schema": schema, "document": document }).to_string();
    child.stdin.take().ok_or("no way in")?.write_all(given.as_bytes())?;
    let output = child.wait_with_output()?;
    if !output.status.success() {
        return Err("the schema is none, or the validator is not there".into());
    }
    Ok(serde_json::from_slice(&output.stdout)?)
}
