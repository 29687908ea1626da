//! Quality auditor for teleoperation datasets.
//!
//! Floors, lowest first: [`num`] (estimators), [`model`] (nouns), [`check`], [`source`] and
//! [`demo`] (checks, where episodes come from, a simulated rig), [`judge`], [`cohort`],
//! [`compare`] and [`store`], [`profile`] and [`report`], and [`engine`], which alone has threads.
//! A module names only lower floors; a test holds it to that.

pub mod check;
pub mod cohort;
pub mod compare;
pub mod demo;
pub mod engine;
pub mod judge;
pub mod model;
pub mod num;
pub(crate) mod parquet_io;
pub mod profile;
pub mod report;
pub mod source;
pub mod store;
