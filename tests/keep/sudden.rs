//! A sudden end leaves nothing half written under a final name, and the source as it was.

use std::error::Error;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use assert_cmd::cargo::cargo_bin;
use teleassay::demo::{Layout, Recipe, WriteOptions, write as write_demo};

use super::{Session, files};
use crate::support::binary::{Tested, run, said};

fn session(episodes: u64) -> Result<Session, Box<dyn Error>> {
    let session = Session { root: tempfile::tempdir()? };
    let recipe = Recipe { episodes, ..Recipe::default() };
    let options =
        WriteOptions { row_group_rows: 500, compressed: false, ..WriteOptions::default() };
    write_demo(&session.source(), &recipe, &options)?;
    Ok(session)
}

fn command(session: &Session, to: &Path) -> Command {
    let mut command = Command::new(cargo_bin("teleassay"));
    command
        .args(["keep", "--episodes"])
        .arg((0..40).map(|n| n.to_string()).collect::<Vec<_>>().join(","));
    command.arg("--quiet").arg("--to").arg(to).arg(session.source());
    command.stdout(Stdio::null()).stderr(Stdio::null());
    command
}

#[cfg(unix)]
#[test]
fn killed_at_any_moment_a_copy_is_there_whole_or_not_at_all() -> Tested {
    let session = session(48)?;
    let before = files(&session.source())?;
    let (whole, copy) = (session.path("whole"), session.path("copy"));
    let begin = Instant::now();
    assert!(command(&session, &whole).status()?.success());
    let length = begin.elapsed();
    let relative = |folder: &Path| -> Result<Vec<_>, Box<dyn Error>> {
        let all = files(folder)?.into_iter().filter(|(path, _)| !path.ends_with("changes.json"));
        Ok(all
            .map(|(path, bytes)| (path.strip_prefix(folder).map(Path::to_path_buf), bytes))
            .collect())
    };
    let wanted = relative(&whole)?;
    let (mut cut, mut done, mut state) = (0, 0, 12_345_u64);
    for _ in 0..100 {
        // Random moments by a small generator (Lehmer 1951, from memory).
        state = state * 48_271 % 2_147_483_647;
        let share = state as f64 / 2_147_483_647.0;
        let mut child = command(&session, &copy).spawn()?;
        std::thread::sleep(Duration::from_secs_f64(length.as_secs_f64() * 1.1 * share));
        // SIGKILL: nothing can be tidied up.
        child.kill()?;
        child.wait()?;
        if copy.exists() {
            assert_eq!(relative(&copy)?, wanted);
            assert!(copy.join("changes.json").is_file());
            std::fs::remove_dir_all(&copy)?;
            done += 1;
        }
        for entry in std::fs::read_dir(session.root.path())? {
            let name = entry?.file_name();
            if name.to_string_lossy().starts_with(".copy.") {
                std::fs::remove_dir_all(session.path(&name.to_string_lossy()))?;
                cut += 1;
            }
        }
    }
    assert!(cut > 0, "never killed while writing: {done} done");
    assert_eq!(files(&session.source())?, before);
    Ok(())
}

/// A file system of 1 MB, taken away again when this is dropped.
#[cfg(target_os = "linux")]
struct Small(tempfile::TempDir);

#[cfg(target_os = "linux")]
impl Small {
    fn new() -> Result<Option<Self>, Box<dyn Error>> {
        let dir = tempfile::tempdir()?;
        let mut mount = Command::new("mount");
        mount.args(["-t", "tmpfs", "-o", "size=1m", "tmpfs"]).arg(dir.path());
        let mounted = mount.output();
        Ok(mounted.is_ok_and(|output| output.status.success()).then_some(Self(dir)))
    }
}

#[cfg(target_os = "linux")]
impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_nothing_behind() -> Tested {
    use std::io::Write as _;
    let session = session(160)?;
    let before = files(&session.source())?;
    let Some(small) = Small::new()? else {
        writeln!(std::io::stderr(), "skipped: this machine refuses to mount a file system")?;
        return Ok(());
    };
    // As a folder of the small file system, and as the small file system itself.
    for to in [small.0.path().join("copy"), small.0.path().to_path_buf()] {
        let (source, to_text) = (session.source(), to.display().to_string());
        let output = run(&[
            "keep".as_ref(),
            source.as_os_str(),
            "--to".as_ref(),
            to_text.as_ref(),
            "--keep-from".as_ref(),
            "fail".as_ref(),
        ])?;
        assert_eq!(output.status.code(), Some(2), "{}", said(&output));
        assert!(said(&output).contains("No space left on device"), "{}", said(&output));
        assert_eq!(std::fs::read_dir(small.0.path())?.count(), 0);
    }
    assert_eq!(files(&session.source())?, before);
    Ok(())
}

#[test]
fn an_empty_folder_is_filled_once() -> Tested {
    let session = Session::new(&Recipe { episodes: 2, ..Recipe::default() }, Layout::List)?;
    std::fs::create_dir(session.path("copy"))?;
    session.keep("copy", &["--keep-from", "fail"])?;
    let again = session.keep("copy", &["--keep-from", "fail"]);
    assert!(again.is_err_and(|error| error.to_string().contains("is not empty")));
    Ok(())
}
