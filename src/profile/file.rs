//! The profile as it is written: the shape of the TOML file.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::error::ProfileError;
use super::given::Given;
use super::joint_section::JointSection;
use super::place::line_of;
use super::signals_section::SignalsSection;
use super::suggest::nearest;

/// A key of the file with its place.
pub(super) type Key = Spanned<String>;

/// The whole file.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct File {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub columns: Option<Columns>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rig: Option<RigSection>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<SignalsSection>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub action: Option<SignalsSection>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub camera: Vec<Spanned<CameraSection>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub base: Option<BaseSection>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub checks: Option<Checks>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub severity: BTreeMap<Key, Spanned<String>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub accept: Vec<AcceptSection>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub limits: BTreeMap<Key, BTreeMap<Key, Spanned<Pair>>>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub params: BTreeMap<Key, BTreeMap<Key, Spanned<Given>>>,
}

/// `[columns]`
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Columns {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub episode: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_unit: Option<Spanned<String>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub state: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub action: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub velocity: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub effort: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub voltage: Vec<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub temperature: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub task: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub labels: Vec<String>,
}

/// `[rig]`
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RigSection {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate_hz: Option<Spanned<f64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<Spanned<String>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counts_per_turn: Option<Spanned<f64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub normalized: Option<Spanned<[f64; 2]>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_unit: Option<Spanned<String>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub urdf: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub joints: Vec<Spanned<JointSection>>,
}

/// `[[camera]]`
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CameraSection {
    pub name: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub index: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stamp: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate_hz: Option<f64>,
}

/// `[base]`
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BaseSection {
    pub velocity: Vec<String>,
    pub pose: Vec<String>,
}

/// `[checks]`
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Checks {
    pub skip: Vec<Spanned<String>>,
}

/// `[[accept]]`
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AcceptSection {
    pub check: Spanned<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<String>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub episodes: Vec<Spanned<String>>,
    pub reason: Spanned<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<Spanned<String>>,
}

/// A pair of limits; what is not said stays as declared, `inf` means never.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Pair {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub warn: Option<Spanned<Given>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fail: Option<Spanned<Given>>,
}

/// Reads the file's shape.
pub(super) fn parse(text: &str, name: &str) -> Result<File, ProfileError> {
    toml::from_str(text).map_err(|error: toml::de::Error| {
        let line = line_of(text, error.span().map_or(0, |span| span.start));
        // Serde's message lists what is known after a comma; a person wants that on its own line.
        let message = error.message().trim().replace('\n', " ");
        let (what, hint) = message.split_once(", expected ").map_or_else(
            || (message.clone(), None),
            |(what, known)| (what.to_owned(), Some(unknown_hint(what, known))),
        );
        ProfileError::Wrong { file: name.to_owned(), line, what, hint }
    })
}

fn unknown_hint(what: &str, known: &str) -> String {
    let typed = what.split('`').nth(1).unwrap_or("");
    let candidates: Vec<&str> = known.split('`').skip(1).step_by(2).collect();
    match nearest(typed, candidates.iter().copied()) {
        Some(near) if what.starts_with("unknown") => format!("did you mean \"{near}\"?"),
        _ => format!("expected {known}"),
    }
}
