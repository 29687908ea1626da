//! The real binary, run as a person or a script runs it.

use std::error::Error;
use std::ffi::OsStr;
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;

/// What a test gives back.
pub type Tested = Result<(), Box<dyn Error>>;

/// Runs the binary.
pub fn run<A: AsRef<OsStr>>(args: &[A]) -> Result<Output, Box<dyn Error>> {
    let mut command = Command::cargo_bin("teleassay")?;
    Ok(command.env_remove("CLICOLOR_FORCE").env("NO_COLOR", "1").args(args).output()?)
}

/// What it said on standard error.
pub fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Runs `audit --format json` and gives the whole report, at exit 0 or 1.
pub fn scorecard<A: AsRef<OsStr>>(args: &[A]) -> Result<Value, Box<dyn Error>> {
    let mut all: Vec<&OsStr> = vec![OsStr::new("audit")];
    all.extend(args.iter().map(AsRef::as_ref));
    all.extend(["--format", "json", "--json-detail", "full"].map(OsStr::new));
    let output = run(&all)?;
    let code = output.status.code();
    if !matches!(code, Some(0 | 1)) {
        return Err(format!("exit {code:?} of {all:?}: {}", said(&output)).into());
    }
    Ok(serde_json::from_slice(&output.stdout)?)
}
