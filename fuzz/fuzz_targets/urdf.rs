//! URDFs, next to a table with named joints.
#![no_main]

use libfuzzer_sys::fuzz_target;
use teleassay::source::{Dataset, Declared};

const TABLE: &str = "time,follower_waist,leader_waist\n0.0,0.1,0.1\n0.1,0.2,0.2\n0.2,0.3,0.3\n";

fuzz_target!(|data: &[u8]| {
    let Ok(dir) = tempfile::tempdir() else { return };
    let (table, urdf) = (dir.path().join("t.csv"), dir.path().join("arm.urdf"));
    if std::fs::write(&table, TABLE).is_ok() && std::fs::write(&urdf, data).is_ok() {
        let declared = Declared { urdf: Some(urdf), ..Declared::default() };
        let _ = Dataset::open(&[table], &declared);
    }
});
