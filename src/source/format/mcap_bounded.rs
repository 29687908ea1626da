//! Messages of a log, read with bounds on what a record may reserve.
//!
//! mcap 0.26 has such a bound for its reader of records, and none for its stream of messages: there a
//! record of a few bytes reserves the length that it states.

use std::borrow::Cow;

use mcap::read::{ChannelAccumulator, parse_record};
use mcap::records::{Record, op};
use mcap::sans_io::{LinearReadEvent, LinearReader, LinearReaderOptions};
use mcap::{McapError, McapResult, Message};

use crate::source::format::packed;

/// Messages in the order of the log.
pub(super) struct Messages<'a> {
    left: &'a [u8],
    reader: LinearReader,
    channels: ChannelAccumulator<'static>,
    /// Bytes of records that may still come.
    most: u64,
    /// The summary repeats what was there.
    summary: bool,
    done: bool,
}

impl<'a> Messages<'a> {
    /// Those of all bytes of a file.
    pub fn of(bytes: &'a [u8]) -> Self {
        let most = packed::most(bytes.len() as u64);
        let options = LinearReaderOptions::default().with_record_length_limit(most as usize);
        let reader = LinearReader::new_with_options(options);
        let channels = ChannelAccumulator::default();
        Self { left: bytes, reader, channels, most, summary: false, done: false }
    }

    fn step(&mut self) -> McapResult<Option<Message<'static>>> {
        while let Some(event) = self.reader.next_event() {
            match event? {
                LinearReadEvent::ReadRequest(need) => {
                    let (read, left) = self.left.split_at(need.min(self.left.len()));
                    self.reader.insert(read.len()).copy_from_slice(read);
                    self.reader.notify_read(read.len());
                    self.left = left;
                }
                LinearReadEvent::Record { data, opcode } => {
                    let length = data.len() as u64;
                    let left = self.most.checked_sub(length);
                    self.most = left.ok_or(McapError::ChunkTooLarge(length))?;
                    if opcode == op::DATA_END {
                        self.summary = true;
                    }
                    if self.summary {
                        continue;
                    }
                    if !texts_fit(opcode, data) {
                        return Err(McapError::UnexpectedEof);
                    }
                    if !matches!(opcode, op::SCHEMA | op::CHANNEL | op::MESSAGE) {
                        continue;
                    }
                    match parse_record(opcode, data)? {
                        Record::Schema { header, data } => {
                            self.channels.add_schema(header, Cow::Owned(data.into_owned()))?;
                        }
                        Record::Channel(channel) => self.channels.add_channel(channel)?,
                        Record::Message { header, data } => {
                            let (sequence, id) = (header.sequence, header.channel_id);
                            let channel = self.channels.get(id);
                            return Ok(Some(Message {
                                channel: channel.ok_or(McapError::UnknownChannel(sequence, id))?,
                                sequence,
                                log_time: header.log_time,
                                publish_time: header.publish_time,
                                data: Cow::Owned(data.into_owned()),
                            }));
                        }
                        _ => {}
                    }
                }
            }
        }
        Ok(None)
    }
}

/// Whether the texts of a record are within it; the parser of mcap 0.26 reserves what they state.
///
/// Reference: MCAP format specification, version 0, "Schema" and "Channel".
fn texts_fit(opcode: u8, record: &[u8]) -> bool {
    let (fixed, texts) = match opcode {
        op::SCHEMA => (2, 3),
        op::CHANNEL => (4, 2),
        op::MESSAGE => (0, 0),
        // Others are not parsed.
        _ => return true,
    };
    let text = |record: &mut &[u8]| {
        let (length, rest) = record.split_first_chunk()?;
        let (text, rest) = rest.split_at_checked(u32::from_le_bytes(*length) as usize)?;
        *record = rest;
        Some(text.len())
    };
    let Some(mut left) = record.get(fixed..) else { return false };
    if (0..texts).any(|_| text(&mut left).is_none()) {
        return false;
    }
    if opcode != op::CHANNEL {
        return true;
    }
    // Pairs of texts, with the length of all in front.
    let Some((length, pairs)) = left.split_first_chunk() else { return false };
    let Some(mut pairs) = pairs.get(..u32::from_le_bytes(*length) as usize) else { return false };
    while !pairs.is_empty() {
        if text(&mut pairs).is_none() {
            return false;
        }
    }
    true
}

impl Iterator for Messages<'_> {
    type Item = McapResult<Message<'static>>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.done {
            return None;
        }
        let next = self.step().transpose();
        self.done = !matches!(next, Some(Ok(_)));
        next
    }
}
