//! However rows are split into files and row groups, the episodes are the same.

use proptest::prelude::*;

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

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

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
    }
}
