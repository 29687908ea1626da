//! What was typed.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand};

use super::examples;
use super::output::Color;

mod run;
mod tools;

pub use run::{AuditArgs, FailOn, Format, JudgeArgs, RunArgs};
pub use tools::{
    ColumnsArgs, CompareArgs, CompareFormat, CompletionsArgs, DemoArgs, ExplainArgs, ManArgs,
    SchemaOf, TraceArgs,
};

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
}

/// Meaning of the exit codes.
pub const EXIT_CODES: &str = "\
Exit codes: 0 within limits, 1 beyond limits or files unread, 2 wrong usage, profile or input,
3 nothing there to check, 70 internal error, 130 interrupted.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Measure and judge every episode
    #[command(before_help = examples::AUDIT)]
    Audit(AuditArgs),
    /// Judge stored scorecards again, without the data
    #[command(before_help = examples::JUDGE)]
    Judge(JudgeArgs),
    /// Show which column plays which role, and why
    #[command(before_help = examples::COLUMNS)]
    Columns(ColumnsArgs),
    /// Compare two recording sessions: can both be trained on together?
    #[command(before_help = examples::COMPARE)]
    Compare(CompareArgs),
    /// Explain what a check looks at, how, its limits, and what to do on the rig
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

    /// Profile with column roles, rig and limits [default: teleassay.toml next to the data or in a
    /// folder above]
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,

    /// Rate at which the rig was meant to record, in hertz
    #[arg(long, value_name = "HZ", value_parser = positive)]
    pub rate: Option<f64>,

    /// URDF of the follower: limits of joints that the profile does not give, matched by name
    #[arg(long, value_name = "FILE")]
    pub urdf: Option<PathBuf>,
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
