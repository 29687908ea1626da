//! A process of the same program that reads one file, with bounds on memory and time, and ends. It is
//! started for files whose sizes cannot be checked beforehand: nested types that hardly any recording
//! has, or pages that unpack to far more than they take.

use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use rlimit::Resource;

use crate::source::{probe, sizes};

/// What stands in front of the file: no command that a person types.
const WORD: &str = "--read-through";
/// Memory of the process at the fewest: its threads reserve some, too.
const MEMORY: u64 = 1 << 30;
/// Seconds of processor time, and of any time.
const PROCESSOR: u64 = 20;
const LONGEST: Duration = Duration::from_secs(60);

/// From here on files are read elsewhere where that is needed.
pub fn offer() {
    probe::read_elsewhere(read);
}

/// Does what the process is for, if this is that process.
pub fn serve() -> Option<ExitCode> {
    let mut words = std::env::args_os().skip(1);
    if words.next()? != WORD {
        return None;
    }
    let path = PathBuf::from(words.next()?);
    let memory = sizes::memory().clamp(MEMORY, 64 * MEMORY);
    // Where the system refuses, the time that the other process waits is the bound.
    let _ = rlimit::setrlimit(Resource::AS, memory, memory);
    let _ = rlimit::setrlimit(Resource::CPU, PROCESSOR, PROCESSOR);
    let _ = rlimit::setrlimit(Resource::CORE, 0, 0);
    super::fault::keep_quiet();
    let read = std::panic::catch_unwind(|| probe::read_through(&path));
    Some(match read {
        Ok(Ok(())) => ExitCode::SUCCESS,
        Ok(Err(_)) => ExitCode::from(2),
        Err(_) => ExitCode::from(70),
    })
}

fn read(path: &Path) -> Result<(), String> {
    let failed = |error: io::Error| format!("it could not be read in another process ({error})");
    let program = std::env::current_exe().map_err(failed)?;
    let mut child = Command::new(program)
        .arg(WORD)
        .arg(path)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(failed)?;
    let began = Instant::now();
    let mut pause = Duration::from_millis(1);
    loop {
        match child.try_wait().map_err(failed)? {
            // What it found wrong is found again here, and said in its own words.
            Some(status) if matches!(status.code(), Some(0 | 2)) => return Ok(()),
            Some(_) => return Err("reading it ends the process that reads it".to_owned()),
            None if began.elapsed() > LONGEST => {
                let _ = child.kill();
                let _ = child.wait();
                return Err(format!("reading it takes more than {} s", LONGEST.as_secs()));
            }
            None => std::thread::sleep(pause),
        }
        pause = (pause * 2).min(Duration::from_millis(50));
    }
}
