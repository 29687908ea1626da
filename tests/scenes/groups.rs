//! Episodes by task, label, folder key, file and day.

use std::sync::Arc;

use arrow::array::{ArrayRef, AsArray, Int64Array, StringArray};
use arrow::datatypes::Int64Type;
use serde_json::Value;
use teleassay::demo::{Fault, Recipe, WriteOptions, write};

use super::{Tested, audit};
use crate::support::binary::{run, said, scorecard};
use crate::support::tables;

const NONE: [&str; 0] = [];

/// Folder keys are columns: who records badly is seen at once.
#[test]
fn a_folder_key_is_a_column() -> Tested {
    let dir = tempfile::tempdir()?;
    for (operator, seed, lost) in [("ada", 51, vec![]), ("ben", 52, vec![0, 1, 2])] {
        let folder = dir.path().join(format!("operator={operator}"));
        std::fs::create_dir(&folder)?;
        let recipe = Recipe { episodes: 6, seed, ..Recipe::default() };
        let recipe = if lost.is_empty() {
            recipe
        } else {
            recipe.with(Fault::DroppedFrames { share: 0.06, burst: 3 }, None, &lost)
        };
        let options = WriteOptions { with_papers: false, ..WriteOptions::default() };
        write(&folder, &recipe, &options)?;
    }
    let seen = audit(dir.path(), &["--by", "operator"])?;
    seen.exits(1).has(&["operator episodes usable failed (95 %) main cause"]);
    let line = |name: &str| seen.lines.iter().find(|line| line.trim_start().starts_with(name));
    let words = |name: &str| -> Vec<String> {
        line(name).into_iter().flat_map(|l| l.split_whitespace()).map(str::to_owned).collect()
    };
    let (ada, ben) = (words("ada"), words("ben"));
    assert_eq!((ada[1].as_str(), ada[4].as_str()), ("6", "0"), "{}", seen.text);
    assert_eq!((ben[1].as_str(), ben[4].as_str()), ("6", "50"), "{}", seen.text);
    assert!(ben.ends_with(&["dropped".to_owned(), "frames".to_owned()]), "{}", seen.text);
    // The one that fails more often stands first.
    let place = |name: &str| seen.lines.iter().position(|l| l.trim_start().starts_with(name));
    assert!(place("ben") < place("ada"));
    let card = scorecard(&[dir.path()])?;
    let by = group_of(&card, "operator", "ben")?;
    assert_eq!((&by["fail"], &by["main_cause"]), (&3.into(), &"dropped-frames".into()));
    Ok(())
}

fn group_of(card: &Value, key: &str, name: &str) -> Result<Value, Box<dyn std::error::Error>> {
    let all = card["session"]["breakdowns"].as_array().ok_or("no breakdowns")?;
    let by = all.iter().find(|by| by["by"] == key).ok_or("no such key")?;
    let groups = by["groups"].as_array().ok_or("no groups")?;
    Ok(groups.iter().find(|group| group["name"] == name).ok_or("no such group")?.clone())
}

/// A column of the table that the profile declares as a label; stored measurements keep it.
#[test]
fn a_declared_label_is_read_and_stored() -> Tested {
    let dir = tempfile::tempdir()?;
    let batch = tables::session(6)?;
    let ids = batch.column_by_name("episode").ok_or("no episodes")?.as_primitive::<Int64Type>();
    let house = |id: i64| if id < 4 { "north" } else { "south" };
    let houses: ArrayRef =
        Arc::new(ids.values().iter().map(|id| Some(house(*id))).collect::<StringArray>());
    let trays: ArrayRef = Arc::new(ids.values().iter().map(|id| id % 2).collect::<Int64Array>());
    let batch = tables::with(&tables::with(&batch, "house", &houses)?, "tray", &trays)?;
    let data = dir.path().join("data");
    std::fs::create_dir(&data)?;
    tables::parquet(&data.join("part-0.parquet"), &batch)?;
    let profile = data.join("teleassay.toml");
    std::fs::write(&profile, "[columns]\nlabels = [\"house\", \"tray\"]\n")?;
    let stored = dir.path().join("stored.parquet");
    let seen = audit(
        &data,
        &["--by".as_ref(), "house".as_ref(), "--out-scorecard".as_ref(), stored.as_os_str()],
    )?;
    seen.has(&["north 4", "south 2"]);
    let output = run(&["judge".as_ref(), stored.as_os_str(), "--by".as_ref(), "tray".as_ref()])?;
    let text = String::from_utf8(output.stdout.clone())?;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains(" 0 3 ") && text.contains(" 1 3 "), "{text} {}", said(&output));
    Ok(())
}

/// A key that no episode has is refused, with those that there are.
#[test]
fn an_unknown_key_names_the_known_ones() -> Tested {
    let dir = tempfile::tempdir()?;
    let recipe = Recipe { episodes: 6, seed: 53, ..Recipe::default() };
    let options = WriteOptions { episodes_per_file: 3, ..WriteOptions::default() };
    write(dir.path(), &recipe, &options)?;
    let output = run(&["audit".as_ref(), dir.path().as_os_str(), "--by".as_ref(), "who".as_ref()])?;
    assert_eq!(output.status.code(), Some(2));
    let text = said(&output);
    assert!(text.contains("they differ in file"), "{text}");
    assert!(text.contains("labels = [\"who\"]"), "{text}");
    std::fs::write(dir.path().join("teleassay.toml"), "[columns]\nlabels = [\"who\"]\n")?;
    let output = run(&["audit".as_ref(), dir.path().as_os_str()])?;
    assert!(said(&output).contains("who"), "{}", said(&output));
    assert_eq!((output.status.code(), NONE.len()), (Some(2), 0));
    Ok(())
}
