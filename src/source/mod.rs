//! Where episodes come from: finds tables, decides which column plays which role, cuts the data
//! into shards of whole episodes and reads them.
//!
//! A dataset is opened in stages, each made of the one before: `located` (files found),
//! `resolved` (roles decided), `indexed` (episodes known), `surveyed` (rig known).
//!
//! Files are indexed, sampled and hashed on the threads of the pool that the caller runs in: this
//! module starts none. Knows [`crate::model`] and [`crate::parquet_io`]. The only module that opens data files. Files
//! name one another in one direction: first `roles`, then `format`, `discover`, `shard`, `rig`, the stages, and last `copy`.

pub mod copy;
mod dataset;
mod declared;
mod declared_signals;
mod discover;
pub mod elsewhere;
mod error;
mod format;
mod ids;
mod indexed;
mod input;
mod landing;
mod located;
pub mod probe;
mod read_error;
mod resolved;
mod rig;
mod role;
mod roles;
mod shard;
mod source_trait;
mod surveyed;
pub mod text_file;
mod unused_column;

pub use crate::parquet_io::sizes;
pub use dataset::Dataset;
pub use declared::{Declared, DeclaredBase, DeclaredCamera, DeclaredJoint, TimeUnit};
pub use declared_signals::DeclaredSignals;
pub(crate) use discover::natural::key as natural_order;
pub use error::SourceError;
#[cfg(any(test, feature = "internals"))]
pub use format::own::CSV_HEADS;
pub use ids::Roots;
pub use input::Input;
pub use landing::{IdsFrom, Look, Mark, Part, Seen, Texts, is_recording, look, names, scan};
pub use role::{Role, RoleChoice};
pub use source_trait::Source;
pub use unused_column::{ProfileLine, UnusedColumn};
