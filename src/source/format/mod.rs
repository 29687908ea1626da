//! Formats of tables: each is one file here and one line in `list`.

mod arrow_ipc;
pub(in crate::source) mod kept;
pub(in crate::source) mod list;
pub(in crate::source) mod open;
pub(in crate::source) mod own;
mod parquet;
mod parquet_rows;
pub(in crate::source) mod table;
#[cfg(test)]
mod trial;
