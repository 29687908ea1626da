//! The lines of `docs/pipelines.md` that convert HDF5, run as they stand there: the readings of the
//! Parquet that was recorded.

use std::path::Path;
use std::process::Command;

use serde_json::Value;
use teleassay::demo::{Fault, Recipe, WriteOptions, write};

use super::text::readings;
use crate::support::binary::{Tested, said, scorecard};
use crate::support::python::python;

/// Writes each episode of a table by h5py, the reference writer of HDF5 for Python, and as Parquet.
const WRITER: &str = "
import pathlib, sys, h5py, numpy, pyarrow.compute as pc, pyarrow.parquet as pq
source, out = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
table = pq.read_table(source)
(out / 'hdf5').mkdir()
(out / 'parquet').mkdir()
for episode in pc.unique(table['episode']).to_pylist():
    rows = table.filter(pc.equal(table['episode'], episode)).drop_columns(['episode', 'task'])
    pq.write_table(rows, out / 'parquet' / f'run-{episode}.parquet')
    with h5py.File(out / 'hdf5' / f'run-{episode}.h5', 'w') as file:
        file['time'] = rows['time'].to_numpy()
        for name, side in (('state', 'follower'), ('action', 'leader')):
            values = numpy.stack(rows[side].to_numpy())
            file.create_dataset(name, data=values, compression='gzip')
";

/// The first block of Python of a page in which these words are.
fn block<'a>(page: &'a str, words: &str) -> Option<&'a str> {
    let blocks = page.split("```python\n").skip(1).filter_map(|rest| rest.split("```").next());
    blocks.into_iter().find(|block| block.contains(words))
}

fn python_in(folder: &Path, args: &[&str]) -> Tested {
    let output = Command::new(python()?).current_dir(folder).args(args).output()?;
    assert!(output.status.success(), "{}", said(&output));
    Ok(())
}

#[test]
fn hdf5_reads_as_parquet_does_once_it_is_converted_as_the_page_says() -> Tested {
    let dir = tempfile::tempdir()?;
    let recipe = Recipe { episodes: 5, seed: 63, ..Recipe::default() }
        .with(Fault::DroppedFrames { share: 0.05, burst: 2 }, None, &[1])
        .with(Fault::LagJoint { ms: 250.0 }, Some("shoulder"), &[3]);
    let source = dir.path().join("source");
    write(&source, &recipe, &WriteOptions { with_papers: false, ..WriteOptions::default() })?;
    python_in(dir.path(), &["-c", WRITER, "source/part-0.parquet", "."])?;
    let page = include_str!("../../docs/pipelines.md");
    let lines = block(page, "h5py").ok_or("no lines that convert HDF5")?;
    python_in(dir.path(), &["-c", lines])?;

    let wanted = scorecard(&[dir.path().join("parquet")])?;
    let found = scorecard(&[dir.path().join("hdf5")])?;
    assert_eq!(found["unread"], Value::Array(Vec::new()));
    assert_eq!(found["session"]["episodes"], 5);
    assert_eq!(found["session"]["counts"], wanted["session"]["counts"]);
    let (ours, theirs) = (readings(&found), readings(&wanted));
    assert!(theirs.len() > 250);
    assert_eq!(ours, theirs);
    Ok(())
}
