//! Walks over Thrift's compact protocol and holds every length against the bytes that are there.
//!
//! parquet 60.1 reads footers and page headers itself. It checks lists before it reserves memory, but
//! a list of booleans may be as long as it says when it is skipped, and a text in a page header is read
//! to the end of the file. What was walked over here cannot do that.
//!
//! Reference: Apache Thrift, `thrift-compact-protocol.md`.

/// Structs and lists within each other; the footer of a table has nine.
const DEPTH: usize = 32;

/// Types of fields and elements, where they matter here.
pub(super) const I32: u8 = 5;
pub(super) const LIST: u8 = 9;
pub(super) const STRUCT: u8 = 12;

/// Bytes that are no Thrift, or state more than is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Broken {
    /// The bytes end within a value.
    Short,
    /// A length beyond the bytes that follow.
    Length(u64),
    /// Structs within structs without end.
    Deep,
    /// A type that does not exist, or a number that is too long.
    Odd,
}

impl std::fmt::Display for Broken {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Short => f.write_str("it ends early"),
            Self::Length(stated) => {
                write!(f, "it states a length of {stated}, and ends before that")
            }
            Self::Deep => write!(f, "it is nested more than {DEPTH} deep"),
            Self::Odd => f.write_str("it holds what is none of its types"),
        }
    }
}

type Read<T> = Result<T, Broken>;

/// A place among bytes.
#[derive(Debug, Clone)]
pub(super) struct Walk<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Walk<'a> {
    pub fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, at: 0 }
    }

    /// Bytes walked over.
    pub fn at(&self) -> usize {
        self.at
    }

    fn left(&self) -> u64 {
        (self.bytes.len() - self.at) as u64
    }

    fn byte(&mut self) -> Read<u8> {
        let byte = *self.bytes.get(self.at).ok_or(Broken::Short)?;
        self.at += 1;
        Ok(byte)
    }

    fn pass(&mut self, length: u64) -> Read<()> {
        if length > self.left() {
            return Err(Broken::Length(length));
        }
        self.at += length as usize;
        Ok(())
    }

    pub fn number(&mut self) -> Read<u64> {
        let mut number = 0_u64;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            number |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return Ok(number);
            }
        }
        Err(Broken::Odd)
    }

    /// A signed number.
    pub fn signed(&mut self) -> Read<i64> {
        let number = self.number()?;
        Ok((number >> 1) as i64 ^ -((number & 1) as i64))
    }

    /// The next field of a struct: its number and type; none at the end.
    pub fn field(&mut self, last: &mut i64) -> Read<Option<(i64, u8)>> {
        let head = self.byte()?;
        let (ahead, kind) = (head >> 4, head & 0x0f);
        if kind == 0 {
            return Ok(None);
        }
        *last = if ahead == 0 { self.signed()? } else { last.wrapping_add(i64::from(ahead)) };
        Ok(Some((*last, kind)))
    }

    /// The head of a list: the type of its elements, and how many. Each takes a byte at the fewest.
    pub fn list(&mut self) -> Read<(u8, u64)> {
        let head = self.byte()?;
        let count = if head >> 4 == 15 { self.number()? } else { u64::from(head >> 4) };
        if count > self.left() {
            return Err(Broken::Length(count));
        }
        Ok((head & 0x0f, count))
    }

    /// Passes over a value.
    pub fn skip(&mut self, kind: u8) -> Read<()> {
        self.deep(kind, DEPTH, false)
    }

    fn deep(&mut self, kind: u8, depth: usize, element: bool) -> Read<()> {
        let depth = depth.checked_sub(1).ok_or(Broken::Deep)?;
        match kind {
            // The value of a field is in its type.
            1 | 2 => self.pass(u64::from(element)),
            3 => self.pass(1),
            4..=6 => self.number().map(drop),
            7 => self.pass(8),
            8 => {
                let length = self.number()?;
                self.pass(length)
            }
            LIST | 10 => {
                let (kind, count) = self.list()?;
                (0..count).try_for_each(|_| self.deep(kind, depth, true))
            }
            11 => {
                let count = self.number()?;
                if count > self.left() {
                    return Err(Broken::Length(count));
                }
                let kinds = if count == 0 { 0 } else { self.byte()? };
                (0..count).try_for_each(|_| {
                    self.deep(kinds >> 4, depth, true)?;
                    self.deep(kinds & 0x0f, depth, true)
                })
            }
            STRUCT => {
                let mut last = 0;
                while let Some((_, kind)) = self.field(&mut last)? {
                    self.deep(kind, depth, false)?;
                }
                Ok(())
            }
            13 => self.pass(16),
            _ => Err(Broken::Odd),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bytes by hand, after the document above.
    #[test]
    fn lengths_are_held_against_the_bytes() {
        // Field 1, a number: 150 as a zigzag of 300. Field 2, a text of two bytes. The end.
        let sound = [0x15, 0xac, 0x02, 0x18, 2, b'a', b'b', 0];
        let mut walk = Walk::new(&sound);
        assert_eq!((walk.skip(STRUCT), walk.at()), (Ok(()), 8));
        let skipped = |bytes: &[u8], kind| Walk::new(bytes).skip(kind);
        assert_eq!(skipped(&sound[..6], STRUCT), Err(Broken::Length(2)));
        // Two thousand million booleans in five bytes; four in four.
        assert!(matches!(skipped(&[0xf1, 0xff, 0xff, 0xff, 0x7f], LIST), Err(Broken::Length(_))));
        assert_eq!(skipped(&[0x41, 1, 1, 2, 2], LIST), Ok(()));
        assert_eq!(skipped(&[0x19; 100], LIST), Err(Broken::Deep));
        assert_eq!(skipped(&[0xff; 20], I32), Err(Broken::Odd));
        assert_eq!(skipped(&[0x1e, 0], STRUCT), Err(Broken::Odd));
    }
}
