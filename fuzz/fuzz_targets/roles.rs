//! Which column plays which role: names and values of columns as they come.
#![no_main]

use libfuzzer_sys::fuzz_target;
use teleassay::source::{Dataset, Declared};

fuzz_target!(|data: &[u8]| {
    let Ok(dir) = tempfile::tempdir() else { return };
    let table = dir.path().join("t.jsonl");
    // Names from the input, in rows of numbers, lists and texts.
    let names: Vec<String> =
        data.split(|byte| *byte == 0).map(|name| String::from_utf8_lossy(name).into_owned()).collect();
    let row = |at: usize| {
        let fields = names.iter().enumerate().map(|(place, name)| {
            let value = match (place + name.len()) % 4 {
                0 => format!("{}", at as f64 * 0.1),
                1 => format!("[{at}, {place}]"),
                2 => format!("\"{at}\""),
                _ => "null".to_owned(),
            };
            format!("{name:?}:{value}")
        });
        format!("{{{}}}\n", fields.collect::<Vec<_>>().join(","))
    };
    let text: String = (0..8).map(row).collect();
    if std::fs::write(&table, text).is_ok() {
        let _ = Dataset::open(&[table], &Declared::default());
    }
});
