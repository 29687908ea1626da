//! Ways of the hand, as people went them: seven demonstrations of one pattern with one of another
//! among them.

use std::collections::BTreeMap;
use std::fs::File;
use std::sync::Arc;

use arrow::array::AsArray;
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float64Type, Int64Type};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use teleassay::catalogue::find;
use teleassay::check::{CohortSheet, Params};
use teleassay::model::{
    Channels, Episode, EpisodeKey, Extras, Joint, Ledger, Rig, Row, RowRange, Sketch,
};

use crate::support::binary::Tested;
use crate::support::python::real;

type Read<T> = Result<T, Box<dyn std::error::Error>>;

/// The sketches of every pattern's demonstrations, by the pattern's name.
fn patterns() -> Read<BTreeMap<String, Vec<Sketch>>> {
    let rig = Rig { joints: vec![Joint::named("x"), Joint::named("y")], ..Rig::default() };
    let rig = Arc::new(rig);
    let mut all = BTreeMap::new();
    for entry in std::fs::read_dir(real()?.join("handwriting"))? {
        let path = entry?.path();
        let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(&path)?)?;
        let rows = reader.metadata().file_metadata().num_rows() as usize;
        let batch = reader.with_batch_size(rows).build()?.next().ok_or("an empty table")??;
        let column = |name: &str| -> Read<Vec<f64>> {
            let column = batch.column_by_name(name).ok_or("no such column")?;
            Ok(cast(column, &DataType::Float64)?.as_primitive::<Float64Type>().values().to_vec())
        };
        let (time_s, x, y) = (column("time_s")?, column("follower_x")?, column("follower_y")?);
        let ids = batch.column_by_name("episode").ok_or("no episodes")?;
        let ids = cast(ids, &DataType::Int64)?.as_primitive::<Int64Type>().values().to_vec();
        let mut sketches = Vec::new();
        for part in ids.chunk_by(|a, b| a == b).scan(0, |start, part| {
            *start += part.len();
            Some(*start - part.len()..*start)
        }) {
            let frames = part.len();
            let both = x[part.clone()].iter().chain(&y[part.clone()]).map(|v| *v as f32).collect();
            sketches.push(Sketch::of(&Episode {
                key: EpisodeKey {
                    id: String::new(),
                    index: 0.into(),
                    task: None,
                    rows: RowRange { input: 0, start: 0, end: frames as u64 },
                    labels: Vec::new(),
                },
                rig: Arc::clone(&rig),
                time_s: time_s[part].to_vec(),
                state: Channels::new(both, frames, 2),
                action: None,
                ragged_rows: 0,
                extras: Extras::default(),
            }));
        }
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        all.insert(name, sketches);
    }
    Ok(all)
}

fn read(check: &str, sketches: &[&Sketch]) -> Read<CohortSheet<'static>> {
    let mut ledger = Ledger::default();
    for sketch in sketches {
        let motion = Some(sketch.motion());
        ledger.push(Row { frames: 1_000, duration_s: 4.0, task: None, motion }, &[]);
    }
    let mut sheet = CohortSheet::default();
    find(check).ok_or("no such check")?.measure_session(&ledger, &Params::default(), &mut sheet);
    Ok(sheet)
}

fn distances(sheet: &CohortSheet) -> Vec<f64> {
    sheet.episodes.iter().map(|(_, reading, _)| reading.value).collect()
}

/// All 26 single patterns with each demonstration of the other 25: 4550 sets. A reference in numpy
/// (mean distance to the pointwise median) ranks the stranger first in 99.69 % of them and flags
/// it in 99.38 %, and flags 6 of the 182 demonstrations among their own.
#[test]
fn a_stranger_is_found_among_seven_demonstrations() -> Tested {
    let all = patterns()?;
    let single: Vec<&Vec<Sketch>> =
        all.iter().filter(|(name, _)| !name.starts_with("Multi")).map(|(_, own)| own).collect();
    let (mut sets, mut first, mut flagged, mut others) = (0, 0, 0, 0);
    for (at, own) in single.iter().enumerate() {
        for (_, other) in single.iter().enumerate().filter(|(other, _)| *other != at) {
            for stranger in *other {
                let set: Vec<&Sketch> = own.iter().chain([stranger]).collect();
                let far = distances(&read("path-outlier", &set)?);
                sets += 1;
                first += usize::from(far[..7].iter().all(|d| *d < far[7]));
                flagged += usize::from(far[7] > 1.0);
                others += far[..7].iter().filter(|d| **d > 1.0).count();
            }
        }
    }
    assert_eq!(sets, 4_550);
    assert!(first * 1_000 >= sets * 998, "{first} first");
    // What is missed, 38 sets, is missed of a few patterns whose demonstrations differ much; the reference
    // misses 28.
    assert!(flagged >= sets - 38, "{flagged} flagged");
    // One demonstration is odd among its own, whoever the stranger is.
    assert!(others * 100 <= sets * 7, "{others} of the seven flagged");
    Ok(())
}

#[test]
fn demonstrations_among_their_own_are_left_alone_and_none_is_a_copy() -> Tested {
    let (mut flagged, mut sets, mut alarmed) = (0, 0, 0);
    for (name, own) in patterns()? {
        let set: Vec<&Sketch> = own.iter().collect();
        let copies = read("duplicate-episode", &set)?;
        assert!(copies.episodes.iter().all(|(_, reading, _)| reading.value == 0.0), "{name}");
        if !name.starts_with("Multi") {
            let sheet = read("path-outlier", &set)?;
            let odd = distances(&sheet).iter().filter(|d| **d > 1.0).count();
            flagged += odd;
            sets += 1;
            alarmed += usize::from(odd > 0);
            assert_eq!(sheet.session[0].reading.value, 1.0, "{name}: groups");
        }
    }
    assert_eq!(sets, 26);
    assert!(flagged <= 2 && alarmed <= 1, "{flagged} of 182 demonstrations, {alarmed} of 26 sets");
    Ok(())
}

/// Three patterns hold two ways to write them, demonstrations 0 to 3 and 4 to 6.
#[test]
fn two_ways_to_write_are_two_groups() -> Tested {
    let all = patterns()?;
    for name in ["Multi_Models_2", "Multi_Models_3", "Multi_Models_4"] {
        let set: Vec<&Sketch> = all.get(name).ok_or("no such pattern")?.iter().collect();
        let sheet = read("path-outlier", &set)?;
        assert!(distances(&sheet).iter().all(|d| *d <= 1.0), "{name}");
        let reading = &sheet.session[0].reading;
        assert_eq!((reading.metric.id, reading.value), ("path_groups", 2.0), "{name}");
        assert_eq!(
            reading.note.as_deref(),
            Some("demonstrations fall into 2 groups, of 4 and 3 episodes"),
            "{name}"
        );
    }
    Ok(())
}
