//! Stored measurements, as `judge`, `--rig` and `--baseline` take them.
#![no_main]

use libfuzzer_sys::fuzz_target;
use teleassay::catalogue::of_episodes;
use teleassay::store::{self, Want};

fuzz_target!(|data: &[u8]| {
    let Ok(dir) = tempfile::tempdir() else { return };
    let path = dir.path().join("m.parquet");
    if std::fs::write(&path, data).is_err() {
        return;
    }
    let Ok(stored) = store::read(&[path]) else { return };
    let checks: Vec<_> = of_episodes().map(|check| check.spec()).collect();
    let want = Want { checks: &checks, motion: true };
    for block in 0..stored.blocks() {
        let _ = stored.read(block, &want, &mut |batch| {
            (0..batch.episodes()).try_for_each(|row| batch.episode(row, true).map(drop))
        });
    }
});
