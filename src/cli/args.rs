//! What was typed.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};

use teleassay::model::Severity;

use super::examples;
use super::output::Color;

/// Quality auditor for teleoperation datasets: is this recording sound enough to train on, and
/// if not, what to fix on the bench.
#[derive(Debug, Parser)]
#[command(version, about, max_term_width = 100, before_help = examples::ALL, after_help = EXIT_CODES)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,

    /// When to use colour.
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto, value_name = "WHEN",
          display_order = 900, help = "When to use colour (also: NO_COLOR, CLICOLOR_FORCE)")]
    pub color: Color,
}

/// What the shell is told.
pub const EXIT_CODES: &str = "\
Exit codes: 0 within limits, 1 beyond limits or files unread, 2 wrong usage, profile or input,
3 nothing there to check, 70 internal error, 130 interrupted.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Measure and judge every episode
    #[command(before_help = examples::AUDIT)]
    Audit(AuditArgs),
    /// Judge stored scorecards anew, without the data
    Judge(JudgeArgs),
    /// Show which column plays which role, and why
    #[command(before_help = examples::COLUMNS)]
    Columns(ColumnsArgs),
    /// Compare two recording sessions: can both be trained on together?
    Compare(CompareArgs),
    /// Tell what a check looks at, how, its limits, and what to do on the bench
    #[command(before_help = examples::EXPLAIN)]
    Explain(ExplainArgs),
    /// Write a simulated recording session with planted faults, and its answer key
    #[command(before_help = examples::DEMO)]
    Demo(DemoArgs),
    /// Draw one episode: leader and follower, joint by joint, flagged spans marked
    #[command(before_help = examples::TRACE)]
    Trace(TraceArgs),
    /// Write completions for a shell to standard output
    #[command(before_help = examples::COMPLETIONS)]
    Completions(CompletionsArgs),
    /// Write manual pages
    #[command(before_help = examples::MAN)]
    Man(ManArgs),
}

/// Where the data is and how to read it.
#[derive(Debug, Clone, ClapArgs)]
pub struct DataArgs {
    /// Files, folders or globs: Parquet or Arrow IPC tables
    #[arg(required = true, value_name = "PATH")]
    pub paths: Vec<PathBuf>,

    /// Profile with column roles, rig and limits [default: teleassay.toml beside the data or in
    /// a folder above]
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,

    /// Rate at which the rig was meant to record, in hertz
    #[arg(long, value_name = "HZ", value_parser = positive)]
    pub rate: Option<f64>,

    /// URDF of the follower: limits of joints that the profile does not give, matched by name
    #[arg(long, value_name = "FILE")]
    pub urdf: Option<PathBuf>,
}

const AUDIT_EXAMPLES: &str = "\
Examples:
  teleassay audit nursery/
  teleassay audit nursery/ --episode 17
  teleassay audit nursery/ --out-scorecard monday.parquet
  teleassay audit nursery/ --baseline monday.parquet    (only what is new or worse fails)
";

const JUDGE_EXAMPLES: &str = "\
Examples:
  teleassay judge monday.parquet
  teleassay judge monday.parquet --profile stricter.toml
  teleassay judge part-0.parquet part-1.parquet         (parts of one dataset)
  teleassay judge today.parquet --baseline monday.parquet
";

/// `audit`
#[derive(Debug, Clone, ClapArgs)]
#[command(before_help = AUDIT_EXAMPLES)]
pub struct AuditArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// Take the rig as this scorecard has it instead of looking at the data: so that parts of a
    /// dataset are measured alike
    #[arg(long, value_name = "SCORECARD", conflicts_with_all = ["rate", "urdf"])]
    pub rig: Option<PathBuf>,

    #[command(flatten)]
    pub run: RunArgs,
}

/// `judge`
#[derive(Debug, Clone, ClapArgs)]
#[command(before_help = JUDGE_EXAMPLES)]
pub struct JudgeArgs {
    /// Scorecards that `audit --out-scorecard FILE.parquet` wrote; several are one dataset
    #[arg(required = true, value_name = "SCORECARD")]
    pub scorecards: Vec<PathBuf>,

    /// Profile with limits [default: teleassay.toml beside the first scorecard or in a folder
    /// above]; what it says of columns, rig and parameters acts when data is measured
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,

    #[command(flatten)]
    pub run: RunArgs,
}

