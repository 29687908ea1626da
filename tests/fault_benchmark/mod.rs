//! The short form of the fault benchmark (`benches/faults.rs`): a fault for every check, on rigs of
//! all rates, sizes, units and resolutions; and sound sessions. What is asked is asked here.

#[path = "../../benches/fault_benchmark/mod.rs"]
mod benchmark;

use std::sync::LazyLock;

use benchmark::{Report, Scale};
use teleassay::engine::Workers;

/// Run once for all the tests.
static REPORT: LazyLock<Result<Report, String>> = LazyLock::new(|| {
    let workers = Workers::start(None).map_err(|error| error.to_string())?;
    Scale::SHORT.run(&workers)
});

/// What is asked and missed, and everything that was said there.
#[test]
fn what_is_asked_is_met() -> Result<(), String> {
    let report = REPORT.as_ref().map_err(Clone::clone)?;
    let asked = report.asked();
    let missed: Vec<String> = asked
        .iter()
        .filter(|(.., met)| !met)
        .map(|(what, value, asked, _)| format!("{what}: {value}, asked: {asked}"))
        .collect();
    assert!(asked.len() >= 12, "only {} asked", asked.len());
    assert!(missed.is_empty(), "{}\n\n{}", missed.join("\n"), report.misses());
    Ok(())
}

/// Suppress must not come from not looking.
#[test]
fn nearly_every_planted_fault_could_be_looked_at() -> Result<(), String> {
    let report = REPORT.as_ref().map_err(Clone::clone)?;
    for row in &report.rows {
        assert!(row.planted * 10 >= report.scale.odd.min(10) * 10 / 2, "{row:?}");
        assert!(row.assessed * 10 >= row.planted * 8, "{}, {}: {row:?}", row.check, row.what);
    }
    Ok(())
}

#[test]
fn the_page_says_what_was_run_and_found() -> Result<(), String> {
    let report = REPORT.as_ref().map_err(Clone::clone)?;
    let page = report.page("2026-01-01");
    for row in &report.rows {
        assert!(page.contains(&format!("| `{}` | {} |", row.check, row.what)), "{}", row.what);
    }
    assert!(!page.contains("NaN"), "{page}");
    Ok(())
}
