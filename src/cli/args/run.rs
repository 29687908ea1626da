//! What was typed after `audit` and `judge`.

use std::path::PathBuf;

use crate::model::Severity;
use crate::report::{JsonDetail, KeepFrom};
use clap::{Args as ClapArgs, ValueEnum};

use super::data::{DataArgs, minutes, share};

/// `audit`
#[derive(Debug, Clone, ClapArgs)]
pub struct AuditArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// Take the rig from this measurements file and not from the data, so that parts of a dataset
    /// are measured alike
    #[arg(long, value_name = "MEASUREMENTS", conflicts_with_all = ["rate", "urdf"])]
    pub rig: Option<PathBuf>,

    #[command(flatten)]
    pub run: RunArgs,
}

/// `judge`
#[derive(Debug, Clone, ClapArgs)]
pub struct JudgeArgs {
    /// Files that `audit --out-measurements FILE.parquet` wrote; several are parts of one dataset
    #[arg(required = true, value_name = "MEASUREMENTS")]
    pub measurements: Vec<PathBuf>,

    /// Profile with limits [default: teleassay.toml next to the first measurements file or in a
    /// folder above]; its columns, rig and parameters matter when data is measured, not here
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,

    #[command(flatten)]
    pub run: RunArgs,
}

/// How to audit and what to write.
#[derive(Debug, Clone, ClapArgs)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch on the command line")]
pub struct RunArgs {
    /// Run only these checks: ids, titles or families
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',')]
    pub only: Vec<String>,

    /// Skip these checks
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',', conflicts_with = "only")]
    pub skip: Vec<String>,

    /// Choose what to print
    #[arg(long, value_enum, default_value_t = Format::Table, value_name = "FORMAT")]
    pub format: Format,

    /// Print one record per line, fields separated by tabs
    #[arg(long, conflicts_with = "format")]
    pub plain: bool,

    /// Print every row, and why checks could not be assessed
    #[arg(long, conflicts_with_all = ["format", "plain", "episode"])]
    pub all: bool,

    /// Print ten lines at most
    #[arg(long, conflicts_with_all = ["format", "plain", "episode", "all"])]
    pub brief: bool,

    /// Print the episodes by task, file, folder, day, folder key (key=value) or declared label
    #[arg(long, value_name = "COLUMN",
          conflicts_with_all = ["format", "plain", "episode", "all", "brief"])]
    pub by: Option<String>,

    /// Print only this episode's card
    #[arg(long, value_name = "ID")]
    pub episode: Option<String>,

    /// Write the report as JSON
    #[arg(long, value_name = "FILE")]
    pub out_json: Option<PathBuf>,

    /// How much of each episode JSON holds
    #[arg(long, value_enum, default_value_t = JsonDetail::Findings, value_name = "DETAIL")]
    pub json_detail: JsonDetail,

    /// Write a table with a row for each finding: FILE.parquet or FILE.csv
    #[arg(long, value_name = "FILE")]
    pub out_findings: Option<PathBuf>,

    /// Write an HTML report: one file that needs no network
    #[arg(long, value_name = "FILE")]
    pub out_html: Option<PathBuf>,

    /// Write a `JUnit` report, one test case per episode.
    #[arg(
        long,
        value_name = "FILE",
        help = "Write a JUnit report, one test case per episode; \
          --fail-on sets what is a failure"
    )]
    pub out_junit: Option<PathBuf>,

    /// Write what was measured as a table: FILE.parquet for `judge` and `--baseline`, FILE.csv for
    /// a spreadsheet
    #[arg(long, value_name = "FILE", alias = "out-scorecard")]
    pub out_measurements: Option<PathBuf>,

    /// Fail only on what is new or worse than in this measurements file; repeat for each part
    #[arg(long, value_name = "MEASUREMENTS")]
    pub baseline: Vec<PathBuf>,

    /// Write the ids of the episodes to keep, one per line; FILE.csv, FILE.parquet and FILE.json
    /// hold path, rows, verdict, reasons and what to trim as well
    #[arg(long, value_name = "FILE")]
    pub out_keep_list: Option<PathBuf>,

    /// Write the other episodes in the same way
    #[arg(long, value_name = "FILE")]
    pub out_drop_list: Option<PathBuf>,

    /// Keep episodes of this verdict and better
    #[arg(long, value_enum, default_value_t = KeepFrom::Warn, value_name = "VERDICT")]
    pub keep_from: KeepFrom,

    /// Store the SHA-256 of every input in the report
    #[arg(long)]
    pub hash_inputs: bool,

    /// Print the profile in force, with every limit and parameter, instead of auditing
    #[arg(long, conflicts_with_all = ["format", "plain", "episode", "all", "brief"])]
    pub show_profile: bool,

    /// Print the statistics a trainer would normalise each dimension with, and where they mislead
    #[arg(long, conflicts_with_all = ["format", "plain", "episode", "show_profile"])]
    pub normalisation: bool,

    /// Exit with 1 from this verdict on
    #[arg(long, value_enum, default_value_t = FailOn::Fail, value_name = "VERDICT")]
    pub fail_on: FailOn,

    /// Allow this share of the episodes to be that bad, such as 0.05 or 5 %; a finding of the session
    /// still counts
    #[arg(long, value_name = "SHARE", value_parser = share, conflicts_with = "episode")]
    pub max_bad_share: Option<f64>,

    /// Exit with 1 if fewer minutes than this can be trained on as they are
    #[arg(long, value_name = "MINUTES", value_parser = minutes, conflicts_with = "episode")]
    pub min_usable_minutes: Option<f64>,

    /// Exit with 1 if one of these checks could be assessed in no episode, or no check of these
    /// families
    #[arg(long, value_name = "CHECK|FAMILY,...", value_delimiter = ',')]
    pub require: Vec<String>,

    /// Exit with 1 if less than this share was assessed, such as 0.9 or 90 %: each check in each
    /// episode counts once; of the required checks, else of all that had something to look at
    #[arg(long, value_name = "SHARE", value_parser = share)]
    pub min_assessed: Option<f64>,

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

impl RunArgs {
    /// Whether standard output stays empty: nobody asked for more than the screen.
    pub fn no_screen(&self) -> bool {
        self.quiet && self.format == Format::Table && !self.plain && !self.normalisation
    }

    /// Files that are written.
    pub fn outs(&self) -> impl Iterator<Item = &PathBuf> {
        let outs = [
            &self.out_html,
            &self.out_json,
            &self.out_junit,
            &self.out_measurements,
            &self.out_findings,
            &self.out_keep_list,
            &self.out_drop_list,
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
    /// One episode per line, the session last; "kind" tells them apart
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

/// The verdict from which on a run counts as failed.
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
