//! What is meant: arguments, profile and defaults put together and checked.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use teleassay::demo::Layout;
use teleassay::model::CheckSpec;
use teleassay::profile::{Profile, nearest};
use teleassay::report::quote;
use teleassay::store;

use super::args::{AuditArgs, CompareArgs, DataArgs, DemoArgs, Format, JudgeArgs, RunArgs};
use super::audit::checks;
use super::error::CliError;

/// Where the data is and what is known of it.
#[derive(Debug)]
pub struct DataSettings {
    /// As typed.
    pub paths: Vec<PathBuf>,
    /// What the profile and the options say.
    pub profile: Profile,
    /// Where the profile was found.
    pub profile_path: Option<PathBuf>,
    /// Options as they can be pasted after a command: paths, `--profile`, `--rate`.
    pub pasted: String,
}

/// An audit.
#[derive(Debug)]
pub struct AuditSettings {
    /// The data.
    pub data: DataSettings,
    /// Checks that run, in the order in which a person reads them.
    pub checks: Vec<&'static CheckSpec>,
    /// What to do with the outcome.
    pub run: RunArgs,
    /// The command as it can be pasted, without its output options.
    pub command: String,
    /// Files beside the recordings that must not be written over.
    pub spared: Vec<PathBuf>,
}

/// Stored scorecards, judged again.
#[derive(Debug)]
pub struct JudgeSettings {
    /// As typed.
    pub scorecards: Vec<PathBuf>,
    /// What the profile says.
    pub profile: Profile,
    /// Checks that are judged, in the order in which a person reads them.
    pub checks: Vec<&'static CheckSpec>,
    /// What to do with the outcome.
    pub run: RunArgs,
    /// The command as it can be pasted, without its output options.
    pub command: String,
    /// Files that must not be written over.
    pub spared: Vec<PathBuf>,
}

/// A comparison.
#[derive(Debug)]
pub struct CompareSettings {
    /// What B is compared with.
    pub a: DataSettings,
    /// What is compared.
    pub b: DataSettings,
    /// The command as it can be pasted, without its output options.
    pub command: String,
}

/// A demonstration.
#[derive(Debug)]
pub struct DemoSettings {
    /// Folder to write to.
    pub dir: PathBuf,
    /// Number of episodes.
    pub episodes: u32,
    /// Rate in hertz.
    pub rate_hz: f64,
    /// Seed.
    pub seed: u64,
    /// Layout of the table.
    pub layout: Layout,
}

impl DataSettings {
    /// Reads the profile and puts the options over it.
    pub fn new(args: &DataArgs) -> Result<Self, CliError> {
        let found = match &args.profile {
            Some(path) => Some(path.clone()),
            None => args.paths.first().and_then(|path| Profile::find(path)),
        };
        let mut profile = match &found {
            Some(path) => Profile::read(path, &checks())?,
            None => Profile::default(),
        };
        let mut pasted = String::new();
        for path in &args.paths {
            pasted.push(' ');
            pasted.push_str(&quote(&path.to_string_lossy()));
        }
        if let Some(path) = &args.profile {
            let _ = write!(pasted, " --profile {}", quote(&path.to_string_lossy()));
        }
        if let Some(rate) = args.rate {
            profile.declared.rate_hz = Some(rate);
            let _ = write!(pasted, " --rate {rate}");
        }
        if let Some(urdf) = &args.urdf {
            profile.declared.urdf = Some(urdf.clone());
            let _ = write!(pasted, " --urdf {}", quote(&urdf.to_string_lossy()));
        }
        Ok(Self { paths: args.paths.clone(), profile, profile_path: found, pasted })
    }

    /// Files beside the data that are read.
    pub fn files(&self) -> Vec<PathBuf> {
        [&self.profile_path, &self.profile.declared.urdf].into_iter().flatten().cloned().collect()
    }
}

impl AuditSettings {
    /// Puts an audit together.
    pub fn new(args: AuditArgs) -> Result<Self, CliError> {
        let mut data = DataSettings::new(&args.data)?;
        if let Some(path) = &args.rig {
            let stored = store::read(std::slice::from_ref(path))?;
            data.profile.declared.rig = Some(Arc::clone(stored.rig()));
            let _ = write!(data.pasted, " --rig {}", quote(&path.to_string_lossy()));
        }
        let checks = chosen(&data.profile, &args.run.only, &args.run.skip)?;
        let command = pasted(format!("teleassay audit{}", data.pasted), &args.run);
        outputs(&args.run)?;
        let mut spared = data.files();
        spared.extend(args.rig.iter().chain(&args.run.baseline).cloned());
        Ok(Self { data, checks, run: args.run, command, spared })
    }
}

