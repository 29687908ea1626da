//! Options that name the data, and readers of numbers.

use std::path::PathBuf;

use clap::Args as ClapArgs;

use crate::model::Unit;
use crate::model::quantity;

/// Where the data is and how to read it.
#[derive(Debug, Clone, ClapArgs)]
pub struct DataArgs {
    /// Files, folders or globs of tables.
    #[arg(
        required = true,
        value_name = "PATH",
        help = "Files, folders or globs of tables (Parquet, Arrow IPC, CSV, JSON Lines, MCAP, NumPy); \
          - is standard input"
    )]
    pub paths: Vec<PathBuf>,

    /// Profile with column roles, rig and limits [default: teleassay.toml next to the data or in a
    /// folder above]
    #[arg(long, value_name = "FILE")]
    pub profile: Option<PathBuf>,

    /// Rate at which the rig was meant to record, in hertz
    #[arg(long, value_name = "HZ", value_parser = hertz)]
    pub rate: Option<f64>,

    /// URDF of the follower: limits of joints that the profile does not give, matched by name
    #[arg(long, value_name = "FILE")]
    pub urdf: Option<PathBuf>,

    #[command(flatten)]
    pub columns: ColumnArgs,
}

/// Columns and unit, for whoever has no profile.
#[derive(Debug, Clone, Default, PartialEq, ClapArgs)]
pub struct ColumnArgs {
    /// Follower's measured positions: a list or struct column, or a column for each joint; goes
    /// before the profile, as do the next four
    #[arg(long, value_name = "COLUMN,...", value_delimiter = ',')]
    pub state: Vec<String>,

    /// Leader's positions, or what was commanded, likewise
    #[arg(long, value_name = "COLUMN,...", value_delimiter = ',')]
    pub action: Vec<String>,

    /// Time column
    #[arg(long, value_name = "COLUMN")]
    pub time: Option<String>,

    /// Column that says which episode a row belongs to
    #[arg(long, value_name = "COLUMN")]
    pub episode_column: Option<String>,

    /// Unit of the joint values: rad, deg, counts:4096 (counts to a turn), normalized:-1:1 (stored
    /// ends of the travel)
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,
}

/// A rate: a number of hertz, with its unit or without.
pub(super) fn hertz(text: &str) -> Result<f64, String> {
    match quantity(text, Unit::Hertz)? {
        value if value > 0.0 => Ok(value),
        _ => Err("must be a number above zero".to_owned()),
    }
}

/// A share: 0.9 or 90 %.
pub(super) fn share(text: &str) -> Result<f64, String> {
    match quantity(text, Unit::Share)? {
        value if value > 0.0 && value <= 1.0 => Ok(value),
        value => Err(quantity::unlikely(value, Unit::Share).unwrap_or_else(|| {
            "must be above 0 and at most 1, such as 0.9 or \"90 %\"".to_owned()
        })),
    }
}

fn quantity(text: &str, unit: Unit) -> Result<f64, String> {
    let read = quantity::read(text, unit).map_err(|error| format!("{error}; {}", error.hint()));
    read.map(|quantity| quantity.value)
}

/// A number of minutes, or a time with its unit.
pub(super) fn minutes(text: &str) -> Result<f64, String> {
    let minutes = match text.trim().parse::<f64>() {
        Ok(minutes) => minutes,
        Err(_) => quantity(text, Unit::Second)? / 60.0,
    };
    if minutes.is_finite() && minutes > 0.0 {
        return Ok(minutes);
    }
    Err("must be a number of minutes above zero".to_owned())
}

pub(super) fn seconds(text: &str) -> Result<f64, String> {
    match quantity(text, Unit::Second)? {
        value if value >= 0.0 => Ok(value),
        _ => Err("must be a number of seconds, zero or more".to_owned()),
    }
}
