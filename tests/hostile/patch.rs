//! Bytes of Parquet files, changed by hand. Reference: Apache Thrift, compact protocol; Apache Parquet
//! format, "File format".

use std::error::Error;

/// A number as Thrift writes it.
pub fn varint(mut number: u64) -> Vec<u8> {
    let mut out = Vec::new();
    while number > 0x7f {
        out.push(number as u8 & 0x7f | 0x80);
        number >>= 7;
    }
    out.push(number as u8);
    out
}

/// A signed number.
pub fn zigzag(number: i64) -> Vec<u8> {
    varint((number << 1 ^ number >> 63) as u64)
}

/// The bytes of the number that stands at a place.
fn length_at(bytes: &[u8], at: usize) -> usize {
    bytes[at..].iter().take_while(|byte| **byte & 0x80 != 0).count() + 1
}

/// Puts another number in the place of the first field of this head behind `from`. What follows within
/// the chunk that ends at `end` moves, and its last bytes are lost.
pub fn number(
    bytes: &mut Vec<u8>,
    from: usize,
    head: u8,
    nth: usize,
    new: i64,
    end: usize,
) -> Result<(), Box<dyn Error>> {
    let mut at = from;
    for _ in 0..nth {
        at += 1 + length_at(bytes, at + 1);
    }
    if bytes[at] != head {
        return Err(format!("no field {head:02x} at {at}: {:02x?}", &bytes[from..from + 20]).into());
    }
    let old = length_at(bytes, at + 1);
    let new = zigzag(new);
    let grown = new.len() - old;
    bytes.splice(at + 1..at + 1 + old, new);
    bytes.drain(end..end + grown);
    Ok(())
}

/// A file with this footer and nothing else.
pub fn only_footer(footer: &[u8]) -> Vec<u8> {
    let mut bytes = b"PAR1".to_vec();
    bytes.extend(footer);
    bytes.extend((footer.len() as u32).to_le_bytes());
    bytes.extend(b"PAR1");
    bytes
}

/// The file with every one of these bytes in its footer replaced.
pub fn footer(file: &[u8], old: &[u8], new: &[u8]) -> Result<Vec<u8>, Box<dyn Error>> {
    let tail = file.len() - 8;
    let length = u32::from_le_bytes(file[tail..tail + 4].try_into()?) as usize;
    let (body, mut rest) = (&file[..tail - length], &file[tail - length..tail]);
    let mut changed = Vec::new();
    while let Some(first) = rest.first() {
        if rest.starts_with(old) {
            changed.extend(new);
            rest = &rest[old.len()..];
        } else {
            changed.push(*first);
            rest = &rest[1..];
        }
    }
    let mut out = body.to_vec();
    out.extend(&changed);
    out.extend((changed.len() as u32).to_le_bytes());
    out.extend(b"PAR1");
    Ok(out)
}
