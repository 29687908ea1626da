//! Data piped in: kept in a file without a name, because a dataset is looked through more than once.

use std::fs::File;
use std::io::{self, BufWriter, IsTerminal as _, Write as _};
use std::os::fd::AsRawFd as _;
use std::path::{Path, PathBuf};

use super::args::DataArgs;
use super::error::CliError;
use crate::profile::Profile;

/// What stands for standard input among the paths.
const DASH: &str = "-";

/// The data with standard input in a file that ends with this value.
pub struct Piped {
    /// The same arguments with a path that can be read again and again.
    pub data: DataArgs,
    file: Option<File>,
}

impl Piped {
    /// Whether anything was piped in.
    pub fn any(&self) -> bool {
        self.file.is_some()
    }
}

/// Takes in standard input where a path stands for it.
///
/// # Errors
/// If nothing is piped in, or it cannot be kept.
pub fn taken(data: &DataArgs) -> Result<Piped, CliError> {
    let mut data = data.clone();
    let mut dashes = data.paths.iter_mut().filter(|path| path.as_os_str() == DASH);
    let Some(path) = dashes.next() else { return Ok(Piped { data, file: None }) };
    if dashes.next().is_some() {
        let error = CliError::input("standard input (-) is named twice");
        return Err(error.with_hint("name it once"));
    }
    if io::stdin().is_terminal() {
        let error = CliError::input("nothing is piped into standard input (-)");
        return Err(error.with_hint("for example: cat episode.arrows | teleassay audit -"));
    }
    let kept =
        keep().map_err(|e| CliError::input(format!("standard input (-) cannot be kept: {e}")))?;
    if kept.metadata().is_ok_and(|meta| meta.len() == 0) {
        return Err(CliError::input("standard input (-) is empty: 0 bytes"));
    }
    *path = PathBuf::from(format!("/dev/fd/{}", kept.as_raw_fd()));
    // The profile is looked for where the person stands: the file lies nowhere.
    data.profile = data.profile.or_else(|| Profile::find(Path::new(".")));
    Ok(Piped { data, file: Some(kept) })
}

fn keep() -> io::Result<File> {
    let kept = tempfile::tempfile()?;
    let mut out = BufWriter::with_capacity(1 << 20, &kept);
    io::copy(&mut io::stdin().lock(), &mut out)?;
    out.flush()?;
    drop(out);
    Ok(kept)
}
