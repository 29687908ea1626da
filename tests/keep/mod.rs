//! `keep`: what is kept stays as it was, what is mended is clean, and nothing is half written.

mod advice;
mod copies;
mod mended;
mod options;
mod readings;
mod sudden;

use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};

use serde_json::Value;
use teleassay::demo::{Layout, Recipe, WriteOptions, write as write_demo};

use crate::support::binary::{run, said};

/// A session on disk, and a place for copies next to it.
pub struct Session {
    pub root: tempfile::TempDir,
}

impl Session {
    pub fn new(recipe: &Recipe, layout: Layout) -> Result<Self, Box<dyn Error>> {
        let session = Self { root: tempfile::tempdir()? };
        let options = WriteOptions { layout, ..WriteOptions::default() };
        write_demo(&session.source(), recipe, &options)?;
        Ok(session)
    }

    /// Declares that a joint has ends, so that its wraps are a fault and not its kind.
    pub fn with_ends(self, joint: &str) -> Result<Self, Box<dyn Error>> {
        let profile = std::fs::read_to_string(self.profile())?;
        let declared = format!("[state]\nkinds = {{ {joint} = \"revolute\" }}\n\n{profile}");
        std::fs::write(self.profile(), declared)?;
        Ok(self)
    }

    pub fn source(&self) -> PathBuf {
        self.root.path().join("nursery")
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.root.path().join(name)
    }

    pub fn profile(&self) -> PathBuf {
        self.source().join("teleassay.toml")
    }

    /// Runs `keep` with these options; gives the document that it wrote.
    pub fn keep(&self, to: &str, options: &[&str]) -> Result<Value, Box<dyn Error>> {
        let (source, copy) = (self.source(), self.path(to));
        let mut args = vec!["keep".as_ref(), source.as_os_str(), "--to".as_ref(), copy.as_os_str()];
        args.extend(options.iter().map(|option| std::ffi::OsStr::new(*option)));
        let output = run(&args)?;
        if output.status.code() != Some(0) {
            return Err(format!("exit {:?}: {}", output.status.code(), said(&output)).into());
        }
        Ok(serde_json::from_slice(&std::fs::read(copy.join("changes.json"))?)?)
    }

    /// The report of a folder, by the profile of the source.
    pub fn audit(&self, folder: &Path) -> Result<Value, Box<dyn Error>> {
        let profile = self.profile();
        crate::support::binary::scorecard(&[
            folder.as_os_str(),
            "--profile".as_ref(),
            profile.as_os_str(),
        ])
    }
}

/// Bytes of all files below a folder, by their path within.
pub fn files(folder: &Path) -> Result<BTreeMap<PathBuf, Vec<u8>>, Box<dyn Error>> {
    let mut found = BTreeMap::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            found.extend(files(&path)?);
        } else {
            found.insert(path.clone(), std::fs::read(&path)?);
        }
    }
    Ok(found)
}

/// Findings of a check in a report: of the session and of episodes.
pub fn findings(report: &Value, check: &str) -> usize {
    let of = |findings: &Value| {
        let all = findings.as_array().into_iter().flatten();
        all.filter(|finding| finding["check"] == check).count()
    };
    let episodes = report["episodes"].as_array().into_iter().flatten();
    of(&report["session"]["findings"]) + episodes.map(|one| of(&one["findings"])).sum::<usize>()
}
