//! Demo sessions as they lie on disk.

mod answers;

use std::collections::BTreeMap;
use std::error::Error;
use std::fs::File;
use std::path::Path;

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{DataType, Float32Type, Float64Type, Int64Type};
use arrow::ipc::reader::{FileReader, StreamReader};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::file::metadata::RowGroupMetaData;
use teleassay::demo::{
    Layout, Recipe, Simulator, StoredUnit, WriteOptions, healthy, simulate, write,
};

use crate::support::recipes;

/// The content of a session: per episode its stamps, and its vectors row by row as bits.
type Content = BTreeMap<i64, (Vec<f64>, Vec<Vec<u32>>)>;

fn batches(path: &Path) -> Result<Vec<RecordBatch>, Box<dyn Error>> {
    let file = File::open(path)?;
    Ok(match path.extension().and_then(|e| e.to_str()) {
        Some("arrow") => FileReader::try_new(file, None)?.collect::<Result<_, _>>()?,
        Some("arrows") => StreamReader::try_new(file, None)?.collect::<Result<_, _>>()?,
        _ => ParquetRecordBatchReaderBuilder::try_new(file)?.build()?.collect::<Result<_, _>>()?,
    })
}

/// All numbers of a row in the columns of a role, whatever their shape.
fn numbers(batch: &RecordBatch, role: &str, row: usize) -> Vec<u32> {
    let bits = |array: &dyn Array| -> Vec<u32> {
        array.as_primitive::<Float32Type>().values().iter().map(|v| v.to_bits()).collect()
    };
    let mut found = Vec::new();
    for (field, column) in batch.schema().fields().iter().zip(batch.columns()) {
        if !field.name().starts_with(role) {
            continue;
        }
        match field.data_type() {
            DataType::List(_) => found.extend(bits(&column.as_list::<i32>().value(row))),
            DataType::LargeList(_) => found.extend(bits(&column.as_list::<i64>().value(row))),
            DataType::FixedSizeList(..) => {
                found.extend(bits(&column.as_fixed_size_list().value(row)));
            }
            DataType::Struct(_) => {
                found.extend(column.as_struct().columns().iter().map(|c| bits(c)[row]));
            }
            _ => found.push(bits(column)[row]),
        }
    }
    found
}

fn content(tables: &[std::path::PathBuf]) -> Result<Content, Box<dyn Error>> {
    let mut content = Content::new();
    for batch in tables.iter().map(|p| batches(p)).collect::<Result<Vec<_>, _>>()?.concat() {
        let column = |name: &str| batch.column_by_name(name).cloned().ok_or(name.to_owned());
        let (episode, time) = (column("episode")?, column("time")?);
        for row in 0..batch.num_rows() {
            let id = episode.as_primitive::<Int64Type>().value(row);
            let entry = content.entry(id).or_default();
            entry.0.push(time.as_primitive::<Float64Type>().value(row));
            let mut values = numbers(&batch, "follower", row);
            values.extend(numbers(&batch, "leader", row));
            entry.1.push(values);
        }
    }
    Ok(content)
}

#[test]
fn all_layouts_and_row_groups_hold_the_same_session() -> Result<(), Box<dyn Error>> {
    let recipe = Recipe { episodes: 3, ..Recipe::default() };
    let mut first: Option<Content> = None;
    for layout in Layout::ALL {
        for (row_group_rows, compressed) in [(100_000, true), (130, false)] {
            let dir = tempfile::tempdir()?;
            let options = WriteOptions {
                layout,
                row_group_rows,
                compressed,
                episodes_per_file: 2,
                ..WriteOptions::default()
            };
            let written = write(dir.path(), &recipe, &options)?;
            let files = if layout == Layout::FilePerEpisode { 3 } else { 2 };
            assert_eq!(written.tables.len(), files, "{layout:?}");
            let content = content(&written.tables)?;
            let rows: usize = content.values().map(|(time, _)| time.len()).sum();
            assert_eq!(rows as u64, written.frames);
            assert_eq!(first.get_or_insert_with(|| content.clone()), &content, "{layout:?}");
        }
    }
    Ok(())
}

