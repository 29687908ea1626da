//! Names of files as text. A file's name is bytes, and on Unix they need not be UTF-8: in ids, in
//! JSON and in CSV what is not becomes `\xNN`, and can be turned back.
//!
//! A name that has `\x` and such a number by itself has its backslash written `\x5c`, so that no two
//! names become the same text. All other text stays as it is.

use std::borrow::Cow;
use std::ffi::OsStr;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// A file's name or path as text.
pub fn name_text(name: &OsStr) -> String {
    let mut text = String::with_capacity(name.len());
    for chunk in name.as_encoded_bytes().utf8_chunks() {
        push(chunk.valid(), &mut text);
        for byte in chunk.invalid() {
            let _ = write!(text, "\\x{byte:02x}");
        }
    }
    text
}

/// A path as text.
pub fn path_text(path: &Path) -> String {
    name_text(path.as_os_str())
}

/// Text that is no file's name, so that [`name_bytes`] gives it back.
pub fn escaped(text: &str) -> Cow<'_, str> {
    if !text.contains("\\x") {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    push(text, &mut out);
    Cow::Owned(out)
}

/// The bytes that a text stands for.
pub fn name_bytes(text: &str) -> Cow<'_, [u8]> {
    if !text.contains("\\x") {
        return Cow::Borrowed(text.as_bytes());
    }
    let (mut bytes, mut rest) = (Vec::with_capacity(text.len()), text.as_bytes());
    while let [first, after @ ..] = rest {
        if let Some(byte) = code(rest) {
            bytes.push(byte);
            rest = &rest[4..];
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    Cow::Owned(bytes)
}

/// The path that a text stands for.
pub fn path_of(text: &str) -> PathBuf {
    let bytes = name_bytes(text).into_owned();
    #[cfg(unix)]
    let path = <std::ffi::OsString as std::os::unix::ffi::OsStringExt>::from_vec(bytes);
    #[cfg(not(unix))]
    let path = std::ffi::OsString::from(String::from_utf8_lossy(&bytes).into_owned());
    PathBuf::from(path)
}

fn push(text: &str, out: &mut String) {
    let mut rest = text;
    while let Some(at) = rest.find("\\x") {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        out.push_str(if code(from.as_bytes()).is_some() { "\\x5c" } else { "\\" });
        rest = &from[1..];
    }
    out.push_str(rest);
}

/// The byte of a code that a text begins with: no UTF-8 by itself, a backslash, or a line break,
/// which a list of one name a line must not hold.
fn code(text: &[u8]) -> Option<u8> {
    let [b'\\', b'x', high @ (b'0'..=b'9' | b'a'..=b'f'), low @ (b'0'..=b'9' | b'a'..=b'f'), ..] =
        text
    else {
        return None;
    };
    let digit = |c: u8| if c < b'a' { c - b'0' } else { c - b'a' + 10 };
    let byte = digit(*high) * 16 + digit(*low);
    (byte >= 0x80 || [b'\\', b'\n', b'\r'].contains(&byte)).then_some(byte)
}

/// A path in a file of text.
pub mod as_text {
    use std::path::{Path, PathBuf};

    use serde::{Deserialize, Deserializer, Serializer};

    /// Writes it.
    ///
    /// # Errors
    /// If the output cannot be written.
    pub fn serialize<S: Serializer>(path: &Path, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(&super::path_text(path))
    }

    /// Reads it.
    ///
    /// # Errors
    /// If it is no text.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<PathBuf, D::Error> {
        Ok(super::path_of(&String::deserialize(from)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_names_stay_and_every_name_comes_back() {
        for name in ["take 7", "a/b\\c", "C:\\x1\\run", "\\xzz", "\\xFF", "pot-\u{fc}"] {
            assert_eq!(name_text(OsStr::new(name)), name);
            assert_eq!(escaped(name), name);
            assert_eq!(&*name_bytes(name), name.as_bytes());
        }
        for name in ["\\xff", "a\\x5c", "\\\\x80\\x0a", "\\x5cx5c\\x\\xe9"] {
            assert_ne!(escaped(name), name);
            assert_eq!(&*name_bytes(&escaped(name)), name.as_bytes(), "{name}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn bytes_that_are_no_text_come_back() {
        use std::os::unix::ffi::OsStrExt as _;
        // Latin-1, a cut sequence, a surrogate, and codes next to what they stand for.
        let names: [&[u8]; 6] = [
            b"pot-\xfc.parquet",
            b"\xe2\x82",
            b"\xed\xa0\x80",
            b"\\\xff",
            b"\\xff\xff",
            b"\\x5\xff",
        ];
        let mut seen = Vec::new();
        for name in names {
            let text = name_text(OsStr::from_bytes(name));
            assert_eq!(&*name_bytes(&text), name, "{text}");
            assert_eq!(path_of(&text).as_os_str().as_bytes(), name);
            seen.push(text);
        }
        assert_eq!(seen[0], "pot-\\xfc.parquet");
        seen.sort();
        seen.dedup();
        assert_eq!(seen.len(), 6);
    }
}
