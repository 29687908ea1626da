//! A whole process that reads a dataset and measures nothing: what `scripts/bench` times next to
//! the scans of other libraries. `cargo bench --features internals --bench scan -- PATH` prints
//! rows and seconds.

use std::error::Error;
use std::io::Write;
use std::time::Instant;

use teleassay::engine::Workers;
use teleassay::source::{Dataset, Declared, Source};

fn main() -> Result<(), Box<dyn Error>> {
    let begun = Instant::now();
    let Some(path) = std::env::args().skip(1).find(|argument| !argument.starts_with("--")) else {
        // `cargo bench` without a path has nothing to scan.
        return Ok(());
    };
    let workers = Workers::start(None)?;
    let dataset = workers.run(|| Dataset::open(&[path], &Declared::default()))?;
    let shards: Vec<usize> = (0..dataset.shards()).collect();
    let frames = workers.map(&shards, |shard| {
        let mut frames = 0;
        dataset.read(*shard, &mut |episode| frames += episode.frames());
        frames
    });
    let (frames, seconds) = (frames.iter().sum::<usize>(), begun.elapsed().as_secs_f64());
    writeln!(std::io::stdout(), "{frames} {seconds:.4}")?;
    Ok(())
}
