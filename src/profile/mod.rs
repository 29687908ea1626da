//! The profile: what a person says of a dataset, its rig, and what is good enough.
//!
//! Layer 4: a TOML file becomes declared column roles, limits and parameters, all of them compared
//! with the checks that exist. Unknown keys are refused, because a misspelt limit that is
//! silently ignored is worse than none.

mod accept_section;
mod action_section;
mod check_section;
mod contents;
mod error;
mod file;
mod given;
mod joint_section;
mod place;
mod read;
mod resolve;
mod rig_section;
mod signals_section;
mod suggest;
mod write;

pub use contents::Profile;
pub use error::ProfileError;
pub use read::FILE_NAME;
pub use suggest::{begins, near, nearest};
