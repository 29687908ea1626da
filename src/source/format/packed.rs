//! The bytes of a file that is read whole, unpacked where it is gzip or zstd.

use std::io::{Cursor, Read};

use bytes::Bytes;
use parquet::file::reader::{ChunkReader, Length};

use crate::parquet_io::sizes;
use crate::source::format::table::Opening;
use crate::source::read_error::ReadError;

/// First bytes of a gzip file (RFC 1952, section 2.3.1) and of a zstd frame (RFC 8878, section 3.1.1).
const GZIP: &[u8] = &[0x1f, 0x8b];
const ZSTD: &[u8] = &[0x28, 0xb5, 0x2f, 0xfd];
/// Largest table that is held: what is larger is better kept as Parquet.
pub(super) const LARGEST: u64 = 4 << 30;

/// All bytes of the file as they are stored.
pub(super) fn stored(opening: &Opening<'_>) -> Result<Bytes, ReadError> {
    let length = opening.input.len();
    if length > LARGEST.min(sizes::memory()) {
        return Err(too_large());
    }
    let stored = opening.input.get_bytes(0, length as usize);
    stored.map_err(|e| ReadError::Read(std::io::Error::other(e)))
}

/// All bytes of the file, unpacked.
pub(super) fn bytes(opening: &Opening<'_>) -> Result<Bytes, ReadError> {
    let stored = stored(opening)?;
    let most = most(stored.len() as u64);
    if stored.starts_with(GZIP) {
        unpack(&mut flate2::read::MultiGzDecoder::new(Cursor::new(stored)), most).map(Bytes::from)
    } else if stored.starts_with(ZSTD) {
        let mut decoder =
            zstd::Decoder::with_buffer(Cursor::new(stored)).map_err(ReadError::Read)?;
        unpack(&mut decoder, most).map(Bytes::from)
    } else {
        Ok(stored)
    }
}

/// What so many bytes may unpack to: a recording packs to a tenth, and hardly to a hundredth.
pub(super) fn most(stored: u64) -> u64 {
    const FREE: u64 = 16 << 20;
    LARGEST.min(sizes::memory()).min(FREE + stored.saturating_mul(64))
}

fn unpack(from: &mut dyn Read, most: u64) -> Result<Vec<u8>, ReadError> {
    let mut text = Vec::new();
    let read = from.take(most + 1).read_to_end(&mut text);
    read.map_err(|e| ReadError::Damaged(format!("it cannot be unpacked ({e})")))?;
    match text.len() as u64 > most {
        true if most == LARGEST.min(sizes::memory()) => Err(too_large()),
        true => Err(ReadError::Damaged(format!("it unpacks to more than {most} bytes"))),
        false => Ok(text),
    }
}

pub(super) fn too_large() -> ReadError {
    let what = format!(
        "holds more than {} MiB in one file that is read whole: convert it to Parquet",
        LARGEST.min(sizes::memory()) >> 20
    );
    ReadError::Columns(what)
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use super::{LARGEST, unpack};

    /// Packed by the reference libraries, cut short: an error, and no half a table.
    #[test]
    fn a_packed_file_that_is_cut_short_is_refused() -> std::io::Result<()> {
        let text = "episode,time\n".repeat(1000);
        let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
        gzip.write_all(text.as_bytes())?;
        let packed = gzip.finish()?;
        let whole = unpack(&mut flate2::read::MultiGzDecoder::new(&packed[..]), LARGEST);
        assert!(whole.is_ok_and(|bytes| bytes == text.as_bytes()));
        let cut = &packed[..packed.len() / 2];
        assert!(unpack(&mut flate2::read::MultiGzDecoder::new(cut), LARGEST).is_err());
        let few = unpack(&mut flate2::read::MultiGzDecoder::new(&packed[..]), 100);
        assert!(few.is_err_and(|error| error.to_string().contains("more than 100 bytes")));
        Ok(())
    }
}
