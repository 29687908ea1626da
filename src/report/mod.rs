//! Renderers: one per file, over one outcome.
//!
//! Layer 7. Machines get SI values in a frozen, versioned shape ([`shape`]); people get degrees
//! and milliseconds. Renderers write to what they are given and know nothing of terminals, except
//! that status words carry a colour which the caller may strip.

mod about;
mod actions;
mod advice;
mod assessed;
mod bar;
mod breakdown;
mod by;
mod card;
mod causes;
mod cautions;
mod checks;
mod columnar;
mod columns;
mod compare;
mod explain;
mod files;
mod findings;
mod full;
mod github;
pub mod html;
mod image;
mod json;
mod junit;
pub mod keep;
mod kinds;
mod landing;
mod leave_out;
mod lists;
mod manual;
mod markdown;
mod measurements;
mod normalisation;
mod number;
mod plain;
mod schema;
mod schemas;
mod sentence;
mod session;
mod short;
mod status;
mod table;
mod table_file;
mod text;
mod trace;
mod understood;
mod view;
mod words;

pub mod shape;

pub use breakdown::keys as breakdown_keys;
#[cfg(feature = "internals")]
pub use breakdown::{Breakdown, Group};
pub use by::by;
pub use card::card;
pub(crate) use cautions::SHORT as CAUTION;
pub use columns::{Understood, columns};
#[cfg(feature = "internals")]
pub use compare::shape as comparison_shape;
pub use compare::{
    Compared, ComparedSide, Courses, comparison, comparison_html, comparison_json,
    comparison_markdown, comparison_schema, course, course_html, course_json, course_markdown,
    course_schema,
};
pub use explain::{explain, list};
pub use findings::{findings_csv, findings_parquet};
pub use github::github;
#[cfg(feature = "internals")]
pub use json::document;
pub use json::{json, jsonl};
pub use junit::junit;
pub use landing::{cleared, landed, other_rig, rejudged, session_notice, stop, tally};
pub use lists::{KeepFrom, ListFormat, ListKind, list as episode_list};
pub use manual::manual;
pub use markdown::markdown;
pub use normalisation::normalisation;
#[cfg(feature = "internals")]
pub use number::{Human, significant};
pub use plain::plain;
pub use schemas::{lines_schema, list_schema, schema};
pub use session::{Detail, session};
pub use shape::JsonDetail;
pub use table::ScoreTable;
#[cfg(feature = "internals")]
pub use table::{MetricSummary, TableError};
pub use table_file::write_csv;
pub(crate) use text::clean;
pub use text::quote;
pub use trace::{Traced, trace, trace_records, trace_svg};
pub use view::View;
#[cfg(feature = "internals")]
pub use words::{finding_message, session_message};
