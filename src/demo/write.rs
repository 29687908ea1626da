//! Writes a demo session: tables, profile, answer key.

use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use arrow::array::RecordBatch;
use arrow::ipc::CompressionType;
use arrow::ipc::writer::{FileWriter, IpcWriteOptions, StreamWriter};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use serde::Serialize;

use super::answers::AnswerKey;
use super::batch::{Layout, Shaper};
use super::error::DemoError;
use super::part::Part;
use super::place::{self, ANSWERS, FileStamp, PROFILE};
use super::profile::profile_toml;
use super::recipe::Recipe;
use super::simulate::Simulator;

/// How a session is written.
#[derive(Debug, Clone)]
pub struct WriteOptions {
    /// Shape of the tables.
    pub layout: Layout,
    /// Rows of a Parquet row group, or of an IPC batch.
    pub row_group_rows: usize,
    /// Episodes of a file; [`Layout::FilePerEpisode`] has one.
    pub episodes_per_file: u64,
    /// Whether tables are compressed (zstd).
    pub compressed: bool,
    /// Whether a missing value is a null instead of NaN.
    pub null_if_missing: bool,
    /// Whether `teleassay.toml` and `answers.json` are written with the tables.
    pub with_papers: bool,
    /// Asked before each episode whether to give up.
    pub stop: fn() -> bool,
}

impl Default for WriteOptions {
    fn default() -> Self {
        Self {
            layout: Layout::List,
            row_group_rows: 100_000,
            episodes_per_file: 8,
            compressed: true,
            null_if_missing: false,
            with_papers: true,
            stop: || false,
        }
    }
}

/// What was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The tables, in order.
    pub tables: Vec<PathBuf>,
    /// Number of episodes.
    pub episodes: u64,
    /// Number of rows.
    pub frames: u64,
    /// The answer key, whether or not it was written.
    pub answers: AnswerKey,
}

/// Simulates a recipe and writes it to a folder, which is made if need be; one episode is in
/// memory at a time. An earlier session in that folder is replaced, and nothing else.
///
/// # Errors
/// If the recipe asks for what the rig cannot do, the folder holds anything that no demo wrote, or a
/// file cannot be written.
pub fn write(dir: &Path, recipe: &Recipe, options: &WriteOptions) -> Result<Written, DemoError> {
    let simulator = Simulator::new(recipe)?;
    place::prepare(dir)?;
    let mut written = Written {
        tables: Vec::new(),
        episodes: recipe.episodes,
        frames: 0,
        answers: AnswerKey::new(recipe),
    };
    let done = tables(dir, &simulator, options, &mut written)
        .and_then(|()| if options.with_papers { papers(dir, &written) } else { Ok(()) });
    if let Err(error) = done {
        // Without the answer key nobody would know them for a part of a session.
        let profile = options.with_papers.then(|| dir.join(PROFILE));
        for path in written.tables.iter().chain(&profile) {
            let _ = std::fs::remove_file(path);
        }
        return Err(error);
    }
    Ok(written)
}

/// Writes the tables.
fn tables(
    dir: &Path,
    simulator: &Simulator,
    options: &WriteOptions,
    written: &mut Written,
) -> Result<(), DemoError> {
    let recipe = &written.answers.recipe.clone();
    let shaper = Shaper::new(recipe, options.layout, options.null_if_missing);
    let single = options.layout == Layout::FilePerEpisode;
    let per_file = if single { 1 } else { options.episodes_per_file.max(1) };
    let digits = recipe.episodes.saturating_sub(1).max(1).ilog10() as usize + 1;
    for file in 0..recipe.episodes.div_ceil(per_file) {
        let name = if single {
            format!("episode-{file:0digits$}")
        } else {
            let files = recipe.episodes.div_ceil(per_file);
            let digits = (files - 1).max(1).ilog10() as usize + 1;
            format!("part-{file:0digits$}")
        };
        let path = dir.join(name).with_extension(options.layout.extension());
        let (part, out) = Part::begin(&path)?;
        let mut table = Table::create(&path, out, &shaper, options)?;
        for id in file * per_file..recipe.episodes.min((file + 1) * per_file) {
            if (options.stop)() {
                return Err(DemoError::Stopped);
            }
            let recording = simulator.episode(id);
            let batch = shaper.batch(&recording).map_err(|e| DemoError::table(&path, &e))?;
            written.frames += batch.num_rows() as u64;
            written.answers.push(&recording);
            table.put(&batch, options.row_group_rows, &path)?;
        }
        table.finish(&path)?;
        part.keep()?;
        written.tables.push(path);
    }
    Ok(())
}

