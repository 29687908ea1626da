//! A small checker of the JSON Schema keywords (draft 2020-12) that the scorecard's schema uses.
//! It refuses a keyword that it does not know, so the schema cannot outgrow it unseen.

use serde_json::Value;

/// Everything in which a value departs from a schema.
pub fn faults(root: &Value, schema: &Value, value: &Value, at: &str) -> Vec<String> {
    let mut out = Vec::new();
    let Some(keywords) = schema.as_object() else { return vec![format!("{at}: no schema")] };
    for (keyword, rule) in keywords {
        match keyword.as_str() {
            "$schema" | "$id" | "$defs" | "title" | "description" => {}
            "$ref" => {
                let name = rule.as_str().unwrap_or("").trim_start_matches("#/$defs/");
                out.extend(faults(root, &root["$defs"][name], value, at));
            }
            "type" => {
                let kinds = rule.as_array().cloned().unwrap_or_else(|| vec![rule.clone()]);
                if !kinds.iter().filter_map(Value::as_str).any(|kind| is(kind, value)) {
                    out.push(format!("{at}: {value} is not {rule}"));
                }
            }
            "const" if rule == value => {}
            "enum" if rule.as_array().is_some_and(|all| all.contains(value)) => {}
            "const" | "enum" => out.push(format!("{at}: {value} is not {rule}")),
            "minimum" => {
                if value.as_f64().zip(rule.as_f64()).is_some_and(|(v, least)| v < least) {
                    out.push(format!("{at}: {value} is below {rule}"));
                }
            }
            "minItems" | "maxItems" => {
                // As the standard has it: what is no array has no number of items.
                let Some(items) = value.as_array() else { continue };
                let (n, bound) = (items.len() as u64, rule.as_u64());
                let good = if keyword == "minItems" { Some(n) >= bound } else { Some(n) <= bound };
                if !good {
                    out.push(format!("{at}: {n} items"));
                }
            }
            "items" => {
                for (n, item) in value.as_array().into_iter().flatten().enumerate() {
                    out.extend(faults(root, rule, item, &format!("{at}[{n}]")));
                }
            }
            "required" => {
                for name in rule.as_array().into_iter().flatten().filter_map(Value::as_str) {
                    if value.get(name).is_none() {
                        out.push(format!("{at}: no {name}"));
                    }
                }
            }
            "properties" => {
                for (name, inner) in value.as_object().into_iter().flatten() {
                    match rule.get(name) {
                        Some(rule) => {
                            out.extend(faults(root, rule, inner, &format!("{at}.{name}")));
                        }
                        None => out.push(format!("{at}: {name} is not in the schema")),
                    }
                }
            }
            // The checker always behaves as if it were false; the schema must say so too.
            "additionalProperties" => assert_eq!(rule, &Value::Bool(false)),
            other => out.push(format!("the checker does not know {other}")),
        }
    }
    out
}

fn is(kind: &str, value: &Value) -> bool {
    match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        _ => false,
    }
}
