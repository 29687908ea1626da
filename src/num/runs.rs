//! Runs: unbroken stretches of equal values, or of values with a property. Half-open `[start, end)`.

/// A stretch `[start, end)`.
pub type Run = (usize, usize);

/// Every longest possible stretch whose values hold the property, in order.
pub fn runs_where<'a, T>(
    values: &'a [T],
    mut holds: impl FnMut(&T) -> bool + 'a,
) -> impl Iterator<Item = Run> + 'a {
    let mut next = 0;
    std::iter::from_fn(move || {
        while next < values.len() && !holds(&values[next]) {
            next += 1;
        }
        if next >= values.len() {
            return None;
        }
        let start = next;
        next += 1;
        while next < values.len() && holds(&values[next]) {
            next += 1;
        }
        let run = (start, next);
        // The value that ended the run is known not to hold.
        next += 1;
        Some(run)
    })
}

/// Stretches of at least `min` places that are all alike to one of them, in order. Looks at every
/// so many places first, so that a signal that changes all the time is passed over quickly.
pub fn runs_alike(places: usize, min: usize, alike: impl Fn(usize, usize) -> bool) -> Vec<Run> {
    let stride = (min / 2).max(1);
    let mut found = Vec::new();
    let mut at = 0;
    while at + stride < places {
        if !alike(at, at + stride) {
            at += stride;
            continue;
        }
        let earliest = found.last().map_or(0, |run: &Run| run.1);
        let mut start = at;
        while start > earliest && alike(start - 1, at) {
            start -= 1;
        }
        let mut end = at + 1;
        while end < places && alike(end, at) {
            end += 1;
        }
        if end - start >= min {
            found.push((start, end));
        }
        at = end;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_are_found_at_both_ends_and_in_the_middle() {
        let found: Vec<Run> = runs_where(&[1, 1, 0, 1, 0, 0, 1], |&v| v == 1).collect();
        assert_eq!(found, [(0, 2), (3, 4), (6, 7)]);
        assert_eq!(runs_where(&[0; 3], |&v: &i32| v == 1).count(), 0);
    }

    #[test]
    fn stretches_alike_are_found_whole() {
        let values = [1, 2, 2, 2, 2, 3, 4, 4, 5, 5, 5, 5, 5];
        let alike = |a: usize, b: usize| values[a] == values[b];
        assert_eq!(runs_alike(values.len(), 4, alike), [(1, 5), (8, 13)]);
        assert_eq!(runs_alike(values.len(), 6, alike), []);
        assert_eq!(runs_alike(0, 3, alike), []);
    }
}
