//! The other formats; the first byte says which.
#![no_main]

use libfuzzer_sys::fuzz_target;
use teleassay::source::probe::read_through;

const NAMES: [&str; 6] = ["t.csv", "t.csv.gz", "t.jsonl", "t.jsonl.zst", "t.mcap", "t.npz"];

fuzz_target!(|data: &[u8]| {
    let Some((first, data)) = data.split_first() else { return };
    let Ok(dir) = tempfile::tempdir() else { return };
    let path = dir.path().join(NAMES[usize::from(*first) % NAMES.len()]);
    if std::fs::write(&path, data).is_ok() {
        let _ = read_through(&path);
    }
});
