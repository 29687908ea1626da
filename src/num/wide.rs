//! Loops over many numbers, in the widest vector instructions of the processor at hand.
//!
//! A program for any processor of a family may use only what the oldest of them has. Here the
//! loops are compiled twice, and the wider copy is taken where the processor knows it. Neither copy
//! changes the order of additions or joins a product to a sum, so the answer is the same to the bit.

use std::sync::LazyLock;

use pulp::Arch;
pub use pulp::NullaryFnOnce;

static HERE: LazyLock<Arch> = LazyLock::new(Arch::new);

/// Runs loops over slices. The work is an object and not a closure because all of it must be
/// inlined here, and what is called from it too: what is not stays narrow.
pub fn widely<W: NullaryFnOnce>(work: W) -> W::Output {
    HERE.dispatch(work)
}
