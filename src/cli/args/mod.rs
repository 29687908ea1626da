//! What was typed.

use clap::{ArgAction, Parser, Subcommand};

use super::examples;
use super::memory;
use super::output::Color;

mod data;
mod keep;
mod run;
mod tools;
mod watch;

pub use data::{ColumnArgs, DataArgs};
pub use keep::{KeepArgs, KeepFormat, KeepFromArg};
pub use run::{AuditArgs, FailOn, Format, JudgeArgs, RunArgs};
pub use tools::{
    ColumnsArgs, CompareArgs, CompareFormat, CompletionsArgs, DemoArgs, ExplainArgs, ManArgs,
    SchemaOf, TraceArgs,
};
pub use watch::WatchArgs;

/// Quality auditor for teleoperation datasets: is this recording sound enough to train on, and
/// if not, what to fix on the rig.
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

    /// Most memory that one file may take to read, such as 2 GB [default: half of the machine's]
    #[arg(long, global = true, value_name = "SIZE", value_parser = memory::size, display_order = 899)]
    pub max_memory: Option<u64>,
}

/// Meaning of the exit codes.
pub const EXIT_CODES: &str = "\
Exit codes: 0 within limits, 1 beyond limits, files unread or required checks not assessed, 2 wrong
usage, profile or input, 3 nothing there to check, 70 internal error, 130 interrupted
(143 by SIGTERM).";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Measure and judge every episode
    #[command(before_help = examples::AUDIT)]
    Audit(AuditArgs),
    /// Judge measurements files again, without the data
    #[command(before_help = examples::JUDGE)]
    Judge(JudgeArgs),
    /// Show which column plays which role, and why
    #[command(before_help = examples::COLUMNS)]
    Columns(ColumnsArgs),
    /// Compare recording sessions: can they be trained on together?
    #[command(before_help = examples::COMPARE)]
    Compare(CompareArgs),
    /// Write a clean copy: chosen episodes, trimmed or mended; the source is never touched
    #[command(before_help = examples::KEEP)]
    Keep(KeepArgs),
    /// Explain what a check looks at, how, its limits, and what to do on the rig
    #[command(before_help = examples::EXPLAIN)]
    Explain(ExplainArgs),
    /// Write a simulated recording session with planted faults, and its answer key
    #[command(before_help = examples::DEMO)]
    Demo(DemoArgs),
    /// Draw one episode: leader and follower, joint by joint, flagged spans marked
    #[command(before_help = examples::TRACE)]
    Trace(TraceArgs),
    /// Audit each episode as its file lands, while the scene is still set
    #[command(before_help = examples::WATCH, mut_arg("paths", |folder| {
        let folder = folder.action(ArgAction::Set).value_name("DIR").num_args(1);
        folder.help("Folder that is recorded into")
    }))]
    Watch(WatchArgs),
    /// Write completions for a shell to standard output
    #[command(before_help = examples::COMPLETIONS)]
    Completions(CompletionsArgs),
    /// Write manual pages
    #[command(before_help = examples::MAN)]
    Man(ManArgs),
}
