//! Messages of a log as fields: CDR, JSON and Protobuf.

use byteorder::{BigEndian, LittleEndian};
use cdr_encoding::from_bytes;
use chrono::DateTime;
use mcap::Channel;
use prost_reflect::{DescriptorPool, DynamicMessage, MessageDescriptor, ReflectMessage as _};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Number, Value};

use crate::parquet_io::guard::guarded;
use crate::source::read_error::ReadError;

/// The fields of one message.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Fields {
    /// The stamp in it, in nanoseconds.
    pub stamp_ns: Option<i64>,
    pub fields: Vec<(String, Cell)>,
}

/// The value of a field.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    Number(f64),
    Text(String),
    /// Numbers by place.
    Vector(Vec<f64>),
    /// Numbers by the name of a joint.
    Named(Vec<(String, f64)>),
}

/// How the messages of a channel are decoded.
#[derive(Debug)]
pub(super) enum Decoder {
    /// `sensor_msgs/msg/JointState` in CDR.
    JointState,
    /// `std_msgs/msg/Float64MultiArray` in CDR.
    Array,
    Json,
    Protobuf(MessageDescriptor),
    /// Not decoded: what they are.
    None(String),
}

#[derive(Deserialize)]
struct Stamp {
    sec: i32,
    nanosec: u32,
}

#[derive(Deserialize)]
struct Header {
    stamp: Stamp,
    #[serde(rename = "frame_id")]
    _frame_id: String,
}

/// The definition of `sensor_msgs/msg/JointState`.
#[derive(Deserialize)]
struct JointState {
    header: Header,
    name: Vec<String>,
    position: Vec<f64>,
    velocity: Vec<f64>,
    effort: Vec<f64>,
}

#[derive(Deserialize)]
struct Dimension {
    #[serde(rename = "label")]
    _label: String,
    #[serde(rename = "size")]
    _size: u32,
    #[serde(rename = "stride")]
    _stride: u32,
}

/// The definition of `std_msgs/msg/Float64MultiArray`, its layout first.
#[derive(Deserialize)]
struct MultiArray {
    #[serde(rename = "dim")]
    _dim: Vec<Dimension>,
    #[serde(rename = "data_offset")]
    _data_offset: u32,
    data: Vec<f64>,
}

impl Decoder {
    /// By the encoding of a channel and its schema.
    pub fn of(channel: &Channel<'_>) -> Result<Self, ReadError> {
        let schema = channel.schema.as_deref();
        let name = schema.map_or("", |schema| schema.name.as_str());
        Ok(match (channel.message_encoding.as_str(), name) {
            ("cdr", "sensor_msgs/msg/JointState" | "sensor_msgs/JointState") => Self::JointState,
            ("cdr", "std_msgs/msg/Float64MultiArray" | "std_msgs/Float64MultiArray") => Self::Array,
            ("json", _) => Self::Json,
            ("protobuf", _) => {
                let data = schema.map(|schema| schema.data.as_ref()).unwrap_or_default();
                // prost-reflect 0.16 panics where it has no name for what is wrong.
                let pool = guarded(|| DescriptorPool::decode(data).ok())?;
                let found = pool.and_then(|pool| pool.get_message_by_name(name));
                let what = || {
                    let topic = &channel.topic;
                    format!("topic \"{topic}\": its schema does not describe \"{name}\"")
                };
                Self::Protobuf(found.ok_or_else(|| ReadError::Damaged(what()))?)
            }
            (encoding, "") => Self::None(format!("messages in {encoding}")),
            ("jpeg", _) => Self::None("messages in jpeg".to_owned()),
            (encoding, name) => Self::None(format!("{name} in {encoding}")),
        })
    }

    /// What the messages are, where they are not decoded.
    pub fn not_read(&self) -> Option<&str> {
        match self {
            Self::None(what) => Some(what),
            _ => None,
        }
    }

    /// The fields of a message; none where they are not decoded.
    pub fn decode(&self, data: &[u8]) -> Result<Option<Fields>, String> {
        match self {
            Self::JointState => joint_state(cdr(data)?).map(Some),
            Self::Array => {
                let message: MultiArray = cdr(data)?;
                let fields = vec![("data".to_owned(), Cell::Vector(message.data))];
                Ok(Some(Fields { stamp_ns: None, fields }))
            }
            Self::Json => {
                let object: Map<String, Value> =
                    serde_json::from_slice(data).map_err(|e| format!("is no JSON object ({e})"))?;
                Ok(Some(of_object(&object)))
            }
            Self::Protobuf(descriptor) => {
                let read = guarded(|| DynamicMessage::decode(descriptor.clone(), data));
                let read = read.map_err(|_| "does not follow its schema".to_owned())?;
                let message = read.map_err(|e| format!("does not follow its schema ({e})"))?;
                Ok(Some(of_object(&object(&message))))
            }
            Self::None(_) => Ok(None),
        }
    }
}

