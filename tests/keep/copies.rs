//! Kept rows against pyarrow and `DuckDB`, which read both sides (`scripts/check_copies.py`), and turns
//! against `numpy.unwrap`.

use std::path::{Path, PathBuf};
use std::process::Command;

use assert_cmd::cargo::cargo_bin;
use teleassay::demo::{Fault, Layout, Recipe};

use super::Session;
use crate::support::binary::{Tested, said};
use crate::support::python::python;

fn script(name: &str, args: &[&Path]) -> Result<String, Box<dyn std::error::Error>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts").join(name);
    let output = Command::new(python()?).arg(path).args(args).output()?;
    let reported = String::from_utf8_lossy(&output.stdout).into_owned();
    if output.status.success() {
        Ok(reported)
    } else {
        Err(format!("{reported}{}", said(&output)).into())
    }
}

#[test]
fn kept_rows_are_the_same_to_the_bit_whatever_the_types_and_layouts() -> Tested {
    let dir = tempfile::tempdir()?;
    let binary = cargo_bin("teleassay");
    let args = [&binary, dir.path(), Path::new("0"), Path::new("45")];
    let reported = script("check_copies.py", &args)?;
    for kind in ["parquet 20", "duckdb-parquet 5", "file 5", "stream 5", "csv 5", "jsonl 5"] {
        assert!(reported.contains(kind), "{reported}");
    }
    Ok(())
}

#[test]
fn turns_are_those_of_numpy_and_nothing_else_is_changed() -> Tested {
    for (layout, seed) in [(Layout::List, 3), (Layout::Scalars, 4), (Layout::IpcStream, 5)] {
        let recipe = Recipe { episodes: 6, seed, ..Recipe::default() };
        let recipe = recipe.with(Fault::EncoderWrap, Some("waist"), &[]);
        let session = Session::new(&recipe, layout)?;
        session.keep("copy", &["--mend", "unwrap:waist", "--keep-from", "fail"])?;
        let copy = session.path("copy");
        let args = [session.source(), copy, "waist".into(), "360".into()];
        let reported = script("check_turns.py", &args.each_ref().map(PathBuf::as_path))?;
        assert!(reported.contains("the turns agree"), "{reported}");
    }
    Ok(())
}
