//! MCAP message logs: one file is one episode.
//!
//! A topic's fields become columns: `/leader/joint_states` gives `leader.joint_states.position`, a
//! number for each joint. Topics are asynchronous. The frames are the messages of the topic whose
//! name says that it is the follower's; of every other topic a frame has the last message at or
//! before it, as a recorder at that moment would have had. How old those were is noted.
//!
//! Reference: MCAP format specification, version 0 (records, chunks, schema encodings).

use arrow::record_batch::RecordBatch;
use mcap::McapError;
use std::collections::HashMap;

use crate::source::format::mcap_bounded::Messages;
use crate::source::format::mcap_messages::Decoder;
use crate::source::format::mcap_topic::{Topic, batch};
use crate::source::format::memory_table::MemoryTable;
use crate::source::format::packed;
use crate::source::format::table::Format;
use crate::source::read_error::ReadError;

/// Message logs.
pub(super) static FORMAT: Format = Format {
    endings: &["mcap"],
    alone: false,
    head: b"\x89MCAP0\r\n",
    tail: b"",
    refused: &[],
    open: |opening| MemoryTable::open(&FORMAT, &opening, || read(&packed::stored(&opening)?)),
};

fn read(bytes: &[u8]) -> Result<RecordBatch, ReadError> {
    let mut topics: Vec<(Decoder, Topic)> = Vec::new();
    let mut places: HashMap<u16, usize> = HashMap::new();
    for message in Messages::of(bytes) {
        let message = message.map_err(|e| damaged(&e))?;
        let channel = &message.channel;
        let place = if let Some(place) = places.get(&channel.id) {
            *place
        } else {
            // Channels of one topic are one topic: several drivers may publish on it.
            let known = topics.iter().position(|(_, topic)| topic.name == channel.topic);
            let place = known.unwrap_or(topics.len());
            if known.is_none() {
                topics.push((Decoder::of(channel)?, Topic::new(&channel.topic)));
            }
            places.insert(channel.id, place);
            place
        };
        let (decoder, topic) = &mut topics[place];
        let odd = |what: String| {
            let number = message.sequence;
            ReadError::Columns(format!("topic \"{}\", message {number}: {what}", channel.topic))
        };
        if let Some(fields) = decoder.decode(&message.data).map_err(odd)? {
            topic.add(message.log_time as i64, fields).map_err(odd)?;
        }
    }
    let unread = topics.iter().filter_map(|(decoder, topic)| {
        decoder.not_read().map(|what| (topic.column(""), what.to_owned()))
    });
    let unread: Vec<(String, String)> = unread.collect();
    let topics: Vec<Topic> = topics.into_iter().map(|(_, topic)| topic).collect();
    batch(&topics, &unread)
}

fn damaged(error: &McapError) -> ReadError {
    match error {
        McapError::UnexpectedEof | McapError::UnexpectedEoc => {
            ReadError::Damaged("the message log ends in the middle of a record".to_owned())
        }
        other => ReadError::decoding("the message log", other),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::io::Cursor;

    use arrow::array::AsArray as _;
    use arrow::datatypes::{Float64Type, TimestampNanosecondType};
    use mcap::records::MessageHeader;

    use super::*;
    use crate::source::roles::shape::{ALIGNED, NOT_READ};

    type Tested = Result<(), Box<dyn std::error::Error>>;

    /// A log of JSON messages: topic, log time, text.
    fn log(messages: &[(&str, u64, &str)]) -> Result<Vec<u8>, McapError> {
        let mut out = Cursor::new(Vec::new());
        let mut writer = mcap::Writer::new(&mut out)?;
        for (topic, log_time, text) in messages {
            let schema = writer.add_schema("Joints", "jsonschema", b"{}")?;
            let encoding = if *topic == "/camera" { "jpeg" } else { "json" };
            let channel_id = writer.add_channel(schema, topic, encoding, &BTreeMap::new())?;
            let header =
                MessageHeader { channel_id, sequence: 7, log_time: *log_time, publish_time: 0 };
            writer.write_to_known_channel(&header, text.as_bytes())?;
        }
        writer.finish()?;
        drop(writer);
        Ok(out.into_inner())
    }

    fn said(result: Result<RecordBatch, ReadError>) -> String {
        result.err().map(|error| error.to_string()).unwrap_or_default()
    }

    /// Frames at 10, 20 and 30 ms; the leader's messages at 4, 18 and 25 ms in another order of joints.
    #[test]
    fn topics_are_held_to_the_frames_of_the_follower() -> Tested {
        let state = |value: f64| {
            format!(r#"{{"name":["waist","elbow"],"position":[{value},{}]}}"#, value + 0.5)
        };
        let leader = |value: f64| {
            format!(r#"{{"name":["elbow","waist"],"position":[{},{value}]}}"#, value + 0.5)
        };
        let ms = 1_000_000;
        let (s, l) =
            ([state(1.0), state(2.0), state(3.0)], [leader(1.1), leader(2.1), leader(3.1)]);
        let batch = read(&log(&[
            ("/leader/joints", 4 * ms, &l[0]),
            ("/follower/joints", 10 * ms, &s[0]),
            ("/leader/joints", 18 * ms, &l[1]),
            ("/follower/joints", 20 * ms, &s[1]),
            ("/leader/joints", 25 * ms, &l[2]),
            ("/camera", 26 * ms, "..."),
            ("/follower/joints", 30 * ms, &s[2]),
        ])?)?;
        let stamps = batch["stamp"].as_primitive::<TimestampNanosecondType>().values().to_vec();
        assert_eq!(stamps, [10_000_000, 20_000_000, 30_000_000]);
        let joint = |column: &str, name: &str| {
            let joint = batch[column].as_struct().column_by_name(name).cloned();
            joint.map(|values| values.as_primitive::<Float64Type>().values().to_vec())
        };
        assert_eq!(joint("follower.joints.position", "elbow"), Some(vec![1.5, 2.5, 3.5]));
        assert_eq!(joint("leader.joints.position", "waist"), Some(vec![1.1, 2.1, 3.1]));
        let schema = batch.schema();
        let noted = |name: &str, key: &str| {
            schema.field_with_name(name).ok().and_then(|f| f.metadata().get(key)).cloned()
        };
        // Ages 6, 2 and 5 ms.
        let wanted = "last message at or before each frame (by log time), age 5.0 ms in the median and 6.0 ms at most";
        assert_eq!(noted("leader.joints.position", ALIGNED).as_deref(), Some(wanted));
        assert_eq!(noted("camera", NOT_READ).as_deref(), Some("messages in jpeg"));
        Ok(())
    }

    #[test]
    fn damage_is_named() -> Tested {
        let whole =
            log(&[("/arm", 1, r#"{"position":[1.0]}"#), ("/arm", 2, r#"{"position":[1.0]}"#)])?;
        assert!(read(&whole).is_ok());
        let cut = said(read(&whole[..whole.len() / 3]));
        assert!(cut.contains("message log") && cut.contains("cut short"), "{cut}");
        let text = said(read(&log(&[("/arm", 1, r#"{"position":"#)])?));
        assert!(text.starts_with("topic \"/arm\", message 7: is no JSON object"), "{text}");
        let ragged = log(&[("/arm", 1, r#"{"q":[1.0]}"#), ("/arm", 2, r#"{"q":[1.0,2.0]}"#)])?;
        let text = said(read(&ragged));
        assert_eq!(text, "topic \"/arm\", message 7: \"q\" holds 2 values, and 1 before");
        assert_eq!(said(read(&log(&[])?)), "holds no rows");
        Ok(())
    }
}
