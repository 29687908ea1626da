//! Sums over many numbers, sixteen side by side: the order of the additions is fixed, so the sum is
//! the same to the bit whatever the processor.

use super::wide::{NullaryFnOnce, widely};

const LANES: usize = 16;

/// Sum of the products of two series, over what both have.
pub fn dot(a: &[f32], b: &[f32]) -> f32 {
    widely(Pairs { a, b, of: |a, b| a * b })
}

/// Squared Euclidean distance.
pub fn squared_distance(a: &[f32], b: &[f32]) -> f32 {
    widely(Pairs { a, b, of: |a, b| (a - b) * (a - b) })
}

struct Pairs<'a, F> {
    a: &'a [f32],
    b: &'a [f32],
    of: F,
}

impl<F: Fn(f32, f32) -> f32> NullaryFnOnce for Pairs<'_, F> {
    type Output = f32;

    #[inline(always)]
    #[expect(clippy::inline_always, reason = "what is not inlined stays narrow")]
    fn call(self) -> f32 {
        let ((a, a_rest), (b, b_rest)) = (self.a.as_chunks::<LANES>(), self.b.as_chunks::<LANES>());
        let mut sums = [0f32; LANES];
        for (a, b) in a.iter().zip(b) {
            for lane in 0..LANES {
                sums[lane] += (self.of)(a[lane], b[lane]);
            }
        }
        let rest: f32 = a_rest.iter().zip(b_rest).map(|(a, b)| (self.of)(*a, *b)).sum();
        sums.iter().sum::<f32>() + rest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whole numbers, so that every order of summing gives the same.
    #[test]
    fn every_place_counts_once() {
        for n in 0..70usize {
            let a: Vec<f32> = (0..n).map(|i| i as f32).collect();
            let b: Vec<f32> = (0..n).map(|i| (i * i % 7) as f32).collect();
            let products = (0..n).map(|i| i * (i * i % 7)).sum::<usize>();
            assert_eq!(dot(&a, &b), products as f32, "{n}");
            let squares = (0..n).map(|i| (i as i64 - (i * i % 7) as i64).pow(2)).sum::<i64>();
            assert_eq!(squared_distance(&a, &b), squares as f32, "{n}");
        }
    }
}
