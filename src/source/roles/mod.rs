//! Which column plays which role: as declared, else by type and by the common words for it.

pub(in crate::source) mod camera_roles;
mod candidates;
pub(in crate::source) mod decide;
pub(in crate::source) mod extras;
pub(in crate::source) mod folder;
mod groups;
pub(in crate::source) mod leftover;
pub(in crate::source) mod parts;
pub(in crate::source) mod sensors;
pub(in crate::source) mod shape;
pub(in crate::source) mod unused;
mod vector_roles;
pub(in crate::source) mod words;
