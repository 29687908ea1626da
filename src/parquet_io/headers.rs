//! Page headers of a column chunk, held against the chunk before a page is unpacked.
//!
//! parquet 60.1 reserves what a header says that a page unpacks to, up to 2 GiB a page.
//!
//! Reference: Apache Parquet format 2.11, `parquet.thrift` (`PageHeader`).

use parquet::basic::{Compression, Type};
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::ColumnChunkMetaData;
use parquet::file::reader::ChunkReader as _;

use crate::parquet_io::positioned::Positioned;
use crate::parquet_io::sizes;
use crate::parquet_io::thrift::{Broken, I32, STRUCT, Walk};

/// Bytes looked at for a header; one with long statistics takes more.
const WINDOW: u64 = 4 << 10;
/// The longest header.
const LONGEST: u64 = 16 << 20;
/// Fields of a page header: the sizes of the page, and what describes a page of each kind.
const UNPACKED: i64 = 2;
const PACKED: i64 = 3;
const DATA: i64 = 5;
const DICTIONARY: i64 = 7;
const DATA_V2: i64 = 8;

/// What a page header states.
#[derive(Debug, Default)]
struct Header {
    unpacked: i64,
    packed: i64,
    /// Values of a data page.
    values: i64,
    /// Values of a dictionary.
    entries: i64,
}

/// Holds the pages of a chunk against its bytes.
pub(super) fn vet(input: &Positioned, chunk: &ColumnChunkMetaData) -> Result<()> {
    let (mut at, length) = chunk.byte_range();
    let end = at + length;
    let ratio = ratio(chunk.compression());
    let mut left = chunk.num_values();
    while at < end {
        let (header, length) = match header(input, at, end) {
            Ok(header) => header,
            // Nothing is read behind the last page but a header that is none.
            Err(_) if left == 0 => return Ok(()),
            Err(error) => return Err(error),
        };
        at += length;
        let state = |what: String| ParquetError::General(format!("a page states {what}"));
        let size = |bytes: i64| u64::try_from(bytes).map_err(|_| state(format!("{bytes} bytes")));
        let (packed, unpacked) = (size(header.packed)?, size(header.unpacked)?);
        if !sizes::unpacks(packed, ratio, unpacked) {
            return Err(state(format!("that its {packed} bytes unpack to {unpacked}")));
        }
        let most = unpacked / width(chunk);
        if header.entries < 0 || header.entries as u64 > most {
            return Err(state(format!("{} values in {unpacked} bytes", header.entries)));
        }
        if packed > end - at {
            return Err(state(format!("{packed} bytes, and {} are there", end - at)));
        }
        if header.values < 0 || header.values > left {
            return Err(state(format!("{} values, of {left}", header.values)));
        }
        left -= header.values;
        at += packed;
    }
    Ok(())
}

/// Bytes of a value in a dictionary at the fewest: a text has its length in front.
fn width(chunk: &ColumnChunkMetaData) -> u64 {
    match chunk.column_type() {
        Type::INT64 | Type::DOUBLE => 8,
        Type::INT96 => 12,
        Type::FIXED_LEN_BYTE_ARRAY => {
            u64::try_from(chunk.column_descr().type_length()).unwrap_or(1).max(1)
        }
        Type::BOOLEAN => 1,
        Type::BYTE_ARRAY | Type::INT32 | Type::FLOAT => 4,
    }
}

/// What a codec gives from one byte at most. A copy of Snappy takes three bytes and gives 64; a byte of
/// LZ4 lengthens a match by 255; DEFLATE gives 258 bytes for two bits. A block of Zstandard repeats a
/// byte 131,072 times, and Brotli 16,777,216 times.
fn ratio(codec: Compression) -> u64 {
    match codec {
        Compression::UNCOMPRESSED => 1,
        Compression::SNAPPY => 22,
        Compression::LZ4 | Compression::LZ4_RAW => 256,
        Compression::GZIP(_) => 1032,
        _ => 1 << 16,
    }
}

/// The header at a place, and its length.
fn header(input: &Positioned, at: u64, end: u64) -> Result<(Header, u64)> {
    let mut window = WINDOW;
    loop {
        let length = window.min(end - at);
        let bytes = input.get_bytes(at, length as usize)?;
        let mut walk = Walk::new(&bytes);
        match parsed(&mut walk) {
            Ok(header) => return Ok((header, walk.at() as u64)),
            Err(Broken::Short | Broken::Length(_)) if length == window && window < LONGEST => {
                window *= 16;
            }
            Err(broken) => {
                return Err(ParquetError::General(format!("a page has no header: {broken}")));
            }
        }
    }
}

fn parsed(walk: &mut Walk<'_>) -> std::result::Result<Header, Broken> {
    let mut header = Header::default();
    let mut last = 0;
    while let Some((field, kind)) = walk.field(&mut last)? {
        match (field, kind) {
            (UNPACKED, I32) => header.unpacked = walk.signed()?,
            (PACKED, I32) => header.packed = walk.signed()?,
            (DATA | DATA_V2, STRUCT) => header.values = first_number(walk)?,
            (DICTIONARY, STRUCT) => header.entries = first_number(walk)?,
            _ => walk.skip(kind)?,
        }
    }
    Ok(header)
}

/// The number of values is the first field of what describes a page, of whatever kind.
fn first_number(walk: &mut Walk<'_>) -> std::result::Result<i64, Broken> {
    let (mut last, mut number) = (0, 0);
    while let Some((field, kind)) = walk.field(&mut last)? {
        match (field, kind) {
            (1, I32) => number = walk.signed()?,
            _ => walk.skip(kind)?,
        }
    }
    Ok(number)
}