/// The answer key as it is stored: with the files of the session.
#[derive(Serialize)]
struct Stored<'a> {
    #[serde(flatten)]
    answers: &'a AnswerKey,
    files: Vec<FileStamp>,
}

fn papers(dir: &Path, written: &Written) -> Result<(), DemoError> {
    let profile = dir.join(PROFILE);
    let text = profile_toml(&written.answers.recipe);
    Part::whole(&profile, &text)?;
    let files = written.tables.iter().chain([&profile]);
    let files = files.map(|path| FileStamp::of(path)).collect::<Result<_, _>>()?;
    let key = dir.join(ANSWERS);
    let stored = Stored { answers: &written.answers, files };
    let mut text = serde_json::to_string_pretty(&stored).map_err(|e| DemoError::table(&key, &e))?;
    text.push('\n');
    Part::whole(&key, &text)
}

/// A table that is being written.
enum Table {
    Parquet(Box<ArrowWriter<File>>),
    IpcFile(FileWriter<BufWriter<File>>),
    IpcStream(StreamWriter<BufWriter<File>>),
}

impl Table {
    fn create(
        path: &Path,
        file: File,
        shaper: &Shaper,
        options: &WriteOptions,
    ) -> Result<Self, DemoError> {
        let schema = shaper.schema();
        let ipc = options.compressed.then_some(CompressionType::ZSTD);
        let ipc = IpcWriteOptions::default().try_with_compression(ipc);
        let ipc = ipc.map_err(|e| DemoError::table(path, &e))?;
        let table = match options.layout {
            Layout::IpcFile => FileWriter::try_new_with_options(BufWriter::new(file), &schema, ipc)
                .map(Self::IpcFile)
                .map_err(|e| DemoError::table(path, &e))?,
            Layout::IpcStream => {
                StreamWriter::try_new_with_options(BufWriter::new(file), &schema, ipc)
                    .map(Self::IpcStream)
                    .map_err(|e| DemoError::table(path, &e))?
            }
            _ => {
                let compression = if options.compressed {
                    Compression::ZSTD(ZstdLevel::default())
                } else {
                    Compression::UNCOMPRESSED
                };
                let properties = WriterProperties::builder()
                    .set_compression(compression)
                    .set_max_row_group_row_count(Some(options.row_group_rows.max(1)))
                    .build();
                let writer = ArrowWriter::try_new(file, schema, Some(properties));
                Self::Parquet(Box::new(writer.map_err(|e| DemoError::table(path, &e))?))
            }
        };
        Ok(table)
    }

    fn put(&mut self, batch: &RecordBatch, most_rows: usize, path: &Path) -> Result<(), DemoError> {
        let step = most_rows.max(1);
        let slices = (0..batch.num_rows())
            .step_by(step)
            .map(|start| batch.slice(start, step.min(batch.num_rows() - start)));
        match self {
            // The Parquet writer cuts row groups by itself, across episodes.
            Self::Parquet(writer) => writer.write(batch).map_err(|e| DemoError::table(path, &e)),
            Self::IpcFile(writer) => slices
                .into_iter()
                .try_for_each(|slice| writer.write(&slice))
                .map_err(|e| DemoError::table(path, &e)),
            Self::IpcStream(writer) => slices
                .into_iter()
                .try_for_each(|slice| writer.write(&slice))
                .map_err(|e| DemoError::table(path, &e)),
        }
    }

    fn finish(self, path: &Path) -> Result<(), DemoError> {
        match self {
            Self::Parquet(writer) => {
                writer.close().map(|_| ()).map_err(|e| DemoError::table(path, &e))
            }
            Self::IpcFile(mut writer) => writer
                .finish()
                .and_then(|()| Ok(writer.into_inner()?.into_inner().map(drop)?))
                .map_err(|e| DemoError::table(path, &e)),
            Self::IpcStream(mut writer) => writer
                .finish()
                .and_then(|()| Ok(writer.into_inner()?.into_inner().map(drop)?))
                .map_err(|e| DemoError::table(path, &e)),
        }
    }
}
