//! What was typed after `watch`.

use std::path::PathBuf;

use clap::Args as ClapArgs;

use super::data::{DataArgs, seconds};
use super::run::RunArgs;

/// `watch`
#[derive(Debug, Clone, ClapArgs)]
pub struct WatchArgs {
    #[command(flatten)]
    pub data: DataArgs,

    /// Go on with what this measurements file of the folder holds, after a restart
    #[arg(long, value_name = "MEASUREMENTS")]
    pub resume: Option<PathBuf>,

    /// Ring the bell of the terminal at each episode that fails and where the rig must be fixed
    #[arg(long)]
    pub bell: bool,

    /// Run a command at each episode and each stop, for lights and sounds: {verdict} is pass, warn,
    /// fail or stop; {episode} and {path} say which; no shell is involved
    #[arg(long, value_name = "COMMAND")]
    pub exec: Option<String>,

    /// Look through the folder every few seconds instead of waiting for notices of the system: for
    /// network folders
    #[arg(long, value_name = "SECONDS", num_args = 0..=1, require_equals = true,
          default_missing_value = "2", value_parser = seconds)]
    pub poll: Option<f64>,

    /// Report a file that is not whole once it has not changed for so long
    #[arg(long, value_name = "SECONDS", default_value = "30", value_parser = seconds)]
    pub unfinished_after: f64,

    #[command(flatten)]
    pub run: RunArgs,
}
