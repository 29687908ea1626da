//! The rig: what is declared of it, what a URDF says and what a few episodes show.

pub(in crate::source) mod action;
mod arms;
mod assemble;
pub(in crate::source) mod clock;
pub(in crate::source) mod facts;
mod grid;
mod grippers;
pub(in crate::source) mod joints;
mod kinds;
mod learnt;
pub(in crate::source) mod naming;
mod notice;
mod pairing;
pub(in crate::source) mod probe;
mod robust;
mod rotations;
mod scale;
mod survey;
mod urdf;
