//! What was typed after `audit` and `judge`.

use std::path::PathBuf;

use crate::model::Severity;
use clap::{Args as ClapArgs, ValueEnum};

use super::DataArgs;

/// `audit`
#[derive(Debug, Clone, ClapArgs)]
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

    /// Print one record a line, fields separated by tabs
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

    /// Print what a trainer would normalise each dimension with, and where that would mislead
    #[arg(long, conflicts_with_all = ["format", "plain", "episode", "show_profile"])]
    pub normalisation: bool,

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

impl RunArgs {
    /// Files that are written.
    pub fn outs(&self) -> impl Iterator<Item = &PathBuf> {
        let outs = [
            &self.out_html,
            &self.out_json,
            &self.out_junit,
            &self.out_scorecard,
            &self.out_keep_list,
        ];
        outs.into_iter().flatten()
    }
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
