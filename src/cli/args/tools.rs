//! What was typed after the other commands.

use std::path::PathBuf;

use clap::{Args as ClapArgs, ValueEnum};

use super::data::{ColumnArgs, DataArgs, hertz, seconds};
use super::run::FailOn;
use crate::demo::Layout;
use crate::report::JsonDetail;

/// `columns`
#[derive(Debug, Clone, ClapArgs)]
pub struct ColumnsArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// Write what was understood as a profile to edit
    #[arg(long, value_name = "FILE")]
    pub write: Option<PathBuf>,

    /// Overwrite an existing file
    #[arg(long, requires = "write")]
    pub force: bool,
}

/// `compare`
#[derive(Debug, Clone, ClapArgs)]
pub struct CompareArgs {
    /// The session to compare with: a file, folder or glob, or a measurements file that
    /// `audit --out-measurements FILE.parquet` wrote
    #[arg(value_name = "A")]
    pub a: PathBuf,

    /// The session that is compared, likewise
    #[arg(value_name = "B")]
    pub b: PathBuf,

    /// More sessions in their order: each is compared with A, and the course of each aspect says
    /// since when it differs
    #[arg(value_name = "C")]
    pub more: Vec<PathBuf>,

    /// Profile of all [default: teleassay.toml next to each or in a folder above]; its columns,
    /// rig and parameters matter when data is measured, not for a measurements file
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,

    /// Profile of all but A, if it differs
    #[arg(long, value_name = "FILE")]
    pub profile_b: Option<PathBuf>,

    /// Rate at which the rig was meant to record, in hertz; of both where they are measured now
    #[arg(long, value_name = "HZ", value_parser = hertz)]
    pub rate: Option<f64>,

    #[command(flatten)]
    pub columns: ColumnArgs,

    /// Choose what to print
    #[arg(long, value_enum, default_value_t = CompareFormat::Table, value_name = "FORMAT")]
    pub format: CompareFormat,

    /// Write the comparison as JSON
    #[arg(long, value_name = "FILE")]
    pub out_json: Option<PathBuf>,

    /// Write the comparison as HTML: one file that needs no network
    #[arg(long, value_name = "FILE")]
    pub out_html: Option<PathBuf>,

    /// Exit with 1 from this kind of difference on
    #[arg(long, value_enum, default_value_t = FailOn::Fail, value_name = "VERDICT")]
    pub fail_on: FailOn,

    /// Use this many threads [default: one per core]
    #[arg(long, value_name = "N")]
    pub threads: Option<std::num::NonZeroUsize>,

    /// Print nothing but errors; files, machine formats and the exit code stay
    #[arg(long, short)]
    pub quiet: bool,

    /// Show no progress bar
    #[arg(long)]
    pub no_progress: bool,
}

/// What to print of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CompareFormat {
    /// For a person at a terminal
    Table,
    /// One document, described by: teleassay explain --json-schema comparison, or course
    Json,
    /// A summary for a job page
    Markdown,
}

/// Documents that have a schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    /// What `audit` and `judge` write
    #[value(alias = "scorecard")]
    Report,
    /// Each line of JSON Lines
    Lines,
    /// A keep or drop list
    List,
    /// What `compare` writes of two sessions
    Comparison,
    /// What `compare` writes of more
    Course,
    /// What `keep` writes to changes.json
    Changes,
}

/// `explain`
#[derive(Debug, Clone, ClapArgs)]
pub struct ExplainArgs {
    /// A check by its id, title or a beginning of it, or a family; without one, all are listed
    pub check: Vec<String>,

    /// Print the manual of all checks as one Markdown document
    #[arg(long, conflicts_with = "check")]
    pub all: bool,

    /// Print the JSON Schema of the report, of its lines, of a list, of a comparison, of a course, or
    /// of the changes of a copy
    #[arg(long, value_enum, num_args = 0..=1, default_missing_value = "report",
          value_name = "DOCUMENT", conflicts_with_all = ["check", "all"])]
    pub json_schema: Option<SchemaOf>,

    /// The detail of the report whose schema is printed
    #[arg(long, value_enum, default_value_t = JsonDetail::Findings, value_name = "DETAIL",
          requires = "json_schema")]
    pub json_detail: JsonDetail,
}

/// `demo`
#[derive(Debug, Clone, ClapArgs)]
pub struct DemoArgs {
    /// Folder to write to: new, empty, or holding an earlier demo
    #[arg(value_name = "DIR")]
    pub dir: PathBuf,

    /// Audit the session as well
    #[arg(long)]
    pub audit: bool,

    /// Number of episodes
    #[arg(long, value_name = "N", default_value_t = 24,
          value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub episodes: u32,

    /// Rate of recording in hertz
    #[arg(long, value_name = "HZ", default_value_t = 30.0, value_parser = hertz)]
    pub rate: f64,

    /// Seed: the same seed gives the same bytes
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,

    /// How the table is laid out
    #[arg(long, value_enum, default_value_t = Layout::List, value_name = "LAYOUT")]
    pub layout: Layout,
}

/// `trace`
#[derive(Debug, Clone, ClapArgs)]
pub struct TraceArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// The episode
    #[arg(long, value_name = "ID")]
    pub episode: String,

    /// Draw only these joints
    #[arg(long, value_name = "NAME,...", value_delimiter = ',')]
    pub joint: Vec<String>,

    /// Start at this time, in seconds from the episode's start
    #[arg(long, value_name = "S", value_parser = seconds)]
    pub from: Option<f64>,

    /// End at this time, in seconds from the episode's start
    #[arg(long, value_name = "S", value_parser = seconds)]
    pub to: Option<f64>,

    /// Mark only what these checks find
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',')]
    pub only: Vec<String>,

    /// Skip these checks
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',', conflicts_with = "only")]
    pub skip: Vec<String>,

    /// Draw in ASCII even where the terminal has more
    #[arg(long)]
    pub ascii: bool,

    /// Print one record per line, fields separated by tabs, in SI units
    #[arg(long, conflicts_with = "ascii")]
    pub plain: bool,

    /// Write the drawing as an SVG image
    #[arg(long, value_name = "FILE")]
    pub out_svg: Option<PathBuf>,

    /// Write the episode as HTML: one file that needs no network
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

    /// Write the pages of all commands to this folder, which is made if needed
    #[arg(long, value_name = "DIR", conflicts_with = "command")]
    pub to: Option<PathBuf>,

    /// Overwrite files of the same names that are not manual pages of this tool
    #[arg(long, requires = "to")]
    pub force: bool,
}
