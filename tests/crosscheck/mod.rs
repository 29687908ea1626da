//! The tool against `scripts/cross_check.py`: five of the measurements in numpy and scipy, written
//! apart from it, on the demo session and on the real recordings. How far the two may be apart is
//! in `scripts/compare_readings.py`. Needs the Python of `scripts/venv`.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::support::binary::{Tested, run, said};
use crate::support::python::{python, real};

fn project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Runs a script of the project, which must succeed.
fn script(name: &str, args: &[&Path]) -> Result<String, Box<dyn Error>> {
    let output = Command::new(python()?).arg(project("scripts").join(name)).args(args).output()?;
    let reported = String::from_utf8_lossy(&output.stdout).into_owned();
    if output.status.success() {
        return Ok(reported);
    }
    Err(format!("{name}: {reported}{}", said(&output)).into())
}

fn agree(data: &Path, profile: &Path) -> Tested {
    let dir = tempfile::tempdir()?;
    let (ours, theirs) = (dir.path().join("tool.json"), dir.path().join("check.json"));
    let output = run(&[
        "audit".as_ref(),
        data.as_os_str(),
        "--profile".as_ref(),
        profile.as_os_str(),
        "--json-detail".as_ref(),
        "full".as_ref(),
        "--out-json".as_ref(),
        ours.as_os_str(),
    ])?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    script(
        "cross_check.py",
        &[data, Path::new("--profile"), profile, Path::new("--out"), theirs.as_path()],
    )?;
    let reported = script("compare_readings.py", &[&ours, &theirs])?;
    assert!(reported.contains("the readings agree"), "{reported}");
    Ok(())
}

#[test]
fn the_demo_session_reads_the_same_in_numpy() -> Tested {
    for (seed, rate) in [("1", "30"), ("2", "50"), ("3", "100")] {
        let dir = tempfile::tempdir()?;
        let place = dir.path().to_string_lossy().into_owned();
        let output = run(&["demo", &place, "--seed", seed, "--rate", rate])?;
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        agree(dir.path(), &dir.path().join("teleassay.toml"))?;
    }
    Ok(())
}

#[test]
fn the_real_recordings_read_the_same_in_numpy() -> Tested {
    for recording in ["arm-log", "arm-lag", "flight-1", "flight-2"] {
        let table = real()?.join(recording).with_extension("parquet");
        agree(&table, &project("fixtures/real").join(recording).with_extension("toml"))?;
    }
    Ok(())
}
