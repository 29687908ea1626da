//! The real binary: help, wrong usage, exit codes.

use std::error::Error;
use std::process::Output;

use assert_cmd::Command;

type Tested = Result<(), Box<dyn Error>>;

fn run(args: &[&str]) -> Result<Output, Box<dyn Error>> {
    Ok(Command::cargo_bin("teleassay")?.env_remove("CLICOLOR_FORCE").args(args).output()?)
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn help_goes_to_standard_output() -> Tested {
    for args in [&["--help"][..], &["audit", "--help"], &["columns", "-h"], &["demo", "-h"]] {
        let output = run(args)?;
        assert_eq!(output.status.code(), Some(0), "{args:?}");
        assert!(String::from_utf8(output.stdout)?.contains("Usage: teleassay"), "{args:?}");
        assert!(output.stderr.is_empty(), "{args:?}");
    }
    Ok(())
}

#[test]
fn wrong_usage_is_two_and_says_what() -> Tested {
    let cases: [(&[&str], &str); 7] = [
        (&["audit", "--epsiode", "3", "x"], "--episode"),
        (&["audit"], "PATH"),
        (&["inspect", "x"], "unrecognized subcommand"),
        (&["audit", "x", "--rate", "0"], "must be a number above zero"),
        (&["audit", "x", "--format", "xml"], "jsonl"),
        (&["audit", ".", "--only", "weather"], "there is no check \"weather\""),
        (&["audit", ".", "--out-measurements", "cards.xls"], ".parquet"),
    ];
    for (args, what) in cases {
        let output = run(args)?;
        assert_eq!(output.status.code(), Some(2), "{args:?}: {}", said(&output));
        assert!(said(&output).contains(what), "{args:?}: {}", said(&output));
        assert!(output.stdout.is_empty(), "{args:?}");
    }
    Ok(())
}

#[test]
fn a_missing_file_is_one_clear_line_and_a_way_out() -> Tested {
    for command in ["audit", "columns"] {
        let output = run(&[command, "no/such/file.parquet"])?;
        assert_eq!(output.status.code(), Some(2));
        let text = said(&output);
        assert_eq!(text.lines().count(), 2, "{text}");
        assert!(text.starts_with("error: no/such/file.parquet: no such file"), "{text}");
        assert!(text.contains("hint: check the spelling"), "{text}");
    }
    Ok(())
}

#[test]
fn a_bad_profile_is_named_with_its_line() -> Tested {
    let dir = tempfile::tempdir()?;
    let path = dir.path().join("teleassay.toml");
    std::fs::write(&path, "[rig]\nrate_hz = 30\nunit = \"grads\"\n")?;
    let output = run(&["audit", &dir.path().to_string_lossy()])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("line 3: there is no unit \"grads\""), "{}", said(&output));
    let output = run(&["audit", ".", "--profile", "nowhere.toml"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("nowhere.toml cannot be read"), "{}", said(&output));
    Ok(())
}

#[test]
fn explain_prints_the_schema_and_knows_no_stranger() -> Tested {
    let output = run(&["explain", "--json-schema"])?;
    assert_eq!(output.status.code(), Some(0));
    let schema: serde_json::Value = serde_json::from_slice(&output.stdout)?;
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    assert_eq!(run(&["explain"])?.status.code(), Some(0));
    let output = run(&["explain", "weather"])?;
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("hint: `teleassay explain` lists the checks"));
    Ok(())
}

#[test]
fn a_reader_that_stops_reading_is_no_error() -> Tested {
    let (reader, writer) = std::io::pipe()?;
    drop(reader);
    let status = std::process::Command::new(assert_cmd::cargo::cargo_bin!("teleassay"))
        .args(["explain", "--json-schema"])
        .stdout(writer)
        .status()?;
    assert_eq!(status.code(), Some(0));
    Ok(())
}
