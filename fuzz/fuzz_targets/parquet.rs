//! Parquet tables: the footer, pages, encodings.
#![no_main]

use libfuzzer_sys::fuzz_target;
use teleassay::source::probe::read_through;

fuzz_target!(|data: &[u8]| {
    let Ok(dir) = tempfile::tempdir() else { return };
    let path = dir.path().join("t.parquet");
    if std::fs::write(&path, data).is_ok() {
        let _ = read_through(&path);
    }
});
