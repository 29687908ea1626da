//! The two widths of floating-point numbers, as far as order statistics need them.

use std::cmp::Ordering;

/// A floating-point type that quantiles are taken of.
pub trait Real: Copy + Into<f64> {
    /// An integer as wide.
    type Key: Copy + Ord;
    /// Total order, `NaN` last.
    fn order(&self, other: &Self) -> Ordering;
    /// The lesser of two; quicker over a slice than [`Real::order`].
    #[must_use]
    fn lesser(self, other: Self) -> Self;
    /// The bits as an integer.
    fn bits(self) -> Self::Key;
    /// Turned once, the bits are a key: an integer in the same order. Turned twice, it is itself.
    #[must_use]
    fn turned(self) -> Self;
    /// The number of a key.
    fn of_key(key: Self::Key) -> Self;
    /// The key of the number that is a share of the way between those of two keys.
    fn part(low: Self::Key, high: Self::Key, share: f64) -> Self::Key;
    /// The key halfway between two.
    fn halfway(low: Self::Key, high: Self::Key) -> Self::Key;
}

macro_rules! real {
    ($float:ty, $key:ty) => {
        impl Real for $float {
            type Key = $key;

            fn order(&self, other: &Self) -> Ordering {
                self.total_cmp(other)
            }

            fn lesser(self, other: Self) -> Self {
                self.min(other)
            }

            #[inline(always)]
            fn bits(self) -> $key {
                self.to_bits().cast_signed()
            }

            #[inline(always)]
            fn turned(self) -> Self {
                // Of a negative number the bits below the sign, which grow the wrong way.
                let bits = self.bits();
                let below_sign = ((bits >> (<$key>::BITS - 1)).cast_unsigned() >> 1).cast_signed();
                Self::from_bits((bits ^ below_sign).cast_unsigned())
            }

            #[inline(always)]
            fn of_key(key: $key) -> Self {
                Self::from_bits(key.cast_unsigned()).turned()
            }

            #[inline(always)]
            fn part(low: $key, high: $key, share: f64) -> $key {
                let (from, to) = (f64::from(Self::of_key(low)), f64::from(Self::of_key(high)));
                ((from + share * (to - from)) as Self).turned().bits()
            }

            #[inline(always)]
            fn halfway(low: $key, high: $key) -> $key {
                (low >> 1) + (high >> 1) + (low & high & 1)
            }
        }
    };
}

real!(f32, i32);
real!(f64, i64);
