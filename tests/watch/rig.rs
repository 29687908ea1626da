//! The rig of the first episodes: where more of them show another one, that is said once, and the report
//! is that of `audit`.

use std::error::Error;
use std::path::Path;

use super::running::{Place, Watching, verdicts, writer};
use crate::support::binary::Tested;
use crate::support::tables::{parquet, relisted, session, with};
use arrow::array::{AsArray as _, RecordBatch};
use arrow::datatypes::Int64Type;

/// A session in degrees whose first episode moves so little that it might be in radians.
fn small_first(path: &Path) -> Result<(), Box<dyn Error>> {
    let batch = session(8)?;
    let ids = batch.column_by_name("episode").ok_or("no episode")?;
    let first: Vec<bool> =
        ids.as_primitive::<Int64Type>().values().iter().map(|id| *id == 0).collect();
    let mut changed = batch.clone();
    for side in ["leader", "follower"] {
        let scaled = relisted(&batch, side, |row, values| {
            Some(values.into_iter().map(|v| if first[row] { 0.03 * v } else { v }).collect())
        })?;
        changed = with(&changed, side, &scaled)?;
    }
    parquet(path, &changed)
}

#[test]
fn a_unit_that_more_episodes_show_is_said_once_and_taken_for_the_report() -> Tested {
    let place = Place::new()?;
    let table = place.file("small.parquet");
    small_first(&table)?;
    let watching = Watching::start(&place, &[])?;
    let mut writer = writer(&table, &place.folder, "renamed", 0.5, 8)?;
    watching.until(8)?;
    assert!(writer.wait()?.success());
    let ended = watching.end()?;
    let said = ended.lines.lines().filter(|line| line.contains("Joint values in deg, not rad"));
    assert_eq!(said.count(), 1, "{}", ended.lines);
    let audited = place.audited()?;
    assert_eq!(audited["rig"]["unit"], "deg");
    assert_eq!(ended.report["rig"], audited["rig"]);
    assert_eq!(verdicts(&ended.report), verdicts(&audited));
    Ok(())
}

/// Two episodes with the same id.
fn alike() -> Result<[RecordBatch; 2], Box<dyn Error>> {
    let batch: RecordBatch = session(2)?;
    let ids = batch.column_by_name("episode").ok_or("no episode")?.clone();
    let ids = ids.as_primitive::<Int64Type>();
    let second = ids.values().iter().position(|id| *id == 1).ok_or("one episode")?;
    let parts = [batch.slice(0, second), batch.slice(second, ids.len() - second)];
    let [first, second] = parts.map(|part| crate::support::tables::without(&part, "episode"));
    Ok([first?, second?])
}

#[test]
fn episodes_of_one_name_are_named_as_by_an_audit() -> Tested {
    let place = Place::new()?;
    let watching = Watching::start(&place, &[])?;
    // One after the other: files that come together are taken as they are seen, and the first one
    // seen has the plain name.
    for (number, (folder, part)) in ["a", "b"].iter().zip(alike()?).enumerate() {
        let path = place.folder.join(folder).join("run.parquet");
        std::fs::create_dir_all(path.parent().ok_or("no folder")?)?;
        parquet(&path, &part)?;
        watching.until(number + 1)?;
    }
    let ended = watching.end()?;
    assert!(ended.lines.contains("ep run (b/run.parquet)"), "{}", ended.lines);
    assert_eq!(verdicts(&ended.report), verdicts(&place.audited()?));
    assert_eq!(ended.report["episodes"][1]["episode"], "b/run.parquet");
    Ok(())
}
