//! Streams and signals: colour, dumb terminals, Ctrl-C, files that are whole or not there.

use std::error::Error;
use std::io::Read as _;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said};
use crate::support::python::python;

/// A session with faults, in a folder of its own.
fn demo(episodes: &str) -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    let output = run(&["demo", &place, "--episodes", episodes])?;
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    Ok((dir, place))
}

/// Runs the binary on a terminal of its own, with this environment and no other, and gives back all
/// that the terminal was sent and the exit code.
const TERMINAL: &str = r"
import json, os, pty, subprocess, sys
env, args = json.loads(sys.argv[1]), sys.argv[2:]
ours, theirs = pty.openpty()
child = subprocess.Popen(args, stdin=theirs, stdout=theirs, stderr=theirs, env=env)
os.close(theirs)
sent = b''
while True:
    try:
        part = os.read(ours, 65536)
    except OSError:
        break
    if not part:
        break
    sent += part
print(json.dumps([sent.decode('utf-8', 'replace'), child.wait()]))
";

fn on_terminal(env: &[(&str, &str)], args: &[&str]) -> Result<String, Box<dyn Error>> {
    let env: serde_json::Map<String, Value> =
        env.iter().map(|(name, value)| ((*name).to_owned(), (*value).into())).collect();
    let output = Command::new(python()?)
        .args(["-c", TERMINAL, &Value::from(env).to_string()])
        .arg(assert_cmd::cargo::cargo_bin!("teleassay"))
        .args(args)
        .output()?;
    let printed: Value = serde_json::from_slice(&output.stdout)?;
    assert_eq!(printed[1], 1, "{printed}");
    Ok(printed[0].as_str().ok_or("nothing was sent")?.to_owned())
}

fn through_a_pipe(env: &[(&str, &str)], args: &[&str]) -> Result<String, Box<dyn Error>> {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"));
    command.env_clear().envs(env.iter().copied()).args(args);
    Ok(String::from_utf8(command.output()?.stdout)?)
}

/// Environment, arguments, and whether there is colour.
type Case<'a> = (&'a [(&'a str, &'a str)], &'a [&'a str], bool);

#[test]
fn colour_goes_by_option_then_environment_then_terminal() -> Tested {
    let (_dir, place) = demo("24")?;
    let audit = ["audit", &place, "--no-progress"];
    let (always, never) = (
        [&audit[..], &["--color", "always"]].concat(),
        [&audit[..], &["--color", "never"]].concat(),
    );
    let term = ("TERM", "xterm-256color");
    let (no, force) = (("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1"));
    let cases: [Case<'_>; 7] = [
        (&[term], &audit, true),
        (&[term], &never, false),
        (&[term, no], &audit, false),
        (&[term, no], &always, true),
        (&[term, no, force], &audit, false),
        (&[("TERM", "dumb")], &audit, false),
        (&[("TERM", "dumb")], &always, true),
    ];
    for (env, args, coloured) in cases {
        let sent = on_terminal(env, args)?;
        assert!(sent.contains("FAIL"), "{sent}");
        assert_eq!(sent.contains('\u{1b}'), coloured, "{env:?} {args:?}");
    }
    let cases: [Case<'_>; 5] = [
        (&[term], &audit, false),
        (&[term, force], &audit, true),
        (&[term, no, force], &audit, false),
        (&[term, no], &always, true),
        (&[term, force], &never, false),
    ];
    for (env, args, coloured) in cases {
        let sent = through_a_pipe(env, args)?;
        assert_eq!(sent.contains('\u{1b}'), coloured, "piped, {env:?} {args:?}");
    }
    Ok(())
}

#[test]
fn a_dumb_terminal_gets_neither_bar_nor_braille() -> Tested {
    let (_dir, place) = demo("24")?;
    let utf8 = ("LANG", "C.UTF-8");
    let trace = ["trace", &place, "--episode", "2", "--joint", "elbow"];
    let sent = on_terminal(&[("TERM", "dumb"), utf8], &["audit", &place])?;
    assert!(sent.is_ascii() && !sent.contains('\u{1b}'), "{sent:?}");
    let braille = |text: &str| text.chars().any(|c| ('\u{2801}'..='\u{28ff}').contains(&c));
    let drawn = |env: &[(&str, &str)]| through_a_pipe(env, &trace).map(|text| braille(&text));
    assert!(drawn(&[utf8])?);
    assert!(drawn(&[("LC_ALL", "de_DE.utf8"), ("LANG", "C")])?);
    assert!(!drawn(&[("LC_ALL", "C"), utf8])?);
    assert!(!drawn(&[])?);
    assert!(!drawn(&[("TERM", "dumb"), utf8])?);
    assert!(!drawn(&[("TERM", "linux"), utf8])?);
    Ok(())
}

