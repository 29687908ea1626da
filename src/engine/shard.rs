//! What one shard gave.

use crate::model::{Ledger, Scorecard, Unread};
use crate::store::{Rows, StoreError};

/// Rows of the measurements file that is written, where one is.
pub(super) type Made = Option<Result<Rows, StoreError>>;

/// What one shard gave.
pub(super) struct Shard {
    pub cards: Vec<Scorecard>,
    /// The cards' readings, a row for each.
    pub ledger: Ledger,
    /// Hashes of the cards' episodes.
    pub contents: Vec<Option<u64>>,
    pub unread: Vec<Unread>,
    /// The cards as rows of the measurements file that is written.
    pub rows: Made,
}
