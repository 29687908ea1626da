//! Hashes of whole files, to say later what was looked at.

use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use sha2::{Digest, Sha256};

/// SHA-256 of a file's content (FIPS 180-4), in hexadecimal as `sha256sum` prints it.
pub(in crate::source) fn sha256(path: &Path) -> io::Result<String> {
    let mut file = File::open(path)?;
    let mut hash = Sha256::new();
    let mut block = vec![0; 1 << 20];
    loop {
        match file.read(&mut block)? {
            0 => break,
            read => hash.update(&block[..read]),
        }
    }
    let mut text = String::with_capacity(64);
    for byte in hash.finalize() {
        // Text in memory takes everything.
        let _ = write!(text, "{byte:02x}");
    }
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::sha256;

    /// FIPS 180-2, appendix B.1 and B.3: "abc", and a million times "a".
    #[test]
    fn the_examples_of_the_standard() -> std::io::Result<()> {
        let file = tempfile::NamedTempFile::new()?;
        for (text, hash) in [
            ("abc".to_owned(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            (
                "a".repeat(1_000_000),
                "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
            ),
        ] {
            std::fs::write(file.path(), text)?;
            assert_eq!(sha256(file.path())?, hash);
        }
        Ok(())
    }
}
