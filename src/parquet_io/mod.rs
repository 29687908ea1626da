//! Bytes of Parquet files, for every module that reads them: positioned reads, pages of row
//! groups, and protection against damaged files. Knows no other module.

pub(crate) mod guard;
pub(crate) mod pages;
pub(crate) mod positioned;
