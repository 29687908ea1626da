//! What concerns the whole file: JSON in its metadata.

use std::collections::{BTreeMap, HashSet};
use std::path::PathBuf;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::format::FORMAT;
use crate::catalogue::find_of_episodes;
use crate::check::Params;
use crate::model::{CheckSpec, Rig, Skipped, Unread, path_text};
use crate::source::{Input, Role, RoleChoice};

/// Parameters by check and id.
pub(super) type Parameters = BTreeMap<String, BTreeMap<String, f64>>;

/// What is read of a file of any format.
#[derive(Debug, Deserialize)]
pub(super) struct Stamp {
    pub format: u32,
    #[serde(default)]
    pub tool: String,
}

/// The whole of it: names of fields, those of the rig and the inputs among them, may not change.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Header {
    pub format: u32,
    /// The program's version.
    pub tool: String,
    pub rig: Rig,
    pub roles: Vec<RoleFile>,
    /// Checks that were run on each episode, in order, those left out for want of columns included.
    pub checks: Vec<String>,
    /// Parameters in force while measuring, defaults included.
    pub parameters: Parameters,
    pub inputs: Vec<Input>,
    pub unread: Vec<Unread>,
    /// Files next to the recordings that are none.
    #[serde(default, skip_serializing_if = "Skipped::is_empty")]
    pub skipped: Skipped,
    /// Folders that were named, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub roots: Vec<String>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct RoleFile {
    pub role: String,
    pub columns: Vec<String>,
    pub shape: String,
    pub why: String,
}

/// What a measurements file says in addition to its episodes.
#[derive(Debug, Clone)]
pub struct About {
    /// The rig.
    pub rig: Arc<Rig>,
    /// Which column plays which role.
    pub roles: Vec<RoleChoice>,
    /// Files that were read.
    pub inputs: Vec<Input>,
    /// Files next to them that are no recordings.
    pub skipped: Skipped,
    /// Folders that were named, or in which what was named lies, in order.
    pub roots: Vec<PathBuf>,
    /// Checks that were run on each episode.
    pub checks: Vec<&'static CheckSpec>,
    /// Parameters in force while measuring.
    pub params: Params,
}

impl Header {
    pub fn new(about: &About, unread: &[Unread]) -> Self {
        let role = |r: &RoleChoice| RoleFile {
            role: r.role.word().to_owned(),
            columns: r.columns.clone(),
            shape: r.shape.clone(),
            why: r.why.clone(),
        };
        Self {
            format: FORMAT,
            tool: env!("CARGO_PKG_VERSION").to_owned(),
            rig: Rig::clone(&about.rig),
            roles: about.roles.iter().map(role).collect(),
            checks: about.checks.iter().map(|check| check.id.to_owned()).collect(),
            parameters: parameters(&about.checks, &about.params),
            inputs: about.inputs.clone(),
            unread: unread.to_vec(),
            skipped: about.skipped.clone(),
            roots: about.roots.iter().map(|root| path_text(root)).collect(),
        }
    }

    /// Checks that were measured and are still there.
    pub fn known_checks(&self) -> Vec<&'static CheckSpec> {
        let mut known = HashSet::new();
        let new = self.checks.iter().filter(|id| known.insert(id.as_str()));
        new.filter_map(|id| Some(find_of_episodes(id)?.spec())).collect()
    }

    pub fn roles(&self) -> Vec<RoleChoice> {
        let one = |r: &RoleFile| {
            let (columns, shape, why) = (r.columns.clone(), r.shape.clone(), r.why.clone());
            Some(RoleChoice { role: Role::named(&r.role)?, columns, shape, why })
        };
        self.roles.iter().filter_map(one).collect()
    }
}

/// The parameters in force of some checks.
pub(super) fn parameters(checks: &[&'static CheckSpec], params: &Params) -> Parameters {
    let of = |check: &&'static CheckSpec| {
        let values = check.params.iter().map(|p| (p.id.to_owned(), params.get(check, p)));
        (check.id.to_owned(), values.collect::<BTreeMap<_, _>>())
    };
    checks.iter().map(of).filter(|(_, values)| !values.is_empty()).collect()
}
