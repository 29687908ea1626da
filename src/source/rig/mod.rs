//! The rig: what is declared of it, what a URDF says and what a few episodes show.

pub(in crate::source) mod action;
mod arms;
pub(in crate::source) mod clock;
pub(in crate::source) mod facts;
mod grid;
pub(in crate::source) mod joints;
mod learnt;
mod notice;
pub(in crate::source) mod probe;
mod robust;
mod scale;
mod survey;
mod urdf;
