//! Episodes in one cell of a grid, each held against its neighbours.
#![expect(clippy::inline_always, reason = "what is not inlined stays narrow")]

use super::reach::{AGREE, LANES};
use crate::num::wide::NullaryFnOnce;

/// Neighbours looked at in a crowded cell.
const MOST: usize = 24;

/// The reaches of a cell's episodes side by side.
pub(super) struct Cell<'a> {
    /// One where a reach tells, zero elsewhere.
    mask: &'a [u16],
    least: u16,
    rows: Vec<u16>,
    found: Vec<(usize, usize, u16)>,
}

impl<'a> Cell<'a> {
    /// Two episodes that agree in `least` reaches are found.
    pub fn new(mask: &'a [u16], least: u16) -> Self {
        Self { mask, least, rows: Vec::new(), found: Vec::new() }
    }

    /// Takes the episodes of another cell.
    pub fn fill<'r>(&mut self, rows: impl Iterator<Item = &'r [u16]>) {
        self.rows.clear();
        rows.for_each(|row| self.rows.extend_from_slice(row));
    }
}

/// Pairs of episodes by their places in the cell, with the number of reaches in which they agree.
impl<'c> NullaryFnOnce for &'c mut Cell<'_> {
    type Output = std::vec::Drain<'c, (usize, usize, u16)>;

    #[inline(always)]
    fn call(self) -> Self::Output {
        // Of a width that it knows the compiler makes a few instructions.
        match self.mask.len() / LANES {
            1 => self.find::<{ LANES }>(),
            2 => self.find::<{ 2 * LANES }>(),
            3 => self.find::<{ 3 * LANES }>(),
            4 => self.find::<{ 4 * LANES }>(),
            _ => self.find_wide(),
        }
        self.found.drain(..)
    }
}

impl Cell<'_> {
    #[inline(always)]
    fn find<const WIDTH: usize>(&mut self) {
        let Some(mask) = self.mask.first_chunk::<WIDTH>() else { return };
        let rows = self.rows.as_chunks::<WIDTH>().0;
        for (place, own) in rows.iter().enumerate() {
            for (next, other) in rows[place + 1..].iter().take(MOST).enumerate() {
                let mut agreeing = 0u16;
                for lane in 0..WIDTH {
                    let (a, b) = (own[lane], other[lane]);
                    agreeing += u16::from(a.max(b) - a.min(b) <= AGREE) & mask[lane];
                }
                if agreeing >= self.least {
                    self.found.push((place, place + 1 + next, agreeing));
                }
            }
        }
    }

    #[inline(always)]
    fn find_wide(&mut self) {
        let width = self.mask.len();
        for (place, own) in self.rows.chunks_exact(width).enumerate() {
            let others = self.rows[(place + 1) * width..].chunks_exact(width).take(MOST);
            for (next, other) in others.enumerate() {
                let pairs = own.iter().zip(other).zip(self.mask);
                let agree = |((a, b), mask): ((&u16, &u16), &u16)| {
                    u16::from(a.abs_diff(*b) <= AGREE) & mask
                };
                let agreeing = pairs.map(agree).sum::<u16>();
                if agreeing >= self.least {
                    self.found.push((place, place + 1 + next, agreeing));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::num::wide::widely;

    /// At widths of which the compiler knows, and at one of which it does not.
    #[test]
    fn pairs_that_agree_in_enough_of_what_tells_are_found() {
        for blocks in 2..7 {
            let mut mask = vec![0u16; blocks * LANES];
            mask[..20].fill(1);
            let one = vec![100u16; blocks * LANES];
            let (mut two, mut three) = (one.clone(), one.clone());
            // Off in 8 that tell, and in more that do not: 12 agree.
            two[12..].fill(126);
            three[11..20].fill(74);
            let mut cell = Cell::new(&mask, 12);
            cell.fill([&one[..], &two[..], &three[..]].into_iter());
            assert_eq!(widely(&mut cell).collect::<Vec<_>>(), [(0, 1, 12)], "{blocks}");
            // Another cell begins again.
            cell.fill([&one[..], &one[..]].into_iter());
            assert_eq!(widely(&mut cell).collect::<Vec<_>>(), [(0, 1, 20)], "{blocks}");
        }
    }
}
