//! Command lines that can be pasted: rebuilt from what was parsed, without output options.
//!
//! They are repeated behind `next:` and in what says where an outcome comes from.

use std::fmt::{Display, Write as _};
use std::path::{Path, PathBuf};

use super::args::{
    AuditArgs, ColumnArgs, CompareArgs, DataArgs, JudgeArgs, KeepArgs, RunArgs, TraceArgs,
};
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
        self.0.push(' ');
        self.0.push_str(&words.to_string());
        self
    }

    fn path(self, path: &Path) -> Self {
        match path.to_str() {
            Some(text) => self.words(quote(text)),
            None => self.words(quoted_bytes(path)),
        }
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
        line.rate(data.rate).option("--urdf", data.urdf.as_ref()).columns(&data.columns)
    }

    fn rate(self, rate: Option<f64>) -> Self {
        match rate {
            Some(rate) => self.words(format_args!("--rate {rate}")),
            None => self,
        }
    }

    fn text(self, option: &str, text: Option<&String>) -> Self {
        text.map_or(self.clone(), |text| self.words(option).words(quote(text)))
    }

    fn columns(self, columns: &ColumnArgs) -> Self {
        let line = self.list("--state", &columns.state).list("--action", &columns.action);
        let line = line.text("--time", columns.time.as_ref());
        let line = line.text("--episode-column", columns.episode_column.as_ref());
        line.text("--unit", columns.unit.as_ref())
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

/// A path that is no text, as bash and zsh take it: `$'gr\xfcn'`.
fn quoted_bytes(path: &Path) -> String {
    let mut text = "$'".to_owned();
    for &byte in path.as_os_str().as_encoded_bytes() {
        if byte.is_ascii_alphanumeric() || b"/.-_ ".contains(&byte) {
            text.push(char::from(byte));
        } else {
            let _ = write!(text, "\\x{byte:02x}");
        }
    }
    text + "'"
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
    let line = Line::of("judge").paths(&args.measurements);
    line.option("--profile", args.profile.as_ref()).run(&args.run).0
}

/// The comparison; then each session after the first, compared with it alone.
pub fn compare(args: &CompareArgs) -> Vec<String> {
    let others = || std::iter::once(&args.b).chain(&args.more);
    let all = others().fold(Line::of("compare").path(&args.a), |line, path| line.path(path));
    let pairs = others().map(|path| Line::of("compare").path(&args.a).path(path));
    std::iter::once(all).chain(pairs).map(|line| compared(line, args)).collect()
}

fn compared(line: Line, args: &CompareArgs) -> String {
    let line = line
        .option("--profile", args.profile.as_ref())
        .option("--profile-b", args.profile_b.as_ref());
    line.rate(args.rate).columns(&args.columns).0
}

/// The drawing.
pub fn trace(args: &TraceArgs) -> String {
    Line::of("trace").data(&args.data).words("--episode").words(quote(&args.episode)).0
}

/// What of a copy says which episodes are kept and what is changed, option by option.
pub fn keep_options(args: &KeepArgs) -> Vec<String> {
    use clap::ValueEnum as _;
    let mut options = Vec::new();
    let value = args.keep_from.and_then(|from| from.to_possible_value());
    if let Some(value) = value {
        options.push(format!("--keep-from {}", value.get_name()));
    }
    let joined = |option: &str, values: &[String]| {
        (!values.is_empty()).then(|| format!("{option} {}", quote(&values.join(","))))
    };
    options.extend(joined("--episodes", &args.episodes));
    options.extend(joined("--leave-out", &args.leave_out));
    options.extend(joined("--without", &args.without));
    options.extend(args.task.iter().map(|task| format!("--task {}", quote(task))));
    options.extend(args.condition.iter().map(|text| format!("--where {}", quote(text))));
    options.extend(args.trim_idle.then(|| "--trim-idle".to_owned()));
    options.extend(joined("--trim", &args.trim));
    options.extend(args.split.then(|| "--split".to_owned()));
    options.extend(args.drop_doubled.then(|| "--drop-doubled".to_owned()));
    options.extend(args.mend.iter().map(|mend| format!("--mend {}", quote(mend))));
    options.extend(args.renumber.then(|| "--renumber".to_owned()));
    options.extend(joined("--only", &args.only));
    options.extend(joined("--skip", &args.skip));
    options
}

/// The copy, written and not only looked at.
pub fn keep_now(args: &KeepArgs) -> String {
    let line = Line::of("keep").data(&args.data).words("--to").path(&args.to);
    keep_options(args).iter().fold(line, Line::words).0
}

/// The audit of a copy, with the profile of its source.
pub fn audit_of_copy(args: &KeepArgs, profile: Option<&PathBuf>) -> String {
    let line = Line::of("audit").path(&args.to).option("--profile", profile);
    let line = line.rate(args.data.rate).option("--urdf", args.data.urdf.as_ref());
    line.columns(&args.data.columns).checks(&args.only, &args.skip).0
}

/// The copy of what is audited, to be completed by what is changed.
pub fn keep_of(args: &AuditArgs) -> String {
    let whole = args.data.paths.first().map(|path| {
        let mut name = path.file_name().unwrap_or_default().to_os_string();
        if name.is_empty() || args.data.paths.len() > 1 {
            name = "copy".into();
        }
        name.push("-clean");
        PathBuf::from(name)
    });
    let line = Line::of("keep").data(&args.data).option("--to", whole.as_ref());
    line.checks(&args.run.only, &args.run.skip).0
}

/// The command that writes a profile of what was understood.
pub fn write_profile(data: &DataArgs, name: &str) -> String {
    Line::of("columns").data(data).words(format_args!("--write {name}")).0
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;

    use super::*;
    use crate::cli::args::{Args, Command};

    /// Parses a command line as a shell would hand it over, and rebuilds it.
    fn rebuilt(line: &str) -> Option<String> {
        let parsed = Args::try_parse_from(shlex::split(line)?).ok()?;
        Some(match &parsed.command {
            Command::Audit(args) => audit(args),
            Command::Judge(args) => judge(args),
            Command::Compare(args) => compare(args).swap_remove(0),
            Command::Trace(args) => trace(args),
            Command::Columns(args) => write_profile(&args.data, "x.toml"),
            _ => return None,
        })
    }

    #[test]
    fn a_command_line_comes_back_as_it_was_meant() {
        for line in [
            "teleassay audit 'my session' 'b/*.parquet'",
            "teleassay audit a --profile 'it is.toml' --rate 30 --urdf arm.urdf",
            "teleassay audit a --rig r.parquet",
            "teleassay audit a --state 'm 1,m 2' --action c --time t --episode-column run --unit deg",
            "teleassay trace a --state m --unit counts:4096 --episode 3",
            "teleassay compare a b --rate 30 --state m --action c --unit normalized:-1:1",
            "teleassay audit a --only tracking-lag,dead-joint --baseline m.parquet --baseline n.parquet",
            "teleassay audit a --skip tracking-lag",
            "teleassay judge a.parquet b.parquet --profile p.toml --baseline c.parquet",
            "teleassay compare a b --profile p.toml --profile-b q.toml",
            "teleassay compare a b 'c d' e --profile-b q.toml",
            "teleassay trace a --profile p.toml --episode 'pot 3'",
            "teleassay columns a --rate 12.5 --write x.toml",
        ] {
            // The first round may change quotes, the second must change nothing.
            let once = rebuilt(line);
            assert_eq!(once.as_deref().and_then(rebuilt), once, "{line}");
            assert_eq!(once.as_deref().and_then(shlex::split), shlex::split(line), "{line}");
        }
    }

    #[test]
    fn output_options_are_left_out_and_a_trace_takes_no_baseline() {
        let line = "teleassay audit a --out-html x.html --baseline b.parquet --skip dead-joint -q";
        let kept = "teleassay audit a --skip dead-joint --baseline b.parquet";
        assert_eq!(rebuilt(line).as_deref(), Some(kept));
        let parsed = Args::try_parse_from(shlex::split(line).unwrap_or_default());
        let Ok(Args { command: Command::Audit(args), .. }) = parsed else { panic!("{line}") };
        assert_eq!(trace_of(&args), "teleassay trace a --skip dead-joint");
    }

    /// By bash, which is not ours.
    #[cfg(unix)]
    #[test]
    fn a_path_that_is_no_text_is_the_same_behind_a_shell() -> std::io::Result<()> {
        use std::os::unix::ffi::OsStrExt as _;
        let name = b"gr\xfcn/it's \\1";
        let quoted = quoted_bytes(Path::new(std::ffi::OsStr::from_bytes(name)));
        assert_eq!(quoted, "$'gr\\xfcn/it\\x27s \\x5c1'");
        let printed = format!("printf %s {quoted}");
        let output = std::process::Command::new("bash").args(["-c", &printed]).output()?;
        assert_eq!(output.stdout, name);
        Ok(())
    }
}