/// A message in CDR. Its first bytes name the order of the others: OMG DDS-RTPS 2.3, section 10.2.1.2.
fn cdr<T: DeserializeOwned>(data: &[u8]) -> Result<T, String> {
    let odd = |e: cdr_encoding::Error| format!("is no message of its type ({e})");
    match data {
        [0, 0, _, _, rest @ ..] => from_bytes::<T, BigEndian>(rest).map(|read| read.0).map_err(odd),
        [0, 1, _, _, rest @ ..] => {
            from_bytes::<T, LittleEndian>(rest).map(|read| read.0).map_err(odd)
        }
        _ => Err("does not begin as plain CDR does".to_owned()),
    }
}

fn joint_state(message: JointState) -> Result<Fields, String> {
    let Stamp { sec, nanosec } = message.header.stamp;
    let stamp_ns = i64::from(sec) * 1_000_000_000 + i64::from(nanosec);
    let mut fields = Vec::new();
    let parts = [
        ("position", message.position),
        ("velocity", message.velocity),
        ("effort", message.effort),
    ];
    for (field, values) in parts {
        // An empty list is a quantity that is not known (the comment of the message's definition).
        if values.is_empty() {
            continue;
        }
        if values.len() != message.name.len() {
            let (found, wanted) = (values.len(), message.name.len());
            return Err(format!("\"{field}\" holds {found} values for {wanted} joints"));
        }
        let named = message.name.iter().cloned().zip(values).collect();
        fields.push((field.to_owned(), Cell::Named(named)));
    }
    Ok(Fields { stamp_ns: (stamp_ns != 0).then_some(stamp_ns), fields })
}

/// A Protobuf message as an object.
fn object(message: &DynamicMessage) -> Map<String, Value> {
    let named = message.descriptor();
    let fields = named.fields().map(|field| {
        let value = message.get_field(&field);
        (field.name().to_owned(), value_of(&value))
    });
    fields.collect()
}

fn value_of(value: &prost_reflect::Value) -> Value {
    use prost_reflect::Value as Known;
    let number = |number: f64| Number::from_f64(number).map_or(Value::Null, Value::Number);
    match value {
        Known::Bool(value) => Value::Bool(*value),
        Known::I32(value) | Known::EnumNumber(value) => Value::from(*value),
        Known::I64(value) => Value::from(*value),
        Known::U32(value) => Value::from(*value),
        Known::U64(value) => Value::from(*value),
        Known::F32(value) => number(f64::from(*value)),
        Known::F64(value) => number(*value),
        Known::String(text) => Value::from(text.as_str()),
        Known::Message(message) => Value::Object(object(message)),
        Known::List(values) => Value::Array(values.iter().map(value_of).collect()),
        Known::Bytes(_) | Known::Map(_) => Value::Null,
    }
}

fn of_object(object: &Map<String, Value>) -> Fields {
    let stamped = object.get("header").and_then(Value::as_object).unwrap_or(object);
    let names = ["stamp", "timestamp", "time"];
    let stamp_ns = names.iter().find_map(|name| stamp_ns(stamped.get(*name)?));
    let mut fields = Vec::new();
    flatten("", object, &mut fields);
    Fields { stamp_ns, fields }
}

/// Fields within others are named by their path. Numbers of an object that names as many joints are
/// the joints'.
fn flatten(path: &str, object: &Map<String, Value>, fields: &mut Vec<(String, Cell)>) {
    let joints: Vec<&str> = ["name", "names"]
        .iter()
        .find_map(|key| object.get(*key)?.as_array())
        .map(|names| names.iter().filter_map(Value::as_str).collect())
        .unwrap_or_default();
    for (key, value) in object {
        let name = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
        match value {
            Value::Object(_) if key == "header" || stamp_ns(value).is_some() => {}
            Value::Object(inner) => flatten(&name, inner, fields),
            Value::Number(number) => {
                fields.push((name, Cell::Number(number.as_f64().unwrap_or(f64::NAN))));
            }
            Value::Bool(value) => fields.push((name, Cell::Number(f64::from(u8::from(*value))))),
            Value::String(text) => fields.push((name, Cell::Text(text.clone()))),
            Value::Array(items) => {
                let number = |item: &Value| match item {
                    Value::Null => Some(f64::NAN),
                    item => item.as_f64(),
                };
                let Some(values) = items.iter().map(number).collect::<Option<Vec<f64>>>() else {
                    continue;
                };
                if values.len() == joints.len() && !values.is_empty() {
                    let joints = joints.iter().map(|joint| (*joint).to_owned());
                    fields.push((name, Cell::Named(joints.zip(values).collect())));
                } else if !values.is_empty() {
                    fields.push((name, Cell::Vector(values)));
                }
            }
            Value::Null => {}
        }
    }
}

