//! An Arrow IPC stream that grows: where its messages begin and end, without decoding them.
//!
//! A message is a continuation marker, the length of its metadata, the metadata, and a body whose
//! length the metadata has. A length of zero is the end mark (Arrow columnar format, "Encapsulated
//! message format" and "IPC streaming format").

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::ops::Range;

use arrow::ipc::{MessageHeader, root_as_message};

/// The first bytes of a message.
const CONTINUES: [u8; 4] = [0xff; 4];
/// Metadata that is longer is no metadata.
const LONGEST: u32 = 64 << 20;

/// A record batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Batch {
    /// Its bytes in the file.
    pub bytes: Range<u64>,
    /// Rows.
    pub rows: u64,
}

/// The whole messages of a stream.
#[derive(Debug, Default)]
pub(super) struct Messages {
    /// The schema and all dictionaries, which every part needs.
    pub heads: Vec<Range<u64>>,
    /// Record batches in order.
    pub batches: Vec<Batch>,
    /// Whether the end mark was seen.
    pub ended: bool,
}

/// Finds the whole messages. What is cut short ends the search, and so does what is no message.
pub(super) fn messages(file: &File) -> io::Result<Messages> {
    let length = file.metadata()?.len();
    let mut found = Messages::default();
    let mut reader = BufReader::with_capacity(4096, file);
    let mut at = reader.seek(SeekFrom::Start(0))?;
    while length - at >= 8 {
        let mut prefix = [0; 8];
        reader.read_exact(&mut prefix)?;
        let [marker @ .., a, b, c, d] = prefix;
        let metadata = u32::from_le_bytes([a, b, c, d]);
        if marker != CONTINUES || metadata > LONGEST {
            break;
        }
        if metadata == 0 {
            found.ended = true;
            break;
        }
        if length - at - 8 < u64::from(metadata) {
            break;
        }
        let mut bytes = vec![0; metadata as usize];
        reader.read_exact(&mut bytes)?;
        let Ok(message) = root_as_message(&bytes) else { break };
        let Ok(body) = u64::try_from(message.bodyLength()) else { break };
        let end = (at + 8 + u64::from(metadata)).saturating_add(body);
        if end > length {
            break;
        }
        if message.header_type() == MessageHeader::RecordBatch {
            let rows = message.header_as_record_batch().map_or(0, |batch| batch.length());
            found.batches.push(Batch { bytes: at..end, rows: u64::try_from(rows).unwrap_or(0) });
        } else {
            found.heads.push(at..end);
        }
        at = reader.seek(SeekFrom::Start(end))?;
    }
    Ok(found)
}
