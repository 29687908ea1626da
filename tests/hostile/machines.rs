//! Machines and folders as nobody sets them up.

#![cfg(unix)]

use std::error::Error;
use std::ffi::OsStr;
use std::os::unix::ffi::OsStrExt as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::tables::{parquet, session};

fn folder() -> Result<tempfile::TempDir, Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    parquet(&dir.path().join("a.parquet"), &session(2)?)?;
    Ok(dir)
}

fn shell(script: &str, path: &Path) -> Result<Output, Box<dyn Error>> {
    let program = assert_cmd::cargo::cargo_bin!("teleassay");
    Ok(Command::new("sh").args(["-c", script, "sh"]).arg(program).arg(path).output()?)
}

/// A pipe without a writer would wait for ever.
#[test]
fn pipes_sockets_and_devices_are_refused_at_once() -> Tested {
    let dir = folder()?;
    let pipe = dir.path().join("pipe.parquet");
    assert!(Command::new("mkfifo").arg(&pipe).status()?.success());
    let socket = dir.path().join("socket.parquet");
    let _listener = std::os::unix::net::UnixListener::bind(&socket)?;
    let began = Instant::now();
    for place in [pipe.as_path(), socket.as_path(), Path::new("/dev/zero")] {
        let output = run(&["audit".as_ref(), place.as_os_str()])?;
        let text = said(&output);
        assert_eq!(output.status.code(), Some(2), "{text}");
        assert!(text.contains("is a pipe, a socket or a device"), "{text}");
    }
    // In a folder they are passed over, as the walk takes files alone.
    let card = scorecard(&[dir.path()])?;
    assert_eq!(card["episodes"].as_array().map(Vec::len), Some(2));
    assert!(began.elapsed() < Duration::from_secs(20));
    Ok(())
}

#[test]
fn devices_that_never_end_are_no_profile_and_no_urdf() -> Tested {
    let dir = folder()?;
    for option in ["--profile=/dev/zero", "--urdf=/dev/zero"] {
        let output = run(&["audit".as_ref(), dir.path().as_os_str(), option.as_ref()])?;
        let text = said(&output);
        assert_eq!(output.status.code(), Some(2), "{text}");
        assert!(text.contains("/dev/zero") && text.contains("MiB"), "{text}");
    }
    Ok(())
}

#[test]
fn links_that_lead_in_circles_are_named() -> Tested {
    let dir = folder()?;
    std::os::unix::fs::symlink(dir.path(), dir.path().join("again"))?;
    std::os::unix::fs::symlink("nowhere.parquet", dir.path().join("gone.parquet"))?;
    let card = scorecard(&[dir.path()])?;
    assert_eq!(card["episodes"].as_array().map(Vec::len), Some(2));
    let unread = card["unread"].to_string();
    assert!(unread.contains("again") && unread.contains("gone.parquet"), "{unread}");
    Ok(())
}

/// Sixty-four open files, three hundred tables, four threads.
#[test]
fn few_open_files_are_enough() -> Tested {
    let dir = folder()?;
    let table = std::fs::read(dir.path().join("a.parquet"))?;
    for file in 0..300 {
        let under = dir.path().join(format!("episode={file}"));
        std::fs::create_dir(&under)?;
        std::fs::write(under.join("a.parquet"), &table)?;
    }
    let script = "ulimit -n 64; exec \"$1\" audit \"$2\" --threads 4 --quiet --fail-on never \
         --out-json \"$2/out.json\"";
    let output = shell(script, dir.path())?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let card: serde_json::Value =
        serde_json::from_slice(&std::fs::read(dir.path().join("out.json"))?)?;
    assert_eq!(card["unread"].as_array().map(Vec::len), Some(0));
    Ok(())
}

#[test]
fn names_that_are_no_text_come_back_as_they_are() -> Tested {
    let dir = folder()?;
    let name = OsStr::from_bytes(b"caf\xe9 \xff.parquet");
    std::fs::rename(dir.path().join("a.parquet"), dir.path().join(name))?;
    let card = scorecard(&[dir.path()])?;
    let path = card["inputs"][0]["path"].as_str().unwrap_or_default();
    assert!(path.ends_with("caf\\xe9 \\xff.parquet"), "{path}");
    Ok(())
}

/// No home, a terminal of one column, no terminal at all, clocks at both ends of time.
#[test]
fn bare_surroundings_are_enough() -> Tested {
    let dir = folder()?;
    let usual = run(&["audit".as_ref(), dir.path().as_os_str()])?.stdout;
    for settings in [&[("COLUMNS", "1")][..], &[("TERM", "dumb")], &[("TZ", "Nowhere/Void")], &[]] {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"));
        command.env_clear().arg("audit").arg(dir.path());
        let output = command.envs(settings.iter().copied()).output()?;
        assert!(matches!(output.status.code(), Some(0 | 1)), "{settings:?}: {}", said(&output));
        assert!(!output.stdout.is_empty() && usual.len() / 2 < output.stdout.len());
    }
    for seconds in [0, 4_102_444_800] {
        let when = std::time::UNIX_EPOCH + Duration::from_secs(seconds);
        let file = std::fs::File::options().append(true).open(dir.path().join("a.parquet"))?;
        file.set_modified(when)?;
        assert_eq!(scorecard(&[dir.path()])?["unread"].as_array().map(Vec::len), Some(0));
    }
    Ok(())
}

#[test]
fn a_reader_that_leaves_is_no_error() -> Tested {
    let dir = folder()?;
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"))
        .args(["audit", "--format", "json", "--json-detail", "full"])
        .arg(dir.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()?;
    drop(child.stdout.take());
    let output = child.wait_with_output()?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(output.stderr.is_empty(), "{}", said(&output));
    Ok(())
}
