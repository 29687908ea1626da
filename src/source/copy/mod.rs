//! Copies of chosen rows: each column, type, codec and piece of metadata stays as it was stored.
//!
//! In: for each input file the stretches of rows that are wanted, and what is changed in them. Out:
//! files of the same format in a folder of their own. A recording is never written to. Parquet is
//! copied by its stored values, without any other type in between; row groups that are wanted whole
//! and unchanged are copied as bytes.

mod array_edit;
mod changed;
mod doubled;
mod edit;
mod error;
mod ipc;
mod ipc_codec;
mod leaf;
mod leaf_edit;
mod lines;
mod neighbours;
mod parquet;
mod parquet_input;
mod parquet_plan;
mod place;
mod properties;
mod rows;
mod staging;
mod table;
mod tables;

pub use doubled::doubled;
pub use edit::{Arithmetic, Cell, Edit, NewId};
pub use error::CopyError;
pub use neighbours::neighbours;
pub use place::{Places, Slot, StoredIds};
pub use rows::EpisodeRows;
pub use staging::Staging;
pub use table::{Piece, TableCopy, Wanted};
pub use tables::copy_all;
