//! What a person should know of a run besides its result, on standard error.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::args::{DataArgs, RunArgs};
use super::gate::shortfalls;
use crate::app;
use crate::model::Accepted;
use crate::report::View;

/// What the profile of some data says that most likely means something else.
pub fn of_data(quiet: bool, data: &DataArgs) {
    let first = data.paths.first().map(PathBuf::as_path);
    of_profiles(quiet, &[(data.profile.as_deref(), first)]);
}

/// What profiles say that most likely means something else: each is the one that is named, else the
/// one next to the data.
pub fn of_profiles(quiet: bool, profiles: &[(Option<&Path>, Option<&Path>)]) {
    if quiet {
        return;
    }
    let all = profiles.iter().flat_map(|(named, data)| app::profile_warnings(*named, *data));
    let mut said: Vec<String> = Vec::new();
    for text in all {
        // Both sides of a comparison may have one profile.
        if !said.contains(&text) {
            line(&format!("warning: {text}"));
            said.push(text);
        }
    }
}

/// Why the gate fails by what was not looked at, and else how much was. That the tool could not do
/// what it was asked for is an error, which is reported in any case.
pub fn of_gate(run: &RunArgs, view: &View<'_>) {
    let outcome = view.outcome;
    for text in shortfalls(view, run) {
        line(&format!("gate: {text}"));
    }
    if !run.quiet {
        for text in outcome.accepted.iter().filter_map(Accepted::trouble) {
            line(&format!("warning: {text}"));
        }
    }
    let Some(required) = &outcome.required else { return };
    let missing = &required.missing;
    for text in missing {
        line(&format!("gate: {text}"));
    }
    if missing.is_empty() && !run.quiet {
        line(&format!("gate: {}", required.words()));
    }
}

/// If standard error is closed, nobody is left to read this.
fn line(text: &str) {
    let _ = writeln!(anstream::stderr(), "{text}");
}