#[test]
fn row_groups_are_as_long_as_asked() -> Result<(), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let options = WriteOptions { row_group_rows: 500, ..WriteOptions::default() };
    let written = write(dir.path(), &Recipe { episodes: 4, ..Recipe::default() }, &options)?;
    let file = File::open(&written.tables[0])?;
    let builder = ParquetRecordBatchReaderBuilder::try_new(file)?;
    let groups = builder.metadata().row_groups();
    let groups: Vec<i64> = groups.iter().map(RowGroupMetaData::num_rows).collect();
    let [whole @ .., last] = &groups[..] else { return Err("no row group".into()) };
    assert!(whole.len() > 2 && whole.iter().all(|rows| *rows == 500) && *last <= 500);
    Ok(())
}

#[test]
fn a_demo_session_comes_with_its_profile_and_answer_key() -> Result<(), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let written = write(dir.path(), &Recipe::nursery(), &WriteOptions::default())?;
    let names: Vec<_> = written.tables.iter().filter_map(|p| p.file_name()).collect();
    assert_eq!(names, ["part-0.parquet", "part-1.parquet", "part-2.parquet"]);
    let profile: toml::Table =
        toml::from_str(&std::fs::read_to_string(dir.path().join("teleassay.toml"))?)?;
    assert_eq!(profile["rig"]["rate_hz"].as_float(), Some(30.0));
    let text = std::fs::read_to_string(dir.path().join("answers.json"))?;
    let key: serde_json::Value = serde_json::from_str(&text)?;
    assert_eq!(key["schema"], teleassay::demo::ANSWERS_SCHEMA);
    let episodes = key["episodes"].as_array().ok_or("episodes")?;
    assert_eq!(episodes.len(), 24);
    let lost = &episodes[2]["planted"][0];
    assert_eq!(lost["check"], "dropped-frames");
    assert_eq!(lost["frames"].as_array().map(Vec::len), Some(10));
    assert_eq!(serde_json::from_value::<Recipe>(key["recipe"].clone())?, Recipe::nursery());

    let again = tempfile::tempdir()?;
    write(again.path(), &Recipe::nursery(), &WriteOptions::default())?;
    for entry in std::fs::read_dir(dir.path())? {
        let name = entry?.file_name();
        let (one, two) = (dir.path().join(&name), again.path().join(&name));
        assert!(std::fs::read(one)? == std::fs::read(two)?, "{} differs", name.display());
    }
    Ok(())
}

#[test]
fn every_recipe_plants_what_it_says() -> Result<(), Box<dyn Error>> {
    let names = recipes::names()?;
    assert!(names.len() >= 10, "{names:?}");
    for name in names {
        let recipe = recipes::load(&name)?;
        let recordings = simulate(&recipe)?;
        let planted: usize = recordings.iter().map(|r| r.truth.answers.len()).sum();
        let expected: usize = recipe
            .faults
            .iter()
            .map(
                |p| if p.episodes.is_empty() { recipe.episodes as usize } else { p.episodes.len() },
            )
            .sum();
        assert_eq!(planted, expected, "{name}");
        for recording in &recordings {
            for answer in &recording.truth.answers {
                assert!(answer.count > 0 && !answer.frames.is_empty(), "{name}: {answer:?}");
                let inside = |span: &[usize; 2]| span[0] < span[1] && span[1] <= recording.frames();
                assert!(answer.frames.iter().all(inside), "{name}: {answer:?}");
            }
        }
    }
    assert_eq!(recipes::load("nursery.json")?, Recipe::nursery());
    Ok(())
}

#[test]
fn a_large_session_is_simulated_one_episode_at_a_time() -> Result<(), Box<dyn Error>> {
    let recipe = healthy(50.0, 6, StoredUnit::Deg, 100_000, 1);
    let simulator = Simulator::new(&recipe)?;
    assert_eq!(simulator.episode(99_999).id, 99_999);
    assert_eq!(simulator.episodes().take(2).count(), 2);
    Ok(())
}
