//! Measurements files: everything that was measured, and nothing that depends on limits.
//!
//! Layer 3: knows layers 0 to 2. One row per episode, one column per measurement and joint, so that
//! any reader of Parquet can use it as a table; the rig and what else concerns the whole file is JSON
//! in the file's metadata. Written wave by wave and read block by block: neither ever holds all
//! episodes. Limits, suppressing and the checks across episodes are applied again by whoever reads.
//!
//! | column | holds |
//! | --- | --- |
//! | `episode`, `task` | the id and the task, as in the report |
//! | `index`, `input` | place in the dataset; number of the first file it was read from |
//! | `source`, `first_row`, `end_row` | that file, its first row there and the row after the last |
//! | `frames`, `start_s`, `duration_s` | frames, first stamp, last stamp minus first |
//! | `check/metric`, `check/metric/joint` | a reading in SI units; null where there is none |
//! | `spans` | reading, first frame, frame after the last, and the times of both ends from the start |
//! | `notes` | what a person should read with a reading |
//! | `not_assessed` | check, joint (null: the whole check) and reason of what could not be measured |
//! | `content` | hash of all state and action values |
//! | `moments` | mean, standard deviation, minimum and maximum of each joint, follower's first, then leader's |
//! | `levels` | poses of the sketch: 16-bit little-endian levels between a joint's minimum and maximum |

mod agree;
mod block;
mod build;
mod columnar;
mod damage;
mod error;
mod format;
mod header;
mod held;
mod import;
mod layout;
mod lists;
mod names;
mod open;
mod sane;
mod spool;
mod stored_file;
mod sum;
mod write;

pub use block::{Batch, Evidence, StoredEpisode, Want};
pub use build::{Entry, Rows};
pub use columnar::{Column, SpanCell, Values, write_columns};
pub use error::StoreError;
#[cfg(feature = "internals")]
pub use format::KEY;
pub use header::About;
pub use layout::StoredColumns;
pub use open::{Stored, is_measurements, read};
pub use spool::{Placed, Spool};
pub use write::Writer;
