//! A disk that is full: each kind of output fails with its name, and none is left that looks complete.

#![cfg(unix)]

use std::path::Path;
use std::process::{Command, Output};

use crate::support::binary::{Tested, run, said};

/// Runs the binary where no file may be longer than some blocks of 512 bytes: what is written beyond
/// that fails as on a full disk (setrlimit(2), `RLIMIT_FSIZE`, with the signal ignored).
fn bounded(blocks: u32, args: &[&str]) -> std::io::Result<Output> {
    let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\"");
    let program = assert_cmd::cargo::cargo_bin!("teleassay");
    Command::new("sh").args(["-c", &script, "sh"]).arg(program).args(args).output()
}

fn names(dir: &Path) -> std::io::Result<Vec<String>> {
    let entries = std::fs::read_dir(dir)?;
    entries.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned())).collect()
}

#[test]
fn each_output_fails_with_its_name_and_leaves_nothing() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("s").to_string_lossy().into_owned();
    assert_eq!(run(&["demo", &place, "--episodes", "40"])?.status.code(), Some(0));
    for (option, name) in [
        ("--out-json", "r.json"),
        ("--out-html", "r.html"),
        ("--out-measurements", "m.parquet"),
        ("--out-measurements", "m.csv"),
        ("--out-findings", "f.parquet"),
        ("--out-findings", "f.csv"),
        ("--out-junit", "j.xml"),
        ("--out-keep-list", "k.json"),
    ] {
        let out = dir.path().join(name.replace('.', "-"));
        std::fs::create_dir(&out)?;
        let file = out.join(name).to_string_lossy().into_owned();
        let args = ["audit", &place, "--quiet", "--fail-on=never", "--json-detail=full"];
        let output = bounded(1, &[&args[..], &[option, &file]].concat())?;
        let text = said(&output);
        assert_eq!(output.status.code(), Some(2), "{name}: {text}");
        assert!(text.contains(&file) && text.contains("cannot be written"), "{name}: {text}");
        assert_eq!(names(&out)?, Vec::<String>::new(), "{name}");
    }
    Ok(())
}

#[test]
fn a_copy_and_a_demo_on_a_full_disk_leave_nothing() -> Tested {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("s").to_string_lossy().into_owned();
    let output = bounded(8, &["demo", &place])?;
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(said(&output).contains("part-0.parquet"), "{}", said(&output));
    assert_eq!(names(Path::new(&place))?, Vec::<String>::new());
    assert_eq!(run(&["demo", &place])?.status.code(), Some(0));
    let copy = dir.path().join("copy").to_string_lossy().into_owned();
    let output = bounded(8, &["keep", &place, "--to", &copy])?;
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(said(&output).contains("copy"), "{}", said(&output));
    assert_eq!(names(dir.path())?, ["s"]);
    Ok(())
}

/// Standard output on a full device: `/dev/full` of full(4).
#[test]
fn a_full_standard_output_is_an_error() -> Tested {
    if !Path::new("/dev/full").exists() {
        return Ok(());
    }
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full")?;
    let output = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"))
        .args(["explain", "--all"])
        .stdout(full)
        .output()?;
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(said(&output).contains("standard output cannot be written"), "{}", said(&output));
    Ok(())
}
