//! Options that name the data, and readers of numbers.

use std::path::PathBuf;

use clap::Args as ClapArgs;

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

pub(super) fn positive(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Ok(value),
        _ => Err("must be a number above zero".to_owned()),
    }
}

pub(super) fn seconds(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Ok(value),
        _ => Err("must be a number of seconds, zero or more".to_owned()),
    }
}
