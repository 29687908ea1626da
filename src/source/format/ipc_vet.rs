//! Arrow IPC messages, held against the file before a batch is read.
//!
//! arrow-ipc 60.1 reserves what a compressed buffer says that it unpacks to, what a block of the
//! footer says that it takes, and the length of the footer itself.
//!
//! Reference: Apache Arrow columnar format 1.5, "Serialization and Interprocess Communication".

use arrow::ipc::{
    Block, CompressionType, Message, MessageHeader, RecordBatch, root_as_footer, root_as_message,
};
use bytes::Bytes;
use parquet::file::reader::{ChunkReader as _, Length as _};

use crate::parquet_io::guard::guarded;
use crate::parquet_io::positioned::Positioned;
use crate::parquet_io::sizes;
use crate::source::read_error::ReadError;

/// What stands in front of a message of a stream, and in front of the length of older ones not.
const CONTINUATION: [u8; 4] = [0xff; 4];
/// The length of the footer and the mark at the end of a file.
const TAIL: u64 = 10;
/// In front of each compressed buffer stands what it unpacks to.
const PREFIX: u64 = 8;

/// Holds every batch of a file against its bytes. What is no Arrow at all is left to the library.
pub(in crate::source) fn file(input: &Positioned) -> Result<(), ReadError> {
    let Some(start) = input.len().checked_sub(TAIL) else { return Ok(()) };
    let tail = bytes(input, start, TAIL)?;
    let Some(length) = tail.first_chunk().map(|length| i32::from_le_bytes(*length)) else {
        return Ok(());
    };
    let length = u64::try_from(length).ok().filter(|length| *length <= start);
    let length = length.ok_or_else(|| damaged("its footer is longer than the file"))?;
    let footer = aligned(&bytes(input, start - length, length)?);
    let blocks: Vec<Block> = guarded(|| {
        let footer = root_as_footer(&footer).ok();
        let lists = footer.map(|footer| [footer.dictionaries(), footer.recordBatches()]);
        lists.into_iter().flatten().flatten().flatten().copied().collect()
    })?;
    for (number, block) in blocks.iter().enumerate() {
        let place = [block.offset(), i64::from(block.metaDataLength()), block.bodyLength()];
        let [at, head, body] = place.map(|place| u64::try_from(place).unwrap_or(u64::MAX));
        let within = at.checked_add(head).and_then(|start| start.checked_add(body));
        if within.is_none_or(|end| end > input.len()) || head < PREFIX {
            return Err(damaged(&format!("block {number} lies outside of the file")));
        }
        let stored = bytes(input, at, head)?;
        let skipped = if stored.starts_with(&CONTINUATION) { 8 } else { 4 };
        message(input, &aligned(&stored[skipped..]), at + head, body)?;
    }
    Ok(())
}

/// Holds every batch of a stream against its bytes, up to where it ends.
pub(in crate::source) fn stream(input: &Positioned) -> Result<(), ReadError> {
    let mut at = 0;
    while at + 4 <= input.len() {
        let mut length = bytes(input, at, 4)?;
        at += 4;
        if length.starts_with(&CONTINUATION) {
            if at + 4 > input.len() {
                break;
            }
            length = bytes(input, at, 4)?;
            at += 4;
        }
        let length = length.first_chunk().map_or(0, |length| i32::from_le_bytes(*length));
        let Ok(length) = u64::try_from(length) else { break };
        if length == 0 || at + length > input.len() {
            break;
        }
        let stored = aligned(&bytes(input, at, length)?);
        at += length;
        let left = input.len() - at;
        let body = guarded(|| root_as_message(&stored).ok().map(|m| m.bodyLength()))?;
        let Some(body) = body.and_then(|body| u64::try_from(body).ok()) else { break };
        if body > left {
            break;
        }
        message(input, &stored, at, body)?;
        at += body;
    }
    Ok(())
}

/// Holds one message against its body, which is within the file.
fn message(input: &Positioned, stored: &[u8], body: u64, length: u64) -> Result<(), ReadError> {
    // The library reads on behind the length that a block states, and may find a message there.
    let message = root_as_message(stored).map_err(|_| damaged("a message cannot be read"))?;
    guarded(|| batch_of(&message).map_or(Ok(()), |batch| batch_fits(input, &batch, body, length)))?
}

fn batch_of<'a>(message: &Message<'a>) -> Option<RecordBatch<'a>> {
    match message.header_type() {
        MessageHeader::RecordBatch => message.header_as_record_batch(),
        MessageHeader::DictionaryBatch => message.header_as_dictionary_batch()?.data(),
        _ => None,
    }
}

fn batch_fits(
    input: &Positioned,
    batch: &RecordBatch<'_>,
    body: u64,
    length: u64,
) -> Result<(), ReadError> {
    let ratio = batch.compression().map(|packing| match packing.codec() {
        CompressionType::LZ4_FRAME => 256,
        _ => 1 << 16,
    });
    let lengths = batch.nodes().into_iter().flatten().map(arrow::ipc::FieldNode::length);
    for rows in lengths.chain([batch.length()]) {
        if !u64::try_from(rows).is_ok_and(|rows| sizes::holds(input.len(), rows)) {
            let bytes = input.len();
            return Err(damaged(&format!("it states {rows} rows in {bytes} bytes")));
        }
    }
    let (mut packed, mut unpacked) = (0, 0);
    for buffer in batch.buffers().into_iter().flatten() {
        let place = [buffer.offset(), buffer.length()];
        let [at, size] = place.map(|place| u64::try_from(place).unwrap_or(u64::MAX));
        if at.checked_add(size).is_none_or(|end| end > length) {
            return Err(damaged("a buffer lies outside of its batch"));
        }
        let Some(ratio) = ratio.filter(|_| size >= PREFIX) else { continue };
        let stated = bytes(input, body + at, PREFIX)?;
        let stated = stated.first_chunk().map_or(0, |stated| i64::from_le_bytes(*stated));
        // -1 says that the buffer is not compressed; less is refused by the library.
        let stated = u64::try_from(stated).unwrap_or(0);
        (packed, unpacked) = (packed + size, stated.saturating_add(unpacked));
        if !sizes::unpacks(size, ratio, stated) || !sizes::unpacks(packed, ratio, unpacked) {
            return Err(damaged(&format!(
                "a buffer states that its {size} bytes unpack to {stated}"
            )));
        }
    }
    Ok(())
}

/// A copy at an address of its own: flatbuffers takes numbers at odd addresses for damage, and what is
/// taken for damage here is left to the library, which reads it from a better place.
fn aligned(stored: &[u8]) -> Vec<u8> {
    stored.to_vec()
}

fn bytes(input: &Positioned, at: u64, length: u64) -> Result<Bytes, ReadError> {
    let read = input.get_bytes(at, length as usize);
    read.map_err(|e| ReadError::Read(std::io::Error::other(e)))
}

fn damaged(what: &str) -> ReadError {
    ReadError::Damaged(format!("the Arrow messages cannot be believed ({what})"))
}
