//! Natural order of names: `part-2` before `part-10`.

use std::cmp::Ordering;
use std::path::Path;

/// Compares two paths folder by folder in natural order.
pub(super) fn compare_paths(a: &Path, b: &Path) -> Ordering {
    let mut left = a.components();
    let mut right = b.components();
    loop {
        match (left.next(), right.next()) {
            (None, None) => return Ordering::Equal,
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) => {
                let (x, y) = (x.as_os_str().to_string_lossy(), y.as_os_str().to_string_lossy());
                match compare(&x, &y) {
                    Ordering::Equal => {}
                    other => return other,
                }
            }
        }
    }
}

/// Compares two names: runs of digits by their number, all else letter by letter. Names that are
/// equal as numbers (`01`, `1`) fall back to the plain order, so that the order is total.
pub(super) fn compare(a: &str, b: &str) -> Ordering {
    let (mut x, mut y) = (a.as_bytes(), b.as_bytes());
    while let (Some(&p), Some(&q)) = (x.first(), y.first()) {
        let order = if p.is_ascii_digit() && q.is_ascii_digit() {
            let (m, n) = (take_digits(&mut x), take_digits(&mut y));
            m.len().cmp(&n.len()).then_with(|| m.cmp(n))
        } else {
            (x, y) = (&x[1..], &y[1..]);
            p.cmp(&q)
        };
        if order != Ordering::Equal {
            return order;
        }
    }
    x.len().cmp(&y.len()).then_with(|| a.cmp(b))
}

/// Takes the leading digits off, without leading zeros.
fn take_digits<'a>(text: &mut &'a [u8]) -> &'a [u8] {
    let end = text.iter().position(|c| !c.is_ascii_digit()).unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    *text = rest;
    let zeros = digits.iter().position(|&c| c != b'0').unwrap_or(digits.len());
    &digits[zeros..]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_count_as_numbers() {
        let mut names = ["part-10", "part-2", "part-02", "part-1", "part", "part-2b"];
        names.sort_by(|a, b| compare(a, b));
        assert_eq!(names, ["part", "part-1", "part-02", "part-2", "part-2b", "part-10"]);
    }

    #[test]
    fn folders_are_compared_one_by_one() {
        let order = compare_paths(Path::new("s2/part-1"), Path::new("s10/part-0"));
        assert_eq!(order, Ordering::Less);
        assert_eq!(compare_paths(Path::new("s"), Path::new("s/a")), Ordering::Less);
    }
}
