//! Bytes of Parquet files, for every module that reads them: positioned reads, pages of row
//! groups, and protection against damaged files. Knows no other module.

mod delta;
pub(crate) mod footer;
pub(crate) mod guard;
mod headers;
pub(crate) mod pages;
pub(crate) mod positioned;
pub mod sizes;
mod texts;
mod thrift;
