//! The ends of a signal.

use pulp::{cast, f32x8};

use crate::num::wide::{eight_fn, eight_from};

eight_fn! {
    /// Smallest and largest value.
    pub fn range<'a>(simd, values: &'a [f32]) -> (f32, f32) {
        let (chunks, rest) = values.as_chunks::<16>();
        let first = values.first().copied().unwrap_or(0.0);
        let (mut low, mut high) = ([simd.splat_f32s(first); 2], [simd.splat_f32s(first); 2]);
        for chunk in chunks {
            for half in 0..2 {
                let value = eight_from(chunk, 8 * half);
                let less = simd.less_than_f32s(value, low[half]);
                low[half] = simd.select_f32s(less, value, low[half]);
                let more = simd.greater_than_f32s(value, high[half]);
                high[half] = simd.select_f32s(more, value, high[half]);
            }
        }
        let ends = rest.iter().fold((first, first), |(low, high), v| (low.min(*v), high.max(*v)));
        if chunks.is_empty() {
            return ends;
        }
        let lanes = |eights: [f32x8; 2]| cast::<_, [f32; 16]>(eights).into_iter();
        (lanes(low).fold(ends.0, f32::min), lanes(high).fold(ends.1, f32::max))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn range_sees_every_place() {
        for n in 1..40 {
            for at in 0..n {
                let mut values = vec![1.0f32; n];
                values[at] = 3.0;
                assert_eq!(range(&values), (if n == 1 { 3.0 } else { 1.0 }, 3.0));
                values[at] = -2.0;
                assert_eq!(range(&values), (-2.0, if n == 1 { -2.0 } else { 1.0 }));
            }
        }
    }
}