/// A stamp: seconds and nanoseconds, an ISO 8601 text, or a number whose size tells its unit.
fn stamp_ns(value: &Value) -> Option<i64> {
    const NS: i64 = 1_000_000_000;
    match value {
        Value::Object(parts) => {
            let part = |names: [&str; 3]| names.iter().find_map(|n| parts.get(*n)?.as_i64());
            let seconds = part(["sec", "secs", "seconds"])?;
            let rest = part(["nanosec", "nsec", "nanos"])?;
            seconds.checked_mul(NS)?.checked_add(rest)
        }
        Value::String(text) => DateTime::parse_from_rfc3339(text).ok()?.timestamp_nanos_opt(),
        Value::Number(number) => {
            // Seconds since 1970 have ten digits, and three more for each finer unit.
            let scale = match number.as_f64()?.abs() {
                size if size >= 1e17 => return number.as_i64(),
                size if size >= 1e14 => 1e3,
                size if size >= 1e11 => 1e6,
                _ => 1e9,
            };
            Some((number.as_f64()? * scale) as i64)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn stamps_of_every_form_are_read() {
        for (value, wanted) in [
            (json!({"sec": 3, "nanosec": 5}), Some(3_000_000_005)),
            (json!({"seconds": 3, "nanos": 5}), Some(3_000_000_005)),
            (json!("1970-01-01T00:00:03Z"), Some(3_000_000_000)),
            (json!(3.5), Some(3_500_000_000)),
            (json!(1_700_000_000_000_i64), Some(1_700_000_000_000_000_000)),
            (json!(1_700_000_000_000_000_000_i64), Some(1_700_000_000_000_000_000)),
            (json!("soon"), None),
        ] {
            assert_eq!(stamp_ns(&value), wanted, "{value}");
        }
    }

    #[test]
    fn numbers_go_by_the_names_next_to_them() {
        let message = json!({"header": {"stamp": {"sec": 1, "nanosec": 0}, "frame_id": "base"},
            "name": ["waist"], "position": [1.5], "effort": [], "mode": "held", "grip": {"width": 2}});
        let Value::Object(message) = message else { return };
        let fields = of_object(&message);
        assert_eq!(fields.stamp_ns, Some(1_000_000_000));
        let named = Cell::Named(vec![("waist".to_owned(), 1.5)]);
        let wanted = [
            ("position".to_owned(), named),
            ("mode".to_owned(), Cell::Text("held".to_owned())),
            ("grip.width".to_owned(), Cell::Number(2.0)),
        ];
        assert_eq!(fields.fields, wanted);
    }

    /// A message by hand: CDR aligns each number to its size (OMG CORBA 3.3, part 2, section 9.3).
    #[test]
    fn joint_states_in_cdr_are_read_and_lengths_are_not_believed() {
        let message = |joints: u32| {
            let mut data = vec![0, 1, 0, 0];
            // Stamp, then the empty text of the frame: its length counts the zero at its end.
            for word in [3_u32, 500, 1, 0, joints, 2, u32::from(b'w'), 1] {
                data.extend(word.to_le_bytes());
            }
            data.extend(1.5_f64.to_le_bytes());
            data.extend([0; 8]);
            data
        };
        let whole = message(1);
        let named = Cell::Named(vec![("w".to_owned(), 1.5)]);
        let fields = vec![("position".to_owned(), named)];
        let wanted = Fields { stamp_ns: Some(3_000_000_500), fields };
        assert_eq!(Decoder::JointState.decode(&whole), Ok(Some(wanted)));
        for odd in [&whole[..30], &message(u32::MAX), &[9, 9], &[0, 1, 0, 0]] {
            assert!(Decoder::JointState.decode(odd).is_err(), "{odd:?}");
        }
    }
}
