//! The document `changes.json`, version 1: frozen once released.
//!
//! Described by the schema that is derived from it. No clock time: the same copy gives the same bytes.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::report::schema::{of, print};
use crate::report::shape::{Tool, UnreadFile};

/// What `schema` says in this version.
const VERSION: &str = "teleassay/changes/1";

/// The whole document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(
    title = "teleassay changes, version 1",
    description = "What `keep` kept, changed and left out. Episodes are in the order of the source. \
                   Ranges of rows and frames are half open: the first, and the first after the last.",
    extend("$id" = "urn:teleassay:changes:1"),
    deny_unknown_fields
)]
pub struct ChangesDocument {
    /// [`VERSION`].
    #[schemars(description = "Which shape this is", extend("const" = VERSION))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// Paths of the source as they were named.
    pub source: Vec<String>,
    /// Folder of the copy as it was named.
    pub to: String,
    /// Options as they were typed.
    pub options: Vec<String>,
    /// Whether nothing was written.
    pub dry_run: bool,
    /// Episodes of the source, and how many of them are kept.
    pub episodes: CountShape,
    /// Frames of the source, and how many of them are kept.
    pub frames: CountShape,
    /// What was changed, and the figures behind it.
    pub changes: Vec<ChangeShape>,
    /// Episodes that are kept.
    pub kept: Vec<KeptShape>,
    /// Episodes that are left out.
    pub left_out: Vec<LeftOutShape>,
    /// Rows that belong to no episode: they are left out.
    pub rows_of_no_episode: u64,
    /// Files of the copy.
    pub files: Vec<FileShape>,
    /// Files next to the tables: they are not copied.
    pub left_alone: Vec<LeftAloneShape>,
    /// Files that could not be read: they are left out.
    pub unread: Vec<UnreadFile>,
}

/// How many of how many.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "count", deny_unknown_fields)]
pub struct CountShape {
    /// In the source.
    pub of: u64,
    /// Kept.
    pub kept: u64,
}

/// One kind of change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "change", deny_unknown_fields)]
pub struct ChangeShape {
    /// The option that asked for it.
    pub option: String,
    /// What is done, in words.
    pub what: String,
    /// The figures that justify it.
    pub figures: Vec<FigureShape>,
    /// The episodes concerned.
    pub episodes: Vec<EpisodeChangeShape>,
}

/// A figure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "figure", deny_unknown_fields)]
pub struct FigureShape {
    /// What it is: `check/measurement` for a median over episodes, else words.
    pub what: String,
    /// Joint; null where none is concerned.
    pub joint: Option<String>,
    /// The number.
    pub value: f64,
    /// Its unit; `stored` is that of the table.
    pub unit: String,
    /// Episodes behind it; null where it is no median.
    pub episodes: Option<u64>,
}

/// What a change did to one episode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "episode_change", deny_unknown_fields)]
pub struct EpisodeChangeShape {
    /// Id in the source.
    pub episode: String,
    /// Frames that it left out, or at which it cut; empty where values were changed throughout.
    pub frames: Vec<[u64; 2]>,
}

/// An episode that is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "kept_episode", deny_unknown_fields)]
pub struct KeptShape {
    /// Id in the source.
    pub episode: String,
    /// What it became, one entry for each part.
    #[schemars(length(min = 1))]
    pub written: Vec<Written>,
}

/// A part of an episode as it is written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "written", deny_unknown_fields)]
pub struct Written {
    /// Id as it is stored in the copy.
    pub episode: String,
    /// Frames of the source that it holds.
    pub frames: Vec<[u64; 2]>,
}

/// An episode that is left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "left_out", deny_unknown_fields)]
pub struct LeftOutShape {
    /// Id in the source.
    pub episode: String,
    /// The file in which it begins.
    pub path: String,
    /// Frames.
    pub frames: u64,
    /// Why.
    #[schemars(length(min = 1))]
    pub why: Vec<String>,
}

/// A file of the copy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "copied_file", deny_unknown_fields)]
pub struct FileShape {
    /// The file that it comes from.
    pub source: String,
    /// The file below the folder of the copy.
    pub path: String,
    /// Rows of the file that it comes from, and how many of them it holds.
    pub rows: CountShape,
}

/// A file next to the tables.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "left_alone", deny_unknown_fields)]
pub struct LeftAloneShape {
    /// The file.
    pub path: String,
    /// The episode that it seems to belong to, by its name; null where none does.
    pub episode: Option<String>,
    /// Whether that episode is left out.
    pub left_out: bool,
}

/// What is noted in the metadata of each file of a copy, under `teleassay.keep`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NoteShape {
    /// [`VERSION`].
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// The file that it comes from.
    pub source: String,
    /// Rows of that file, and how many of them are kept.
    pub rows: CountShape,
    /// Options as they were typed.
    pub options: Vec<String>,
    /// What was changed in episodes of this file.
    pub changes: Vec<ChangeShape>,
}

impl ChangesDocument {
    /// What `schema` says.
    pub const SCHEMA: &'static str = VERSION;

    /// The document as it is written.
    ///
    /// # Errors
    /// If a value is none of JSON: by a fault of this program.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

impl Tool {
    /// This program.
    pub fn this() -> Self {
        Self {
            name: env!("CARGO_PKG_NAME").to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        }
    }
}

/// The JSON Schema of the document.
pub fn changes_schema() -> String {
    print(of::<ChangesDocument>())
}
