//! How the buffers of an Arrow IPC file are compressed. The library reads them without saying.

use std::fs::File;
use std::io::{BufReader, Read, Result as IoResult, Seek, SeekFrom};

use arrow::ipc::{CompressionType, MessageHeader, root_as_message};

/// Messages looked at before a batch is found: a schema and dictionaries.
const MOST: usize = 10_000;
/// A message's head is never longer.
const LONGEST: usize = 64 << 20;

/// The codec of the first batch; none where buffers are stored as they are.
pub(super) fn codec(file: File, stream: bool) -> IoResult<Option<CompressionType>> {
    let mut reader = BufReader::new(file);
    // A file begins with its mark, padded to eight bytes.
    reader.seek(SeekFrom::Start(if stream { 0 } else { 8 }))?;
    for _ in 0..MOST {
        let Some(head) = head(&mut reader)? else { return Ok(None) };
        let Ok(message) = root_as_message(&head) else { return Ok(None) };
        if message.header_type() == MessageHeader::RecordBatch {
            let batch = message.header_as_record_batch();
            return Ok(batch.and_then(|batch| batch.compression()).map(|used| used.codec()));
        }
        reader.seek_relative(message.bodyLength())?;
    }
    Ok(None)
}

/// The next message without its body; none at the end.
fn head(reader: &mut impl Read) -> IoResult<Option<Vec<u8>>> {
    let mut word = [0; 4];
    reader.read_exact(&mut word)?;
    if word == [0xff; 4] {
        reader.read_exact(&mut word)?;
    }
    let length = u32::from_le_bytes(word) as usize;
    if length == 0 || length > LONGEST {
        return Ok(None);
    }
    let mut bytes = vec![0; length];
    reader.read_exact(&mut bytes)?;
    Ok(Some(bytes))
}