/// How to audit and what to write.
#[derive(Debug, Clone, ClapArgs)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch on the command line")]
pub struct RunArgs {
    /// Run these checks alone
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',')]
    pub only: Vec<String>,

    /// Leave these checks out
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',', conflicts_with = "only")]
    pub skip: Vec<String>,

    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Table, value_name = "FORMAT")]
    pub format: Format,

    /// Print one record a line, fields parted by tabs
    #[arg(long, conflicts_with = "format")]
    pub plain: bool,

    /// Print this episode's card alone
    #[arg(long, value_name = "ID")]
    pub episode: Option<String>,

    /// Also write the scorecard as JSON
    #[arg(long, value_name = "FILE")]
    pub out_json: Option<PathBuf>,

    /// Also write a report to look at: one HTML file that needs no network
    #[arg(long, value_name = "FILE")]
    pub out_html: Option<PathBuf>,

    /// Also write a report for a build server, one test case per episode.
    #[arg(
        long,
        value_name = "FILE",
        help = "Also write a JUnit report, one test case per \
          episode; --fail-on says what is a failure"
    )]
    pub out_junit: Option<PathBuf>,

    /// Also write the scorecard as a table: FILE.parquet holds all that `judge` and `--baseline`
    /// need, FILE.csv what a spreadsheet needs
    #[arg(long, value_name = "FILE")]
    pub out_scorecard: Option<PathBuf>,

    /// Let only fail what is new or worse than in this scorecard; again for each of its parts
    #[arg(long, value_name = "SCORECARD")]
    pub baseline: Vec<PathBuf>,

    /// Also write the ids of the episodes that did not fail, one a line
    #[arg(long, value_name = "FILE")]
    pub out_keep_list: Option<PathBuf>,

    /// Keep the SHA-256 of every input in the scorecard
    #[arg(long)]
    pub hash_inputs: bool,

    /// Print the profile in force, with every limit and parameter, instead of auditing
    #[arg(long, conflicts_with_all = ["format", "plain", "episode"])]
    pub show_profile: bool,

    /// From which verdict on the exit code is 1
    #[arg(long, value_enum, default_value_t = FailOn::Fail, value_name = "VERDICT")]
    pub fail_on: FailOn,

    /// Number of threads [default: one per core]
    #[arg(long, value_name = "N")]
    pub threads: Option<std::num::NonZeroUsize>,

    /// No progress bar
    #[arg(long, short)]
    pub quiet: bool,
}

/// What to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For a person at a terminal
    Table,
    /// One document, described by: teleassay explain --json-schema
    Json,
    /// One episode a line, the session last
    Jsonl,
    /// A summary for a job page, the worst 50 episodes
    Markdown,
    /// Annotations for a GitHub workflow, the worst ten errors and ten warnings
    Github,
}

impl Format {
    /// Whether it is of the whole session, and knows no single episode.
    pub fn of_session(self) -> bool {
        matches!(self, Self::Markdown | Self::Github)
    }
}

/// From which verdict on a run counts as failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    /// Failures
    Fail,
    /// Warnings and failures
    Warn,
    /// Nothing; only unread files
    Never,
}

impl FailOn {
    /// The severity from which on a finding counts.
    pub fn severity(self) -> Option<Severity> {
        match self {
            Self::Fail => Some(Severity::Fail),
            Self::Warn => Some(Severity::Warn),
            Self::Never => None,
        }
    }
}

/// `columns`
#[derive(Debug, Clone, ClapArgs)]
pub struct ColumnsArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// Write what was understood as a profile to edit; an existing file is not overwritten
    #[arg(long, value_name = "FILE")]
    pub write: Option<PathBuf>,
}

/// `compare`
#[derive(Debug, Clone, ClapArgs)]
pub struct CompareArgs {
    /// The session to compare with: a file, folder or glob
    #[arg(value_name = "A")]
    pub a: PathBuf,

    /// The session that is compared
    #[arg(value_name = "B")]
    pub b: PathBuf,

    /// Profile of both [default: teleassay.toml beside each, or in a folder above]
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

    /// Print one record a line, fields parted by tabs, in SI units
    #[arg(long, conflicts_with = "ascii")]
    pub plain: bool,

    /// Also write the drawing as a picture
    #[arg(long, value_name = "FILE")]
    pub out_svg: Option<PathBuf>,
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
}

fn positive(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Ok(value),
        _ => Err("must be a number above zero".to_owned()),
    }
}

fn seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Ok(value),
        _ => Err("must be a number of seconds, zero or more".to_owned()),
    }
}
