//! Order statistics by counting: how many values lie below a guess, again and again between
//! narrower bounds, until the wanted one is among the next few above the lower bound.
//!
//! A selection reads every value two or three times and waits at each for a comparison. Counting
//! reads them about ten times, but eight at once and without waiting, which on some hundred values
//! takes a third of the time. The values are compared as integers in the same order, because sums
//! and minima of integers may be taken in any order, and so at once.
#![expect(clippy::inline_always, reason = "what is not inlined is not compiled for wide vectors")]

use super::real::Real;
use crate::num::wide::NullaryFnOnce;

/// Passes in which guesses follow the values; then the span of representable numbers is halved,
/// which ends after as many passes as a number has bits.
const GUESSES: u32 = 12;
/// In every so many-th pass the bounds are drawn in to values that are there.
const CLOSE_IN: u32 = 4;
/// How many values above the lower bound are walked, a pass or two each.
const NEAR: usize = 2;

/// `low` and `high` mixed; exact when either share is zero or both are equal.
pub(super) fn mix(low: f64, high: f64, share: f64) -> f64 {
    if share <= 0.0 {
        low
    } else if share >= 1.0 {
        high
    } else {
        low + share * (high - low)
    }
}

/// Quantiles at these ranks (from 0) with their shares of the next value.
pub(super) struct Counted<'a, T, const N: usize> {
    /// Not empty. They come out as they went in.
    pub values: &'a mut [T],
    pub ranks: [(usize, f64); N],
}

impl<T: Real, const N: usize> NullaryFnOnce for Counted<'_, T, N> {
    type Output = [f64; N];

    #[inline(always)]
    fn call(self) -> [f64; N] {
        for value in self.values.iter_mut() {
            *value = value.turned();
        }
        let keys: &[T] = self.values;
        let (mut low, mut high) = (keys[0].bits(), keys[0].bits());
        for key in keys {
            low = low.min(key.bits());
            high = high.max(key.bits());
        }
        let mut found = [f64::NAN; N];
        for (slot, (rank, share)) in found.iter_mut().zip(self.ranks) {
            let (value, next) = at_rank(keys, (low, high), rank, share > 0.0);
            *slot = mix(T::of_key(value).into(), T::of_key(next).into(), share);
        }
        for value in self.values.iter_mut() {
            *value = value.turned();
        }
        found
    }
}

/// The key of this rank and, if `both`, the next one, of keys from `low` to `high`.
#[inline(always)]
fn at_rank<T: Real>(
    keys: &[T],
    (low, high): (T::Key, T::Key),
    rank: usize,
    both: bool,
) -> (T::Key, T::Key) {
    // `under` keys are less than `lower`, which is at most the wanted one; `upto` are less than
    // `beyond`, which is above it (at first only not below it).
    let (mut lower, mut under) = (low, 0);
    let (mut beyond, mut upto) = (high, keys.len());
    // Whether `beyond` is the largest key that may be wanted, and not the first that may not.
    let mut closed = true;
    let mut pass = 0;
    while rank - under > NEAR {
        pass += 1;
        if pass % CLOSE_IN == 0 {
            // A sensor at rest gives one count over and over, which no guess would divide.
            lower = first_from(keys, lower, high);
            beyond = if closed { beyond } else { last_under(keys, beyond, lower) };
            closed = true;
            if lower == beyond {
                break;
            }
            continue;
        }
        let guess = if pass > GUESSES {
            T::halfway(lower, beyond)
        } else {
            let share = (rank - under) as f64 / (upto - under) as f64;
            T::part(lower, beyond, if pass % 2 == 0 { 0.5 } else { share })
        };
        if !(lower < guess && guess < beyond) {
            if pass > GUESSES {
                break;
            }
            continue;
        }
        let below = count_under(keys, guess);
        if below <= rank {
            (lower, under) = (guess, below);
        } else {
            (beyond, upto) = (guess, below);
            closed = false;
        }
    }
    // Up from the lower bound, by one different key at a time.
    let mut found = first_from(keys, lower, high);
    loop {
        let above = count_over(keys, found);
        let through = keys.len() - above;
        if through > rank {
            let next = both && through == rank + 1 && above > 0;
            return (found, if next { first_over(keys, found, high) } else { found });
        }
        found = first_over(keys, found, high);
    }
}

#[inline(always)]
fn count_under<T: Real>(keys: &[T], bound: T::Key) -> usize {
    let mut count = 0u32;
    for key in keys {
        count += u32::from(key.bits() < bound);
    }
    count as usize
}

#[inline(always)]
fn count_over<T: Real>(keys: &[T], bound: T::Key) -> usize {
    let mut count = 0u32;
    for key in keys {
        count += u32::from(key.bits() > bound);
    }
    count as usize
}

#[inline(always)]
fn first_from<T: Real>(keys: &[T], bound: T::Key, high: T::Key) -> T::Key {
    let mut first = high;
    for key in keys {
        let key = key.bits();
        first = first.min(if key < bound { high } else { key });
    }
    first
}

#[inline(always)]
fn last_under<T: Real>(keys: &[T], bound: T::Key, low: T::Key) -> T::Key {
    let mut last = low;
    for key in keys {
        let key = key.bits();
        last = last.max(if key < bound { key } else { low });
    }
    last
}

#[inline(always)]
fn first_over<T: Real>(keys: &[T], bound: T::Key, high: T::Key) -> T::Key {
    let mut first = high;
    for key in keys {
        let key = key.bits();
        first = first.min(if key > bound { key } else { high });
    }
    first
}
