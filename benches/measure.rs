//! The checks on simulated episodes in memory, one by one: elements a second are frames a second.
//!
//! Each check gets an episode of its own on the rig, so that what several share (grid, lags) is
//! counted for each of them; `all` runs them together, as an audit does.

use std::error::Error;
use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, Throughput};
use teleassay::catalogue::of_episodes;
use teleassay::check::{Check, Params, Study, settings};
use teleassay::demo::{StoredUnit, healthy, simulate};
use teleassay::model::{Episode, Sheet};

fn measure(episodes: &[Episode], checks: &[&Check]) {
    let params = Params::default();
    for episode in episodes {
        let study = Study::new(episode, settings(&params));
        for check in checks {
            let mut sheet = Sheet::new(check.spec());
            check.measure(&study, &params, &mut sheet);
            black_box(sheet.into_parts());
        }
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let recipe = healthy(30.0, 6, StoredUnit::Rad, 20, 1);
    let recordings = simulate(&recipe)?;
    let rig = Arc::new(recipe.surveyed_rig(&recordings));
    let episodes: Vec<Episode> = recordings.iter().map(|r| r.episode(&rig)).collect();
    let frames: usize = episodes.iter().map(Episode::frames).sum();

    let checks: Vec<&Check> = of_episodes().collect();
    let mut criterion = Criterion::default().configure_from_args();
    let mut group = criterion.benchmark_group("measure");
    group.throughput(Throughput::Elements(frames as u64));
    group.bench_function("all", |b| b.iter(|| measure(&episodes, &checks)));
    for check in &checks {
        group.bench_function(check.spec().id, |b| b.iter(|| measure(&episodes, &[*check])));
    }
    group.finish();
    criterion.final_summary();
    Ok(())
}
