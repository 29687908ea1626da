//! The binary under watch: how long it takes, and how much memory.

use std::error::Error;
use std::ffi::OsStr;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

/// How a run ended.
pub struct Ran {
    pub output: Output,
    pub took: Duration,
    /// Most memory that was seen in use, in bytes; 0 where the system does not say.
    pub memory: u64,
}

/// Runs the binary.
pub fn watched<A: AsRef<OsStr>>(args: &[A]) -> Result<Ran, Box<dyn Error>> {
    let began = Instant::now();
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"))
        .args(args)
        .env("NO_COLOR", "1")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()?;
    let mut memory = 0;
    while child.try_wait()?.is_none() && began.elapsed() < Duration::from_secs(20) {
        memory = memory.max(peak(child.id()).unwrap_or(0));
        std::thread::sleep(Duration::from_millis(2));
    }
    if child.try_wait()?.is_none() {
        child.kill()?;
    }
    let output = child.wait_with_output()?;
    Ok(Ran { output, took: began.elapsed(), memory })
}

/// The high-water mark of a process: proc(5), `VmHWM`.
fn peak(process: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kilobytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kilobytes << 10)
}

/// Audits a file that is to be refused: in one line that names it, within two seconds and 300 MB.
pub fn refused(file: &std::path::Path, words: &str) -> Result<(), Box<dyn Error>> {
    let ran = watched(&[OsStr::new("audit"), file.as_os_str()])?;
    let said = String::from_utf8_lossy(&ran.output.stderr).into_owned();
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    assert_eq!(ran.output.status.code(), Some(2), "{name}: {said}");
    let mut lines = said.lines();
    let line = lines.next().unwrap_or_default();
    assert!(line.starts_with("error: ") && line.contains(&*name), "{said}");
    assert!(line.contains(words), "{name}, {words:?}: {said}");
    assert!(lines.all(|line| line.starts_with("hint: ")), "{said}");
    assert!(line.chars().count() < 700, "{said}");
    assert!(ran.took < Duration::from_secs(2), "{name}: {:?}", ran.took);
    assert!(ran.memory < 300 << 20, "{name}: {} bytes", ran.memory);
    Ok(())
}
