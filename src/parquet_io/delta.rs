//! Numbers in the delta encoding, of which only the sum is wanted.
//!
//! Reference: Apache Parquet format 2.11, `Encodings.md`, "Delta Encoding (`DELTA_BINARY_PACKED`)".

/// Lengths, added up.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Sum {
    pub sum: u64,
    /// Where they end among the bytes.
    pub end: usize,
}

/// Adds up at most so many lengths; none where there are more, one is negative, or the bytes are none.
pub(super) fn sum(bytes: &[u8], most: u64) -> Option<Sum> {
    let mut at = 0;
    let block = number(bytes, &mut at)?;
    let parts = number(bytes, &mut at)?;
    let mut left = number(bytes, &mut at)?;
    let per_part = block.checked_div(parts).filter(|per| *per > 0 && per % 32 == 0)?;
    if left > most || block > 1 << 24 {
        return None;
    }
    let mut value = signed(bytes, &mut at)?;
    let mut sum = 0;
    if left > 0 {
        sum = u64::try_from(value).ok()?;
        left -= 1;
    }
    while left > 0 {
        let smallest = signed(bytes, &mut at)?;
        let widths = bytes.get(at..at.checked_add(parts as usize)?)?;
        at += parts as usize;
        for width in widths {
            if left == 0 {
                break;
            }
            let width = u64::from(*width);
            if width > 32 {
                return None;
            }
            let length = (width * per_part / 8) as usize;
            // The last part may be cut where its values end.
            let part = bytes.get(at..)?;
            let part = part.get(..length).unwrap_or(part);
            at = at.checked_add(length)?;
            for place in 0..per_part.min(left) {
                // Values are of 32 bits, and wrap around.
                let delta = smallest.wrapping_add(packed(part, place * width, width)? as i64);
                value = i64::from(value.wrapping_add(delta) as i32);
                sum += u64::try_from(value).ok()?;
            }
            left -= per_part.min(left);
        }
    }
    Some(Sum { sum, end: at.min(bytes.len()) })
}

/// A number of some bits, the lowest bit first.
fn packed(bytes: &[u8], bit: u64, width: u64) -> Option<u64> {
    if width == 0 {
        return Some(0);
    }
    let first = (bit / 8) as usize;
    let mut word = [0; 8];
    let there = bytes.get(first..)?;
    let length = there.len().min(8);
    if (length as u64) * 8 < bit % 8 + width {
        return None;
    }
    word[..length].copy_from_slice(&there[..length]);
    Some(u64::from_le_bytes(word) >> (bit % 8) & ((1 << width) - 1))
}

fn number(bytes: &[u8], at: &mut usize) -> Option<u64> {
    let mut number = 0;
    for shift in (0..64).step_by(7) {
        let byte = *bytes.get(*at)?;
        *at += 1;
        number |= u64::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            return Some(number);
        }
    }
    None
}

fn signed(bytes: &[u8], at: &mut usize) -> Option<i64> {
    let number = number(bytes, at)?;
    Some((number >> 1) as i64 ^ -((number & 1) as i64))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The second example of the document: 7, 5, 3, 1, 2, 3, 4, 5. Its deltas are -2 and more, packed in
    /// two bits: 0, 0, 0, 3, 3, 3, 3.
    #[test]
    fn the_example_of_the_document_adds_up() {
        // Blocks of 128 in four parts of 32; eight values; the first is 7.
        let mut bytes = vec![0x80, 1, 4, 8, 14, 3, 2, 0, 0, 0];
        bytes.extend([0b1100_0000, 0b0011_1111, 0, 0, 0, 0, 0, 0]);
        assert_eq!(sum(&bytes, 8), Some(Sum { sum: 30, end: 18 }));
        assert_eq!(sum(&bytes, 7), None);
        assert_eq!(sum(&bytes[..9], 8), None);
        // As many lengths as no page has; a length below zero.
        assert_eq!(sum(&[0x80, 1, 4, 0xff, 0xff, 0xff, 0xff, 7, 14], 8), None);
        assert_eq!(sum(&[0x80, 1, 4, 1, 13], 8), None);
    }
}
