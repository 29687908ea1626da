//! Copies the tables of a dataset into the folder of the copy.

use std::fs::File;
use std::io::{BufWriter, IntoInnerError, Read as _, Write};
use std::path::Path;

use rayon::prelude::*;

use crate::source::copy::error::{CopyError, Trouble};
use crate::source::copy::lines::{self, Kind};
use crate::source::copy::parquet_input::ParquetInput;
use crate::source::copy::staging::Staging;
use crate::source::copy::table::{Copied, TableCopy, Wanted};
use crate::source::copy::{ipc, parquet};
use crate::source::dataset::Dataset;
use crate::source::format::list::has_ending;
use crate::source::format::open::Stamp;
use crate::source::read_error::ReadError;
use crate::source::source_trait::Source as _;

/// Tables of up to this many bytes are copied side by side. Larger ones are copied one after the
/// other, their columns side by side, so that few row groups are in memory.
const SMALL: u64 = 2 << 20;

/// Copies all tables; works on all threads of the pool in which it is called.
///
/// # Errors
/// If one of them cannot be read or written: then the copy is worth nothing.
pub fn copy_all(
    source: &Dataset,
    wanted: &Wanted<'_>,
    staging: &Staging,
) -> Result<Vec<Copied>, CopyError> {
    for table in wanted.tables {
        staging.make_folder_of(&table.to)?;
    }
    let small = |table: &TableCopy| source.inputs()[table.input].bytes <= SMALL;
    let one = |table: &TableCopy| copy(source, table, wanted, staging);
    let early = wanted.tables.par_iter().map(|table| small(table).then(|| one(table)).transpose());
    let early: Vec<Option<Copied>> = early.collect::<Result<_, _>>()?;
    let all = wanted.tables.iter().zip(early);
    all.map(|(table, early)| early.map_or_else(|| one(table), Ok)).collect()
}

fn copy(
    source: &Dataset,
    table: &TableCopy,
    wanted: &Wanted<'_>,
    staging: &Staging,
) -> Result<Copied, CopyError> {
    let from = &source.inputs()[table.input].path;
    let to = staging.place(&table.to);
    if (wanted.stop)() {
        return Err(CopyError::Stopped);
    }
    let copied = write(source, table, from, &to, wanted.stop);
    copied.map_err(
        |trouble| {
            if (wanted.stop)() { CopyError::Stopped } else { trouble.of(from, &to) }
        },
    )
}

fn write(
    source: &Dataset,
    table: &TableCopy,
    from: &Path,
    to: &Path,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Copied, Trouble> {
    let plan = &source.stored().0.files[table.input];
    let open = || -> Result<File, ReadError> {
        let file = File::open(from).map_err(ReadError::Open)?;
        let stamp = Stamp::from(&file.metadata().map_err(ReadError::Open)?);
        if stamp == plan.stamp { Ok(file) } else { Err(ReadError::Changed) }
    };
    let kind = kind(open()?, from)?;
    let file = File::options().write(true).create_new(true).open(to)?;
    let out = BufWriter::with_capacity(1 << 20, Stoppable { file, stop });
    let out = match kind {
        FileKind::Parquet => {
            parquet::write(&ParquetInput::open(open()?, plan.stamp.bytes)?, table, out)?
        }
        FileKind::IpcFile => ipc::write(&open, false, table, out)?,
        FileKind::IpcStream => ipc::write(&open, true, table, out)?,
        FileKind::Text(kind) => {
            let mut text = Vec::new();
            open()?.read_to_end(&mut text).map_err(ReadError::Read)?;
            lines::write(&text, kind, plan.rows, table, out)?
        }
    };
    let Stoppable { file, .. } = out.into_inner().map_err(IntoInnerError::into_error)?;
    file.sync_all()?;
    let bytes = file.metadata()?.len();
    // Nothing changed under the reader.
    open()?;
    Ok(Copied { rows: table.rows(), bytes })
}

/// How a table is laid out, as far as its copy is concerned.
enum FileKind {
    Parquet,
    IpcFile,
    IpcStream,
    Text(Kind),
}

fn kind(mut file: File, path: &Path) -> Result<FileKind, Trouble> {
    let mut head = [0; 8];
    let mut read = 0;
    while let more @ 1.. = file.read(&mut head[read..]).map_err(ReadError::Read)? {
        read += more;
    }
    let head = &head[..read];
    let ends = |endings: &[&str]| endings.iter().any(|ending| has_ending(path, ending));
    if head.starts_with(b"PAR1") {
        return Ok(FileKind::Parquet);
    }
    if head.starts_with(b"ARROW1") {
        return Ok(FileKind::IpcFile);
    }
    if head.starts_with(&[0xff; 4]) {
        return Ok(FileKind::IpcStream);
    }
    if ends(&["csv", "tsv"]) {
        return Ok(FileKind::Text(Kind::Separated));
    }
    if ends(&["jsonl", "ndjson"]) {
        return Ok(FileKind::Text(Kind::JsonLines));
    }
    let what = "tables of this format are read, and no copy of some of their rows is made";
    let hint = "convert it to Parquet first, or leave whole files out with a list";
    Err(Trouble::Refused(what.to_owned(), hint))
}

/// A file whose writing ends when the person asks for the end.
struct Stoppable<'a> {
    file: File,
    stop: &'a (dyn Fn() -> bool + Sync),
}

impl Write for Stoppable<'_> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        if (self.stop)() {
            return Err(std::io::Error::other("interrupted"));
        }
        self.file.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.file.flush()
    }
}
