//! What was typed after `keep`.

use std::path::PathBuf;

use clap::{Args as ClapArgs, ValueEnum};

use super::data::DataArgs;

/// `keep`
#[derive(Debug, Clone, ClapArgs)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch on the command line")]
pub struct KeepArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// Folder to write to: new or empty
    #[arg(long, value_name = "DIR", required = true)]
    pub to: PathBuf,

    /// Keep episodes of this verdict and better [default: warn; fail where --episodes names them]
    #[arg(long, value_enum, value_name = "VERDICT", help_heading = "Which episodes")]
    pub keep_from: Option<KeepFromArg>,

    /// Keep only these episodes: ids, or a file with ids (.txt, .csv, .json)
    #[arg(
        long,
        value_name = "ID,...|FILE",
        value_delimiter = ',',
        help_heading = "Which episodes"
    )]
    pub episodes: Vec<String>,

    /// Leave these episodes out, likewise
    #[arg(
        long,
        value_name = "ID,...|FILE",
        value_delimiter = ',',
        help_heading = "Which episodes"
    )]
    pub leave_out: Vec<String>,

    /// Leave out episodes in which these checks report
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',', help_heading = "Which episodes")]
    pub without: Vec<String>,

    /// Keep only episodes of this task; repeat for several
    #[arg(long, value_name = "TASK", help_heading = "Which episodes")]
    pub task: Vec<String>,

    /// Keep only episodes that meet a condition.
    #[arg(
        long = "where",
        value_name = "CONDITION",
        help_heading = "Which episodes",
        help = "Keep only episodes that meet a condition, such as \
          \"duration_s >= 2 and verdict != fail\""
    )]
    pub condition: Option<String>,

    /// Leave out still heads and tails but for 0.3 s
    #[arg(long, help_heading = "What is changed")]
    pub trim_idle: bool,

    /// Leave out spans: ID:FROM-TO in seconds from the start, or a keep list (.json) of an audit
    #[arg(
        long,
        value_name = "SPAN,...|FILE",
        value_delimiter = ',',
        help_heading = "What is changed"
    )]
    pub trim: Vec<String>,

    /// Cut episodes in two where the clock jumps
    #[arg(long, help_heading = "What is changed")]
    pub split: bool,

    /// Leave out rows that are equal to the row above in each column
    #[arg(long, help_heading = "What is changed")]
    pub drop_doubled: bool,

    /// Repair what the data proves: exchange-sides, exchange-joints:A,B, unwrap:JOINT, unit:JOINT,
    /// shift-actions:ROWS, offset:SIDE/JOINT:VALUE; repeat for several
    #[arg(long, value_name = "REPAIR", help_heading = "What is changed")]
    pub mend: Vec<String>,

    /// Number episodes and frames again, from 0
    #[arg(long, help_heading = "What is changed")]
    pub renumber: bool,

    /// Run only these checks: ids, titles or families
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',')]
    pub only: Vec<String>,

    /// Skip these checks
    #[arg(long, value_name = "CHECK,...", value_delimiter = ',', conflicts_with = "only")]
    pub skip: Vec<String>,

    /// Print what would be kept and changed, and write nothing
    #[arg(long)]
    pub dry_run: bool,

    /// Choose what to print
    #[arg(long, value_enum, default_value_t = KeepFormat::Table, value_name = "FORMAT")]
    pub format: KeepFormat,

    /// Use this many threads [default: one per core]
    #[arg(long, value_name = "N")]
    pub threads: Option<std::num::NonZeroUsize>,

    /// Print nothing but errors; the exit code stays
    #[arg(long, short)]
    pub quiet: bool,

    /// Show no progress bar
    #[arg(long)]
    pub no_progress: bool,
}

/// Which verdicts are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum KeepFromArg {
    /// Only episodes within all limits
    #[value(alias = "pass")]
    Ok,
    /// Episodes that did not fail
    Warn,
    /// Episodes of every verdict
    #[value(alias = "all")]
    Fail,
}

/// What to print of a copy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum KeepFormat {
    /// For a person at a terminal
    Table,
    /// The document that is written to changes.json
    Json,
}
