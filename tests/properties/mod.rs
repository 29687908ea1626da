//! What must hold for any recording: what does not matter changes nothing.

mod profiles;
mod stored;

use std::error::Error;
use std::sync::Arc;

use proptest::prelude::*;
use proptest::test_runner::TestCaseError;
use teleassay::demo::{Fault, Recipe, Recording, StoredUnit, WriteOptions, simulate, write};
use teleassay::model::{Channels, Episode, Rig};
use teleassay::profile::Profile;
use teleassay::source::Dataset;

use crate::support::measured::{Readings, audit, readings};
use crate::support::memory::Memory;

/// A small session with faults.
fn recipe(seed: u64, rate_hz: f64) -> Recipe {
    Recipe { episodes: 3, seed, rate_hz, ..Recipe::default() }
        .with(Fault::DroppedFrames { share: 0.04, burst: 2 }, None, &[1])
        .with(Fault::MissingValues { share: 0.02, run: 3 }, Some("elbow"), &[2])
        .with(Fault::LagJoint { ms: 200.0 }, Some("shoulder"), &[2])
}

fn simulated(recipe: &Recipe) -> Result<(Arc<Rig>, Vec<Episode>), Box<dyn Error>> {
    let recordings = simulate(recipe)?;
    let rig = Arc::new(recipe.surveyed_rig(&recordings));
    let episodes = recordings.iter().map(|recording: &Recording| recording.episode(&rig)).collect();
    Ok((rig, episodes))
}

fn read(rig: &Arc<Rig>, episodes: &[Episode]) -> Result<Readings, Box<dyn Error>> {
    Ok(readings(&audit(&Memory::new(rig, episodes, 2), 1)?, rig))
}

/// The same readings are there, and each within `off` of its neighbour, absolute and relative.
fn close(one: &Readings, other: &Readings, off: f64) -> Result<(), TestCaseError> {
    prop_assert!(one.len() > 100);
    let keys = |readings: &Readings| readings.keys().cloned().collect::<Vec<_>>();
    prop_assert_eq!(keys(one), keys(other));
    for (key, value) in one {
        let neighbour = other[key];
        let apart = (value - neighbour).abs();
        prop_assert!(apart <= off * (1.0 + value.abs()), "{key:?}: {value} and {neighbour}");
    }
    Ok(())
}

#[expect(clippy::needless_pass_by_value, reason = "what `map_err` hands on")]
fn fail(error: impl ToString) -> TestCaseError {
    TestCaseError::fail(error.to_string())
}

/// Any order of six joints.
fn order() -> impl Strategy<Value = Vec<usize>> {
    Just((0..6).collect::<Vec<_>>()).prop_shuffle()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    /// Stamps in whole 2^-20 s and shifts in whole seconds: the sums are exact.
    #[test]
    fn a_shift_of_the_clock_changes_no_reading(seed in 0u64..1000, shift in -1_000_000i32..1_000_000) {
        let (rig, mut episodes) = simulated(&recipe(seed, 30.0)).map_err(fail)?;
        let grain = 1_048_576.0;
        for episode in &mut episodes {
            episode.time_s.iter_mut().for_each(|t| *t = (*t * grain).round() / grain);
        }
        let before = read(&rig, &episodes).map_err(fail)?;
        for episode in &mut episodes {
            episode.time_s.iter_mut().for_each(|t| *t += f64::from(shift));
        }
        close(&before, &read(&rig, &episodes).map_err(fail)?, 1e-6)?;
    }

    #[test]
    fn joints_in_another_order_read_the_same(seed in 0u64..1000, order in order()) {
        let (rig, episodes) = simulated(&recipe(seed, 50.0)).map_err(fail)?;
        let turned = Arc::new(Rig {
            joints: order.iter().map(|from| rig.joints[*from].clone()).collect(),
            ..Rig::clone(&rig)
        });
        let turn = |channels: &Channels| {
            let values = order.iter().flat_map(|from| channels.joint(*from).to_vec()).collect();
            Channels::new(values, channels.frames(), channels.joints())
        };
        let others: Vec<Episode> = episodes
            .iter()
            .map(|episode| Episode {
                rig: Arc::clone(&turned),
                state: turn(&episode.state),
                action: episode.action.as_ref().map(turn),
                ..episode.clone()
            })
            .collect();
        let (one, other) = (read(&rig, &episodes), read(&turned, &others));
        close(&one.map_err(fail)?, &other.map_err(fail)?, 1e-12)?;
    }

    /// A value in degrees and in radians, each rounded to 32 bits, differ by 1e-7 of it.
    #[test]
    fn degrees_and_radians_read_the_same(seed in 0u64..1000) {
        let of = |unit| {
            let (rig, episodes) = simulated(&Recipe { unit, ..recipe(seed, 30.0) })?;
            read(&rig, &episodes)
        };
        let (deg, rad) = (of(StoredUnit::Deg).map_err(fail)?, of(StoredUnit::Rad).map_err(fail)?);
        close(&deg, &rad, 2e-5)?;
    }

    #[test]
    fn any_number_of_threads_and_shards_reads_the_same(
        seed in 0u64..1000, threads in 2usize..6, to_a_shard in 1usize..4,
    ) {
        let (rig, episodes) = simulated(&recipe(seed, 30.0)).map_err(fail)?;
        let one = audit(&Memory::new(&rig, &episodes, 3), 1).map_err(fail)?;
        let many = audit(&Memory::new(&rig, &episodes, to_a_shard), threads).map_err(fail)?;
        let told = |outcome: &teleassay::model::Outcome| {
            format!("{:?} {:?} {:?}", outcome.session, outcome.cards, outcome.unread)
        };
        prop_assert_eq!(told(&one), told(&many));
    }

    #[test]
    fn any_cut_into_row_groups_and_files_reads_the_same(
        seed in 0u64..1000, row_group_rows in 20usize..3000, episodes_per_file in 1u64..4,
    ) {
        let recipe = recipe(seed, 30.0);
        let of = |options: &WriteOptions| -> Result<Readings, Box<dyn Error>> {
            let dir = tempfile::tempdir()?;
            write(dir.path(), &recipe, options)?;
            let profile = Profile::read(&dir.path().join("teleassay.toml"), &[])?;
            let path = dir.path().to_string_lossy().into_owned();
            let source = Dataset::open(&[path], &profile.declared)?;
            let outcome = audit(&source, 2)?;
            Ok(readings(&outcome, teleassay::source::Source::rig(&source)))
        };
        let whole = WriteOptions { episodes_per_file: 3, ..WriteOptions::default() };
        let cut = WriteOptions { row_group_rows, episodes_per_file, ..WriteOptions::default() };
        prop_assert_eq!(of(&whole).map_err(fail)?, of(&cut).map_err(fail)?);
    }
}
