//! The binary while it watches, and a process that writes.

use std::error::Error;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said};
use crate::support::python::python;

/// Longest that a test waits for anything.
const PATIENCE: Duration = Duration::from_secs(120);

/// A folder that is recorded into, and files next to it.
pub struct Place {
    dir: TempDir,
    pub folder: PathBuf,
}

impl Place {
    pub fn new() -> Result<Self, Box<dyn Error>> {
        let dir = tempfile::tempdir()?;
        let folder = dir.path().join("session");
        fs::create_dir(&folder)?;
        Ok(Self { dir, folder })
    }

    /// A file next to the folder.
    pub fn file(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// A simulated session, with its profile in force for the folder.
    pub fn demo(&self, episodes: usize) -> Result<PathBuf, Box<dyn Error>> {
        let made = self.file("made");
        let episodes = episodes.to_string();
        let args = ["demo", &made.to_string_lossy(), "--episodes", &episodes];
        let output = run(&args)?;
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        fs::copy(made.join("teleassay.toml"), self.file("teleassay.toml"))?;
        Ok(made)
    }

    /// The report of `audit` on the folder.
    pub fn audited(&self) -> Result<Value, Box<dyn Error>> {
        let report = self.file("audit.json");
        let args = ["audit", &self.folder.to_string_lossy(), "--quiet", "--out-json"];
        let output = run(&[&args[..], &[&*report.to_string_lossy()]].concat())?;
        assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
        Ok(serde_json::from_slice(&fs::read(report)?)?)
    }
}

/// Another process that writes.
pub fn writer(
    tables: &Path,
    folder: &Path,
    style: &str,
    seconds: f64,
    count: usize,
) -> Result<Child, Box<dyn Error>> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/watch/writer.py");
    let mut command = Command::new(python()?);
    command.arg(script).arg(tables).arg(folder).arg(style);
    command.args([seconds.to_string(), count.to_string()]).stdout(Stdio::piped());
    Ok(command.spawn()?)
}

/// The binary while it watches.
pub struct Watching {
    child: Child,
    lines: PathBuf,
    errors: PathBuf,
    report: PathBuf,
}

impl Watching {
    pub fn start(place: &Place, more: &[&str]) -> Result<Self, Box<dyn Error>> {
        let (lines, errors) = (place.file("lines.txt"), place.file("errors.txt"));
        let report = place.file("watch.json");
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("teleassay"));
        command.arg("watch").arg(&place.folder).arg("--out-json").arg(&report).args(more);
        command.env("NO_COLOR", "1").env_remove("CLICOLOR_FORCE");
        command.stdout(File::create(&lines)?).stderr(File::create(&errors)?);
        let watching = Self { child: command.spawn()?, lines, errors, report };
        watching.wait("it began", |watching| watching.errors().contains("Ctrl-C"))?;
        Ok(watching)
    }

    pub fn lines(&self) -> String {
        fs::read_to_string(&self.lines).unwrap_or_default()
    }

    pub fn errors(&self) -> String {
        fs::read_to_string(&self.errors).unwrap_or_default()
    }

    /// The lines of episodes: id and the line behind the time.
    pub fn episodes(&self) -> Vec<(String, String)> {
        let text = self.lines();
        let of = |line: &str| {
            let rest = line.get(10..)?.strip_prefix("ep ")?;
            Some((rest.split_whitespace().next()?.to_owned(), rest.to_owned()))
        };
        text.lines().filter_map(of).collect()
    }

    /// Waits until something is so.
    pub fn wait(&self, what: &str, so: impl Fn(&Self) -> bool) -> Tested {
        let begun = Instant::now();
        while !so(self) {
            if begun.elapsed() > PATIENCE {
                let (lines, errors) = (self.lines(), self.errors());
                return Err(format!("{what}: not in time\n{lines}\n{errors}").into());
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        Ok(())
    }

    /// Waits until so many episodes have a line.
    pub fn until(&self, episodes: usize) -> Tested {
        self.wait(&format!("{episodes} episodes"), |one| one.episodes().len() >= episodes)
    }

    /// Ctrl-C; gives its exit and the report.
    pub fn end(mut self) -> Result<Ended, Box<dyn Error>> {
        let id = self.child.id().to_string();
        Command::new("kill").args(["-INT", &id]).status()?;
        let status = self.child.wait()?;
        let report = fs::read(&self.report).unwrap_or_default();
        let report = serde_json::from_slice(&report).unwrap_or(Value::Null);
        let (lines, errors) = (self.lines(), self.errors());
        let episodes = self.episodes();
        Ok(Ended { status, report, lines, errors, episodes })
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        // A test that failed leaves nothing running.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What it left.
pub struct Ended {
    pub status: ExitStatus,
    pub report: Value,
    pub lines: String,
    pub errors: String,
    pub episodes: Vec<(String, String)>,
}

/// Verdict and findings of each episode: of each finding check, measurement, joint, severity and
/// value.
pub fn verdicts(report: &Value) -> Vec<(String, String, Vec<String>)> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let finding = |one: &Value| {
        let keys = ["check", "metric", "joint", "severity", "value", "spans"];
        keys.map(|key| one[key].to_string()).join(" ")
    };
    let card = |card: &Value| {
        let findings = card["findings"].as_array().into_iter().flatten().map(finding).collect();
        (text(&card["episode"]), text(&card["verdict"]), findings)
    };
    report["episodes"].as_array().into_iter().flatten().map(card).collect()
}
