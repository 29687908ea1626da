//! Formats of tables: each is one file here and one line in `list`.

mod arrow_ipc;
mod cells;
pub(in crate::source) mod ipc_vet;
mod json_lines;
pub(in crate::source) mod kept;
pub(in crate::source) mod list;
mod mcap;
mod mcap_bounded;
mod mcap_messages;
mod mcap_topic;
mod memory_table;
mod numpy;
mod numpy_values;
pub(in crate::source) mod open;
pub(in crate::source) mod own;
mod packed;
mod parquet;
mod parquet_rows;
mod parsed;
mod separated;
pub(in crate::source) mod table;
#[cfg(test)]
mod trial;