#[cfg(unix)]
fn interrupt(child: &Child, signal: &str) -> Tested {
    let status = Command::new("kill").args([signal, &child.id().to_string()]).status()?;
    assert!(status.success());
    Ok(())
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_the_run_at_once() -> Tested {
    let (_dir, place) = demo("24")?;
    for (signal, code) in [("-INT", 130), ("-TERM", 143)] {
        // Nobody reads on, so the run stands still in the middle of its output.
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"))
            .args(["audit", &place, "--format", "json", "--json-detail", "full"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()?;
        let mut first = [0; 1];
        child.stdout.as_mut().ok_or("no output")?.read_exact(&mut first)?;
        let sent = Instant::now();
        interrupt(&child, signal)?;
        let output = child.wait_with_output()?;
        assert_eq!(output.status.code(), Some(code), "{:?}", output.status);
        assert!(sent.elapsed() < Duration::from_secs(2));
        assert!(output.stderr.is_empty(), "{}", said(&output));
    }
    Ok(())
}

/// Names in a folder.
fn names(dir: &Path) -> Result<Vec<String>, Box<dyn Error>> {
    let mut names = Vec::new();
    for entry in std::fs::read_dir(dir)? {
        names.push(entry?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// Interrupts a run that writes a file, as soon as it has begun to.
#[cfg(unix)]
fn interrupted(place: &str, option: &str, file: &Path) -> Tested {
    let out = file.parent().ok_or("no folder")?;
    let name = file.file_name().ok_or("no name")?.to_string_lossy().into_owned();
    std::fs::write(file, "what was there before")?;
    for _ in 0..20 {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"))
            .args(["audit", place, "--quiet", "--json-detail", "full", option])
            .arg(file)
            .stdout(Stdio::null())
            .spawn()?;
        // The unfinished file shows that writing has begun.
        let begun = loop {
            if names(out)?.iter().any(|name| name.contains(".part")) {
                break true;
            }
            if child.try_wait()?.is_some() {
                break false;
            }
        };
        if !begun {
            continue;
        }
        interrupt(&child, "-INT")?;
        let code = child.wait()?.code();
        assert_eq!(names(out)?, [name.as_str()], "{option}");
        let content = std::fs::read(file)?;
        if content == b"what was there before" {
            assert_eq!(code, Some(130), "{option}");
            return Ok(());
        }
        // It was quicker than the signal, or got it after the file had its name: the file is whole.
        let parquet = content.starts_with(b"PAR1") && content.ends_with(b"PAR1");
        assert!(parquet || serde_json::from_slice::<Value>(&content).is_ok(), "{option}: {code:?}");
        std::fs::write(file, "what was there before")?;
    }
    Err("twenty runs were quicker than the signal".into())
}

#[cfg(unix)]
#[test]
fn an_interrupt_leaves_no_part_of_a_file() -> Tested {
    let (dir, place) = demo("300")?;
    for (option, name) in [("--out-json", "card.json"), ("--out-measurements", "card.parquet")] {
        let out = dir.path().join(name.replace('.', "-"));
        std::fs::create_dir(&out)?;
        interrupted(&place, option, &out.join(name))?;
    }
    Ok(())
}

#[cfg(unix)]
#[test]
fn files_are_replaced_whole_and_devices_are_written_to() -> Tested {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let (dir, place) = demo("3")?;
    let out = dir.path().join("out");
    std::fs::create_dir(&out)?;
    let written = |option: &str, target: &Path| {
        run(&["audit", &place, "--fail-on", "never", option, &target.to_string_lossy()])
    };
    for (option, ending) in [("--out-json", "json"), ("--out-measurements", "parquet")] {
        let (kept, linked) = (format!("behind.{ending}"), format!("link.{ending}"));
        let (behind, link) = (out.join(&kept), out.join(&linked));
        std::fs::write(&behind, "old")?;
        std::fs::set_permissions(&behind, std::fs::Permissions::from_mode(0o640))?;
        symlink(&kept, &link)?;
        assert_eq!(written(option, &link)?.status.code(), Some(0));
        assert!(link.is_symlink());
        assert!(std::fs::read(&behind)?.len() > 1_000, "{option}");
        assert_eq!(behind.metadata()?.permissions().mode() & 0o777, 0o640, "{option}");
    }
    assert_eq!(names(&out)?, ["behind.json", "behind.parquet", "link.json", "link.parquet"]);
    serde_json::from_slice::<Value>(&std::fs::read(out.join("behind.json"))?)?;
    // A full disk is reported.
    let disk = out.join("disk.parquet");
    symlink("/dev/full", &disk)?;
    for (option, target) in [("--out-json", Path::new("/dev/full")), ("--out-measurements", &disk)]
    {
        let full = written(option, target)?;
        assert_eq!(full.status.code(), Some(2));
        let printed = said(&full);
        let what = format!("{} cannot be written", target.display());
        assert!(printed.contains(&what) && printed.contains("hint: "), "{printed}");
    }
    assert_eq!(written("--out-json", Path::new("/dev/null"))?.status.code(), Some(0));
    assert!(!Path::new("/dev/null").is_file());
    Ok(())
}
