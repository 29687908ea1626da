//! Command lines that can be pasted: rebuilt from what was parsed, without output options.
//!
//! They are repeated behind `next:` and in what says where an outcome comes from.

use std::fmt::Display;
use std::path::{Path, PathBuf};

use super::args::{AuditArgs, CompareArgs, DataArgs, JudgeArgs, RunArgs, TraceArgs};
use crate::report::quote;

/// A command line in the making.
#[derive(Debug, Clone)]
struct Line(String);

impl Line {
    fn of(command: &str) -> Self {
        Self(format!("teleassay {command}"))
    }

    /// Adds words as they are.
    fn words(mut self, words: impl Display) -> Self {
        self.0.push_str(&format!(" {words}"));
        self
    }

    fn path(self, path: &Path) -> Self {
        self.words(quote(&path.to_string_lossy()))
    }

    fn paths(self, paths: &[PathBuf]) -> Self {
        paths.iter().fold(self, |line, path| line.path(path))
    }

    fn option(self, option: &str, path: Option<&PathBuf>) -> Self {
        path.map_or(self.clone(), |path| self.words(option).path(path))
    }

    fn list(self, option: &str, ids: &[String]) -> Self {
        if ids.is_empty() { self } else { self.words(option).words(quote(&ids.join(","))) }
    }

    fn data(self, data: &DataArgs) -> Self {
        let line = self.paths(&data.paths).option("--profile", data.profile.as_ref());
        let line = match data.rate {
            Some(rate) => line.words(format_args!("--rate {rate}")),
            None => line,
        };
        line.option("--urdf", data.urdf.as_ref())
    }

    /// What changes what is found.
    fn run(self, run: &RunArgs) -> Self {
        let line = self.checks(&run.only, &run.skip);
        run.baseline.iter().fold(line, |line, path| line.option("--baseline", Some(path)))
    }

    fn checks(self, only: &[String], skip: &[String]) -> Self {
        self.list("--only", only).list("--skip", skip)
    }
}

/// The audit.
pub fn audit(args: &AuditArgs) -> String {
    Line::of("audit").data(&args.data).option("--rig", args.rig.as_ref()).run(&args.run).0
}

/// The drawing of an episode of an audit, to be completed by the episode.
pub fn trace_of(args: &AuditArgs) -> String {
    let line = Line::of("trace").data(&args.data);
    line.checks(&args.run.only, &args.run.skip).0
}

/// The judgement.
pub fn judge(args: &JudgeArgs) -> String {
    let line = Line::of("judge").paths(&args.scorecards);
    line.option("--profile", args.profile.as_ref()).run(&args.run).0
}

/// The comparison.
pub fn compare(args: &CompareArgs) -> String {
    let line = Line::of("compare").path(&args.a).path(&args.b);
    line.option("--profile", args.profile.as_ref()).option("--profile-b", args.profile_b.as_ref()).0
}

/// The drawing.
pub fn trace(args: &TraceArgs) -> String {
    Line::of("trace").data(&args.data).words("--episode").words(quote(&args.episode)).0
}

/// The command that writes a profile of what was understood.
pub fn write_profile(data: &DataArgs, name: &str) -> String {
    Line::of("columns").data(data).words(format_args!("--write {name}")).0
}
