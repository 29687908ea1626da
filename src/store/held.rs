//! A block's bytes, read once: what is summed up is what is decoded.

use std::fs::File;
use std::sync::Arc;

use parquet::arrow::ProjectionMask;

use super::damage::Damage;
use super::stored_file::StoredFile;
use super::sum;
use crate::parquet_io::positioned::Positioned;

/// Bytes of a block without a sum that are held: ours have some ten million.
const MOST: u64 = 64 << 20;

/// The file with a block's bytes held, which are read once and are those that were written. Of a file
/// without sums only what is asked for.
pub(super) fn block(
    file: &StoredFile,
    group: usize,
    mask: &ProjectionMask,
) -> Result<Positioned, Damage> {
    let opened = File::open(&file.path)?;
    let length = opened.metadata()?.len();
    let input = Positioned::new(Arc::new(opened), length);
    let Some(sums) = &file.sums else {
        let columns = file.footer.metadata().row_group(group).columns().iter().enumerate();
        let asked = columns.filter(|(leaf, _)| mask.leaf_included(*leaf));
        let mut chunks: Vec<_> = asked
            .map(|(_, chunk)| chunk.byte_range())
            .map(|(at, bytes)| at.min(length)..at.saturating_add(bytes).min(length))
            .collect();
        // Another program may have made one block of millions of episodes: pages are fetched one by one.
        if chunks.iter().map(|chunk| chunk.end - chunk.start).sum::<u64>() > MOST {
            return Ok(input);
        }
        chunks.sort_unstable_by_key(|chunk| chunk.start);
        return Ok(input.hold(chunks)?);
    };
    let place = sum::place(sums, group).filter(|place| place.end <= length);
    let place = place.ok_or_else(|| Damage::Changed(group))?;
    let input = input.hold([place.clone()])?;
    let bytes = input.find(place.start, place.end - place.start).unwrap_or_default();
    let block = bytes.get(..(place.end - place.start) as usize).unwrap_or_default();
    if sum::holds(block, sums, group) { Ok(input) } else { Err(Damage::Changed(group)) }
}
