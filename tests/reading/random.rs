//! However rows are split into files and row groups, the episodes are the same.

use std::error::Error;
use std::sync::OnceLock;

use arrow::ipc::writer::{FileWriter, StreamWriter};
use proptest::prelude::*;
use teleassay::source::Source;

use super::support::{Layout, Row, expected, open, parquet, read, rows, table};

/// Rows of a few episodes, whole or with stretches moved about.
fn any_rows() -> impl Strategy<Value = Vec<Row>> {
    let lengths = prop::collection::vec(1usize..400, 1..8);
    (lengths, prop::collection::vec((0usize..1000, 0usize..1000), 0..4)).prop_map(
        |(lengths, swaps)| {
            let mut all = rows(&lengths);
            for (a, b) in swaps {
                let (a, b) = (a % all.len(), b % all.len());
                let (from, to) = (a.min(b), a.max(b));
                all[from..to].rotate_left((to - from) / 3);
            }
            all
        },
    )
}

/// One small dataset as Parquet, Arrow file and Arrow stream.
fn files() -> &'static [Vec<u8>; 3] {
    static FILES: OnceLock<[Vec<u8>; 3]> = OnceLock::new();
    FILES.get_or_init(|| written().unwrap_or_default())
}

fn written() -> Result<[Vec<u8>; 3], Box<dyn Error>> {
    let batch = table(&rows(&[300, 200]), Layout::List)?;
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("good.parquet");
    parquet(&path, &batch, 150)?;
    let (mut file, mut stream) = (Vec::new(), Vec::new());
    let mut to_file = FileWriter::try_new(&mut file, &batch.schema())?;
    let mut to_stream = StreamWriter::try_new(&mut stream, &batch.schema())?;
    for at in [0, 250] {
        to_file.write(&batch.slice(at, 250))?;
        to_stream.write(&batch.slice(at, 250))?;
    }
    to_file.finish()?;
    to_stream.finish()?;
    drop((to_file, to_stream));
    Ok([std::fs::read(&path)?, file, stream])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn splits_do_not_matter(
        all in any_rows(),
        cuts in prop::collection::vec(0usize..2000, 0..4),
        groups in prop::collection::vec(1usize..500, 5),
    ) {
        let folder = tempfile::tempdir()?;
        let mut cuts: Vec<usize> = cuts.into_iter().map(|c| c % all.len()).collect();
        cuts.extend([0, all.len()]);
        cuts.sort_unstable();
        cuts.dedup();
        for (number, pair) in cuts.windows(2).enumerate() {
            let path = folder.path().join(format!("part-{number}.parquet"));
            let batch = table(&all[pair[0]..pair[1]], Layout::List);
            let batch = batch.map_err(|e| TestCaseError::fail(e.to_string()))?;
            parquet(&path, &batch, groups[number % groups.len()])
                .map_err(|e| TestCaseError::fail(e.to_string()))?;
        }
        let dataset = open(folder.path()).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let (seen, reasons) = read(&dataset);
        prop_assert_eq!(reasons, Vec::<String>::new());
        prop_assert!(seen == expected(&all));

        let whole = folder.path().join("whole/all.parquet");
        let batch = table(&all, Layout::List).map_err(|e| TestCaseError::fail(e.to_string()))?;
        parquet(&whole, &batch, 100_000).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let whole = open(&whole).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(dataset.rig(), whole.rig(), "nor do they change what is learnt of the rig");
    }

    #[test]
    fn damage_never_ends_the_run(
        format in 0usize..3,
        harm in prop::collection::vec((0usize..100_000, 0usize..3, any::<u8>()), 1..5),
        cut in prop::option::weighted(0.1, 0usize..100_000),
    ) {
        let mut bytes = files()[format].clone();
        for (at, zone, byte) in harm {
            let end = bytes.len();
            // Most of what a reader needs lies at either end.
            let at = [at % end, end - 1 - at % end.min(1500), at % end.min(1500)][zone];
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut % bytes.len());
        }
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("damaged");
        std::fs::write(&path, bytes)?;
        if let Ok(dataset) = open(&path) {
            read(&dataset);
        }
    }
}

/// The footer says how much room to make: whatever byte of it is wrong, the run goes on.
#[test]
fn no_byte_of_a_footer_ends_the_run() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("damaged");
    let good = &files()[0];
    let footer = good.len() - 1500..good.len();
    let mut opened = 0;
    for at in footer.clone() {
        for byte in [7, good[at] ^ 1, good[at] ^ 0x80] {
            let mut bytes = good.clone();
            bytes[at] = byte;
            std::fs::write(&path, bytes)?;
            if let Ok(dataset) = open(&path) {
                read(&dataset);
                opened += 1;
            }
        }
    }
    assert!(opened > 0 && opened < 3 * footer.len(), "{opened}: the damage reaches the reader");
    Ok(())
}
