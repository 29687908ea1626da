//! Whether comparisons cry wolf and find what is there: `cargo bench --bench comparison`. After `--`:
//! `--short` runs what the tests run, `--told` tells what was missed or said for nothing, `--write`
//! keeps the page in `benches/COMPARISON.md`.

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
    let (alike, few, planted) = if asked("--short") { (12, 8, 3) } else { (200, 100, 60) };
    let report = Report::run(alike, few, planted)?;
    let mut out = std::io::stdout().lock();
    if asked("--told") {
        for line in &report.told {
            writeln!(out, "{line}")?;
        }
    }
    let page = format!(
        "# How often comparisons are right\n\nMade by `cargo bench --bench comparison -- --write`: \
         simulated sessions of 25 to 100 Hz and 6 to 8 joints through the engine.\n\n{}",
        markdown(&report)
    );
    out.write_all(page.as_bytes())?;
    if asked("--write") {
        std::fs::write(Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/COMPARISON.md"), page)?;
    }
    Ok(())
}

/// What is asked of the pace, and why it is not met one way.
const SPEED: &str = "\
Asked is that a change of speed by 25 % is found in 95 % of pairs. That is met for a slower hand (60
of 60: 94 % at least, at 95 % confidence) and not for a faster one. A speed matters from a ratio of
1.25 on, up and down alike (`|ln| >= ln 1.25`, the limit included), and different is what is no
chance *and* whose estimate reaches that. A simulated hand at 1.25 times the pace moves less than
1.25 times as fast as read, so what is planted lies below the limit and is rightly not called
different; and what lies at a limit never is in more than half of the pairs. A quarter slower, and a
quarter less time, are planted as 1.33 either way. Calling different what comes within a standard
error of the limit would find (last column) more, and still not 95 % of those that are 25 % faster;
it would be a lower limit by another name, the lower the fewer the episodes, so it is not done.";

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
    let _ = writeln!(out, "| planted in B, 20 against 20 | found | others on the bench |");
    let _ = writeln!(out, "|---|--:|--:|");
    for (change, (trials, found, others)) in &report.changes {
        let _ = writeln!(out, "| {} | {found} of {trials} | {others} |", change.what());
    }
    let _ = writeln!(out, "\n{SPEED}\n\n| a hand that | speed read | would be found |");
    let _ = writeln!(out, "|---|--:|--:|");
    for (change, speeds) in &report.speeds {
        let mut read: Vec<f64> = speeds.iter().map(|(size, _)| size.exp()).collect();
        let near = speeds.iter().filter(|(_, near)| *near).count();
        let what = change.what().trim_start_matches("a hand that ");
        let (read, of) = (median_in_place(&mut read), speeds.len());
        let _ = writeln!(out, "| {what} | {read:.3} | {near} of {of} |");
    }
    let _ = writeln!(out, "\n| aspect, pairs of one process | same at 20 | same at 3 |");
    let _ = writeln!(out, "|---|--:|--:|");
    for (aspect, of) in &report.same {
        let few = share(report.same_of_few.get(aspect).copied().unwrap_or_default());
        let _ = writeln!(out, "| {} | {:.0} % | {few:.0} % |", aspect.title(), share(*of));
    }
    out
}
