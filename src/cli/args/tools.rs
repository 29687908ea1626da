//! What was typed after the other commands.

use std::path::PathBuf;

use clap::{Args as ClapArgs, ValueEnum};

use super::{DataArgs, FailOn, positive, seconds};

/// `columns`
#[derive(Debug, Clone, ClapArgs)]
pub struct ColumnsArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// Write what was understood as a profile to edit; an existing file is not overwritten
    #[arg(long, value_name = "FILE")]
    pub write: Option<PathBuf>,

    /// Overwrite an existing profile
    #[arg(long, requires = "write")]
    pub force: bool,
}

/// `compare`
#[derive(Debug, Clone, ClapArgs)]
pub struct CompareArgs {
    /// The session to compare with: a file, folder or glob, or a scorecard that
    /// `audit --out-scorecard FILE.parquet` wrote
    #[arg(value_name = "A")]
    pub a: PathBuf,

    /// The session that is compared, likewise
    #[arg(value_name = "B")]
    pub b: PathBuf,

    /// Profile of both [default: teleassay.toml beside each, or in a folder above]; what it says of
    /// columns, rig and parameters acts when data is measured, and not on a scorecard
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,

    /// Profile of B, where it is another one
    #[arg(long, value_name = "FILE")]
    pub profile_b: Option<PathBuf>,

    /// What to print
    #[arg(long, value_enum, default_value_t = CompareFormat::Table, value_name = "FORMAT")]
    pub format: CompareFormat,

    /// Also write the comparison as JSON
    #[arg(long, value_name = "FILE")]
    pub out_json: Option<PathBuf>,

    /// Also write the comparison to look at: one HTML file that needs no network
    #[arg(long, value_name = "FILE")]
    pub out_html: Option<PathBuf>,

    /// From which difference on the exit code is 1
    #[arg(long, value_enum, default_value_t = FailOn::Fail, value_name = "VERDICT")]
    pub fail_on: FailOn,

    /// Number of threads [default: one per core]
    #[arg(long, value_name = "N")]
    pub threads: Option<std::num::NonZeroUsize>,

    /// No progress bar
    #[arg(long, short)]
    pub quiet: bool,
}

/// What to print of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CompareFormat {
    /// For a person at a terminal
    Table,
    /// One document, described by: teleassay explain --json-schema comparison
    Json,
    /// A summary for a job page
    Markdown,
}

/// Documents that have a schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    /// What `audit` writes
    Scorecard,
    /// What `compare` writes
    Comparison,
}

/// `explain`
#[derive(Debug, Clone, ClapArgs)]
pub struct ExplainArgs {
    /// A check; without one, all are listed
    pub check: Option<String>,

    /// Print the manual of all checks as one Markdown document
    #[arg(long, conflicts_with = "check")]
    pub all: bool,

    /// Print the JSON Schema of the scorecard, or of a comparison
    #[arg(long, value_enum, num_args = 0..=1, default_missing_value = "scorecard",
          value_name = "DOCUMENT", conflicts_with_all = ["check", "all"])]
    pub json_schema: Option<SchemaOf>,
}

/// `demo`
#[derive(Debug, Clone, ClapArgs)]
pub struct DemoArgs {
    /// Folder to write to; made if it is not there
    #[arg(value_name = "DIR")]
    pub dir: PathBuf,

    /// Audit it straight away
    #[arg(long)]
    pub audit: bool,

    /// Number of episodes
    #[arg(long, value_name = "N", default_value_t = 24,
          value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub episodes: u32,

    /// Rate of recording in hertz
    #[arg(long, value_name = "HZ", default_value_t = 30.0, value_parser = positive)]
    pub rate: f64,

    /// Seed: the same seed gives the same bytes
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,

    /// How the table is laid out
    #[arg(long, value_enum, default_value_t = Layout::List, value_name = "LAYOUT")]
    pub layout: Layout,
}

/// How a table holds its joints and episodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Layout {
    /// One list of numbers per frame
    List,
    /// The same with 64-bit offsets
    LargeList,
    /// The same, of fixed size
    FixedSizeList,
    /// One struct with a field per joint
    Struct,
    /// One column per joint
    Scalars,
    /// One file per episode
    FilePerEpisode,
    /// Arrow IPC files instead of Parquet
    IpcFile,
    /// Arrow IPC streams instead of Parquet
    IpcStream,
}

/// `trace`
#[derive(Debug, Clone, ClapArgs)]
pub struct TraceArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// The episode
    #[arg(long, value_name = "ID")]
    pub episode: String,

    /// Draw these joints alone
    #[arg(long, value_name = "NAME,...", value_delimiter = ',')]
    pub joint: Vec<String>,

    /// Begin here, in seconds from the episode's start
    #[arg(long, value_name = "S", value_parser = seconds)]
    pub from: Option<f64>,

    /// End here, in seconds from the episode's start
    #[arg(long, value_name = "S", value_parser = seconds)]
    pub to: Option<f64>,

    /// Mark what these checks find alone
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',')]
    pub only: Vec<String>,

    /// Leave these checks out
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',', conflicts_with = "only")]
    pub skip: Vec<String>,

    /// Draw in ASCII even where the terminal has more
    #[arg(long)]
    pub ascii: bool,

    /// Print one record a line, fields separated by tabs, in SI units
    #[arg(long, conflicts_with = "ascii")]
    pub plain: bool,

    /// Also write the drawing as a image
    #[arg(long, value_name = "FILE")]
    pub out_svg: Option<PathBuf>,

    /// Also write the episode to look into: one HTML file that needs no network
    #[arg(long, value_name = "FILE")]
    pub out_html: Option<PathBuf>,
}

/// `completions`
#[derive(Debug, Clone, ClapArgs)]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// `man`
#[derive(Debug, Clone, ClapArgs)]
pub struct ManArgs {
    /// The command whose page is printed; without one, the page of them all
    pub command: Option<String>,

    /// Write the pages of all commands to this folder instead; made if it is not there
    #[arg(long, value_name = "DIR", conflicts_with = "command")]
    pub to: Option<PathBuf>,

    /// Overwrite files of the same names that are not manual pages of this tool
    #[arg(long, requires = "to")]
    pub force: bool,
}
