//! A process of the same program that reads one file, with bounds on memory and time, and ends. It is
//! started for files whose sizes cannot be checked beforehand: nested types that hardly any recording
//! has, or pages that unpack to far more than they take.

use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

use rlimit::Resource;

use crate::source::{elsewhere, probe, sizes};

/// What stands in front of the file: no command that a person types.
const WORD: &str = "--read-through";
/// Memory of the process at the fewest: its threads reserve some, too.
const MEMORY: u64 = 1 << 30;
/// Seconds of processor time.
const PROCESSOR: u64 = 20;

/// From here on files are read elsewhere where that is needed.
pub fn offer() {
    elsewhere::read_elsewhere(read);
}

/// Does what the process is for, if this is that process.
pub fn serve() -> Option<ExitCode> {
    let mut words = std::env::args_os().skip(1);
    if words.next()? != WORD {
        return None;
    }
    let path = PathBuf::from(words.next()?);
    let said = words.next().and_then(|bytes| bytes.to_str()?.parse().ok());
    let memory = said.unwrap_or(MEMORY).clamp(MEMORY, 64 * MEMORY);
    // Where the system refuses there are no bounds, and it is still another process.
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
    let mut child = Command::new(program);
    child.arg(WORD).arg(path).arg(sizes::memory().to_string());
    child.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let ended = child.status().map_err(failed)?;
    match ended.code() {
        // What it found wrong is found again here, and said in its own words.
        Some(0 | 2) => Ok(()),
        _ => Err("reading it ends the process that reads it".to_owned()),
    }
}