impl JudgeSettings {
    /// Puts a judgement together.
    pub fn new(args: JudgeArgs) -> Result<Self, CliError> {
        let found = match (&args.profile, args.scorecards.first()) {
            (Some(path), _) => Some(path.clone()),
            (None, first) => first.and_then(|path| Profile::find(path)),
        };
        let profile = match &found {
            Some(path) => Profile::read(path, &checks())?,
            None => Profile::default(),
        };
        let mut command = String::from("teleassay judge");
        for path in &args.scorecards {
            let _ = write!(command, " {}", quote(&path.to_string_lossy()));
        }
        if let Some(path) = &args.profile {
            let _ = write!(command, " --profile {}", quote(&path.to_string_lossy()));
        }
        let checks = chosen(&profile, &args.run.only, &args.run.skip)?;
        let command = pasted(command, &args.run);
        outputs(&args.run)?;
        if let Some(path) = &args.run.out_scorecard
            && extension(path)? == TableKind::Parquet
        {
            let what = "a scorecard holds what was measured, and judging measures nothing";
            let hint =
                "keep the scorecard as it is, and name several at once to judge them together";
            return Err(CliError::input(what).with_hint(hint));
        }
        let read = args.scorecards.iter().chain(&found).chain(&args.run.baseline);
        let spared = read.cloned().collect();
        let (scorecards, run) = (args.scorecards, args.run);
        Ok(Self { scorecards, profile, checks, run, command, spared })
    }
}

impl CompareSettings {
    /// Puts a comparison together. Each side has its own profile unless one is given for both.
    pub fn new(args: &CompareArgs) -> Result<Self, CliError> {
        let side = |path: &Path, profile: Option<&PathBuf>| {
            DataSettings::new(&DataArgs {
                paths: vec![path.to_path_buf()],
                profile: profile.cloned(),
                rate: None,
                urdf: None,
            })
        };
        let a = side(&args.a, args.profile.as_ref())?;
        let b = side(&args.b, args.profile_b.as_ref().or(args.profile.as_ref()))?;
        let quoted = |path: &Path| quote(&path.to_string_lossy());
        let mut command = format!("teleassay compare {} {}", quoted(&args.a), quoted(&args.b));
        for (option, path) in [("--profile", &args.profile), ("--profile-b", &args.profile_b)] {
            if let Some(path) = path {
                let _ = write!(command, " {option} {}", quoted(path));
            }
        }
        Ok(Self { a, b, command })
    }
}

/// Whether anything that was asked for shows the readings of single episodes.
pub fn keeps_readings(run: &RunArgs) -> bool {
    let csv = |path: &PathBuf| matches!(extension(path), Ok(TableKind::Csv));
    run.format != Format::Table
        || run.plain
        || run.episode.is_some()
        || run.out_json.is_some()
        || run.out_scorecard.as_ref().is_some_and(csv)
}

/// The command with the options that change what is found.
fn pasted(mut command: String, run: &RunArgs) -> String {
    for (option, ids) in [("--only", &run.only), ("--skip", &run.skip)] {
        if !ids.is_empty() {
            let _ = write!(command, " {option} {}", quote(&ids.join(",")));
        }
    }
    for path in &run.baseline {
        let _ = write!(command, " --baseline {}", quote(&path.to_string_lossy()));
    }
    command
}

/// Holds what is to be written against what can be.
fn outputs(run: &RunArgs) -> Result<(), CliError> {
    if run.episode.is_some() && run.format.of_session() {
        return Err(CliError::input("a summary for a job page is of the whole session")
            .with_hint("leave out --episode, or choose another --format"));
    }
    run.out_scorecard.as_deref().map_or(Ok(()), |path| extension(path).map(|_| ()))
}

impl From<&DemoArgs> for DemoSettings {
    fn from(args: &DemoArgs) -> Self {
        Self {
            dir: args.dir.clone(),
            episodes: args.episodes,
            rate_hz: args.rate,
            seed: args.seed,
            layout: args.layout,
        }
    }
}

/// Kinds of scorecard tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableKind {
    /// By the parquet crate.
    Parquet,
    /// By polars.
    Csv,
}

/// The kind of table that a file's name asks for.
pub fn extension(path: &Path) -> Result<TableKind, CliError> {
    match path.extension().and_then(|e| e.to_str()).map(str::to_lowercase).as_deref() {
        Some("parquet") => Ok(TableKind::Parquet),
        Some("csv") => Ok(TableKind::Csv),
        _ => Err(CliError::input(format!("{} is neither .parquet nor .csv", path.display()))
            .with_hint("end the name of --out-scorecard in .parquet or .csv")),
    }
}

/// The check with this id, or who it might have been.
pub fn find_check(id: &str, all: &[&'static CheckSpec]) -> Result<&'static CheckSpec, CliError> {
    all.iter().copied().find(|check| check.id == id).ok_or_else(|| {
        let hint = nearest(id, all.iter().map(|check| check.id)).map_or_else(
            || "`teleassay explain` lists the checks".to_owned(),
            |near| format!("did you mean \"{near}\"?"),
        );
        CliError::input(format!("there is no check \"{id}\"")).with_hint(hint)
    })
}

/// Checks that run, in the order in which a person reads them.
pub fn chosen(
    profile: &Profile,
    only: &[String],
    skip: &[String],
) -> Result<Vec<&'static CheckSpec>, CliError> {
    let all = checks();
    let only = known(only, &all)?;
    let mut skip = known(skip, &all)?;
    skip.extend(&profile.skip);
    // Asked for by name, a check runs even where the profile leaves it out.
    let runs = |id: &&'static str| {
        if only.is_empty() { !skip.contains(id) } else { only.contains(id) }
    };
    Ok(all.into_iter().filter(|check| runs(&check.id)).collect())
}

fn known(ids: &[String], all: &[&'static CheckSpec]) -> Result<Vec<&'static str>, CliError> {
    ids.iter().map(|id| Ok(find_check(id.trim(), all)?.id)).collect()
}
