//! The ends of a signal.

use crate::num::wide::wide_fn;

wide_fn! {
    /// Smallest and largest value.
    pub fn range<'a>(values: &'a [f32]) -> (f32, f32) {
        let (chunks, rest) = values.as_chunks::<16>();
        let first = values.first().copied().unwrap_or(0.0);
        if chunks.is_empty() {
            return rest.iter().fold((first, first), |(low, high), v| (low.min(*v), high.max(*v)));
        }
        let (mut low, mut high) = ([first; 16], [first; 16]);
        for chunk in chunks {
            for lane in 0..16 {
                // A plain comparison, unlike `f32::min`, becomes one vector instruction.
                low[lane] = if chunk[lane] < low[lane] { chunk[lane] } else { low[lane] };
                high[lane] = if chunk[lane] > high[lane] { chunk[lane] } else { high[lane] };
            }
        }
        let all = low.iter().chain(&high).chain(rest);
        all.fold((first, first), |(low, high), v| (low.min(*v), high.max(*v)))
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
