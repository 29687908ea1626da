//! Whether comparisons cry wolf and find what is there: `cargo bench --features internals --bench
//! comparison`. After `--`: `--short` runs what the tests run, `--misses` lists what was missed or
//! reported for nothing, `--write` keeps the page in `benches/COMPARISON.md`. `--from N` takes
//! other seeds, from number N on, and more pairs.

#[path = "comparison/mod.rs"]
mod comparison;
#[path = "../tests/support/memory.rs"]
mod memory;

use std::error::Error;
use std::fmt::Write as _;
use std::io::Write;
use std::path::Path;

use comparison::Report;
use teleassay::num::quantile::median_in_place;

fn main() -> Result<(), Box<dyn Error>> {
    let asked = |option: &str| std::env::args().any(|argument| argument == option);
    let from_number = std::env::args().skip_while(|argument| argument != "--from").nth(1);
    let page_is_asked = asked("--write") && from_number.is_none();
    let report = match from_number {
        Some(from) => Report::run(400, 200, 200, from.parse()?)?,
        None if asked("--short") => Report::run(16, 8, 3, 0)?,
        None => Report::run(200, 100, 60, 0)?,
    };
    let mut out = std::io::stdout().lock();
    if asked("--misses") {
        for line in &report.misses {
            writeln!(out, "{line}")?;
        }
    }
    let page = format!(
        "# How often comparisons are right\n\nMade by `cargo bench --features internals --bench comparison -- --write`: \
         simulated sessions of 25 to 100 Hz and 6 to 8 joints through the engine.\n\n{}",
        markdown(&report)
    );
    out.write_all(page.as_bytes())?;
    if page_is_asked {
        std::fs::write(Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/COMPARISON.md"), page)?;
    }
    Ok(())
}

/// Why a change of pace reads smaller than it is.
const SPEED: &str = "\
A change of pace reads a little smaller than it was planted: speed is taken over chords of a tenth of a
second or four frames, which adds up to half a chord to every stretch of motion, the same to a short
one as to a long one. A speed matters from a ratio of 1.15 on, up and down alike.";

/// As a table in Markdown.
fn markdown(report: &Report) -> String {
    let mut out = String::new();
    let share = |of: (usize, usize)| 100.0 * of.1 as f64 / of.0.max(1) as f64;
    let _ = writeln!(
        out,
        "Two samples of one process, 20 against 20 episodes: {} of {} pairs called different in \
         any aspect ({:.1} %). 3 against 3: {} of {}.\n",
        report.alike.1,
        report.alike.0,
        share(report.alike),
        report.few.1,
        report.few.0
    );
    let _ = writeln!(out, "| planted in B, 20 against 20 | found | others on the rig |");
    let _ = writeln!(out, "|---|--:|--:|");
    for (change, (trials, found, others)) in &report.changes {
        let _ = writeln!(out, "| {} | {found} of {trials} | {others} |", change.what());
    }
    let _ = writeln!(out, "\n{SPEED}\n\n| a hand that | ratio of speeds read, median |");
    let _ = writeln!(out, "|---|--:|");
    for (change, speeds) in &report.speeds {
        let mut read: Vec<f64> = speeds.iter().map(|size| size.exp()).collect();
        let what = change.what().trim_start_matches("a hand that ");
        let _ = writeln!(out, "| {what} | {:.3} |", median_in_place(&mut read));
    }
    let _ = writeln!(out, "\n| aspect, pairs of one process | same at 20 | same at 3 |");
    let _ = writeln!(out, "|---|--:|--:|");
    for (aspect, of) in &report.same {
        let few = share(report.same_of_few.get(aspect).copied().unwrap_or_default());
        let _ = writeln!(out, "| {} | {:.0} % | {few:.0} % |", aspect.title(), share(*of));
    }
    out
}
