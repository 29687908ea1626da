//! Quality auditor for teleoperation datasets.
//!
//! Floors, lowest first: [`num`] (estimators), [`model`] (nouns), [`check`] and [`source`]
//! (instruments, and where episodes come from), [`judge`] and [`cohort`], [`report`], and
//! [`engine`], which alone has threads. A module names only lower floors; a test holds it to that.

pub mod check;
pub mod cohort;
pub mod engine;
pub mod judge;
pub mod model;
pub mod num;
pub mod source;
