//! What each check costs, in nanoseconds per frame and joint: `cargo bench --features internals
//! --bench cost` prints the table that `scripts/bench` shows; `-- --write` puts it into
//! benches/README.md.
//!
//! *alone*: the check by itself, with all that it shares with others (grid, lags, fits). *in an
//! audit*: after all others in their order, where the first that needs a shared part pays for it.

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::hint::black_box;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use teleassay::catalogue::of_episodes;
use teleassay::check::{Check, Params, Study, settings};
use teleassay::demo::{StoredUnit, healthy, simulate};
use teleassay::model::{Episode, Sheet};

/// Rounds of which the median counts.
const ROUNDS: usize = 15;
const BEGIN: &str = "<!-- cost: begin -->\n";
const END: &str = "<!-- cost: end -->";

fn main() -> Result<(), Box<dyn Error>> {
    let mut episodes: Vec<Episode> = Vec::new();
    for (rate_hz, seed) in [(30.0, 1), (50.0, 2), (200.0, 3)] {
        let recipe = healthy(rate_hz, 6, StoredUnit::Rad, 8, seed);
        let recordings = simulate(&recipe)?;
        let rig = Arc::new(recipe.surveyed_rig(&recordings));
        episodes.extend(recordings.iter().map(|recording| recording.episode(&rig)));
    }
    let values: usize = episodes.iter().map(|e| e.frames() * e.rig.joints.len()).sum();
    let nanoseconds = |seconds: &mut Vec<f64>| {
        seconds.sort_by(f64::total_cmp);
        seconds[seconds.len() / 2] * 1e9 / values as f64
    };
    let checks: Vec<&Check> = of_episodes().collect();
    let mut alone: Vec<Vec<f64>> = vec![Vec::new(); checks.len()];
    let mut beside: Vec<Vec<f64>> = vec![Vec::new(); checks.len()];
    for _ in 0..ROUNDS {
        let mut sums = vec![0.0; checks.len()];
        for episode in &episodes {
            let study = Study::new(episode, settings(&Params::default()));
            for (sum, check) in sums.iter_mut().zip(&checks) {
                *sum += measure(check, &study);
            }
        }
        beside.iter_mut().zip(sums).for_each(|(all, sum)| all.push(sum));
        for (all, check) in alone.iter_mut().zip(&checks) {
            all.push(
                episodes
                    .iter()
                    .map(|e| measure(check, &Study::new(e, settings(&Params::default()))))
                    .sum(),
            );
        }
    }
    let mut rows: Vec<(f64, f64, &str)> = Vec::new();
    for ((check, alone), beside) in checks.iter().zip(&mut alone).zip(&mut beside) {
        rows.push((nanoseconds(beside), nanoseconds(alone), check.spec().id));
    }
    let all: f64 = rows.iter().map(|row| row.0).sum();
    rows.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.2.cmp(y.2)));
    let mut table = String::from(
        "| check | alone, ns | in an audit, ns | share of the audit |\n| --- | ---: | ---: | ---: |\n",
    );
    for (beside, alone, id) in rows {
        let share = 100.0 * beside / all;
        writeln!(table, "| `{id}` | {alone:.2} | {beside:.2} | {share:.1} % |")?;
    }
    writeln!(table, "| all | | {all:.2} | 100 % |")?;
    let head = format!(
        "{} episodes of 30, 50 and 200 Hz, 6 joints, {values} values of leader and follower each; one \
         thread, medians of {ROUNDS} rounds.\n\n",
        episodes.len()
    );
    let text = head + &table;
    std::io::stdout().lock().write_all(text.as_bytes())?;
    if std::env::args().any(|argument| argument == "--write") {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/README.md");
        let page = fs::read_to_string(&path)?;
        let (before, rest) = page.split_once(BEGIN).ok_or("no place for the costs in the page")?;
        let (_, after) = rest.split_once(END).ok_or("the place for the costs has no end")?;
        fs::write(&path, format!("{before}{BEGIN}{text}{END}{after}"))?;
    }
    Ok(())
}

/// Seconds that a check takes.
fn measure(check: &Check, study: &Study<'_>) -> f64 {
    let params = Params::default();
    let mut sheet = Sheet::new(check.spec());
    let begun = Instant::now();
    check.measure(study, &params, &mut sheet);
    let taken_s = begun.elapsed().as_secs_f64();
    black_box(sheet.into_parts());
    taken_s
}
