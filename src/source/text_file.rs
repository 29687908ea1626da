//! Small files of text that a person names: profiles, URDFs, lists.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

/// The largest that is read: a device never ends.
const MOST: u64 = 256 << 20;

/// All bytes of a file.
///
/// # Errors
/// If it cannot be read, or is far larger than any of its kind.
pub fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(MOST + 1).read_to_end(&mut bytes)?;
    let most = MOST >> 20;
    let large = || io::Error::new(io::ErrorKind::FileTooLarge, format!("more than {most} MiB"));
    if bytes.len() as u64 > MOST { Err(large()) } else { Ok(bytes) }
}

/// All of a file's text.
///
/// # Errors
/// As for [`bytes()`], and if it is no UTF-8.
pub fn text(path: &Path) -> io::Result<String> {
    String::from_utf8(bytes(path)?).map_err(|_| {
        io::Error::new(io::ErrorKind::InvalidData, "stream did not contain valid UTF-8")
    })
}
