//! Natural order of names: `part-2` before `part-10`.

use std::path::Path;

/// What orders paths folder by folder, runs of digits by their number and all else letter by
/// letter, when it is compared byte by byte. Names that are equal as numbers (`01`, `1`) fall back
/// to the plain order, so that the order is total.
///
/// Crates for this order (`natord`) compare a number with a leading zero like a fraction, so that
/// `part-02` comes before `part-1`. They do not know folders either: `s10-b` comes before `s10/a`.
///
/// A key is made once for each path; taking two paths apart at each comparison of a sort costs ten
/// times as much, and there may be a million.
pub(crate) fn key(path: &Path) -> Vec<u8> {
    let mut key = Vec::with_capacity(2 * path.as_os_str().len() + 32);
    for name in path.components() {
        let name = name.as_os_str().as_encoded_bytes();
        push_name(name, &mut key);
        // Less than any letter, so that a name comes before those that it begins.
        key.push(0);
        key.extend_from_slice(name);
        key.push(0);
    }
    key
}

fn push_name(mut name: &[u8], key: &mut Vec<u8>) {
    while let Some(&letter) = name.first() {
        if letter.is_ascii_digit() {
            let digits = take_digits(&mut name);
            // One digit stands for all: no letter comes between any two of them.
            key.push(b'0');
            key.extend_from_slice(&(digits.len() as u32).to_be_bytes());
            key.extend_from_slice(digits);
        } else {
            key.push(letter);
            name = &name[1..];
        }
    }
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

    fn in_order(names: &[&str]) -> bool {
        names.windows(2).all(|pair| key(Path::new(pair[0])) < key(Path::new(pair[1])))
    }

    #[test]
    fn numbers_count_as_numbers() {
        assert!(in_order(&["part", "part-1", "part-02", "part-2", "part-2b", "part-10", "parts"]));
        assert!(in_order(&[
            "!", "0", "1", "9", "10", "255", "256", "65536", "a", "a0", "a1", "aa"
        ]));
    }

    #[test]
    fn folders_are_compared_one_by_one() {
        assert!(in_order(&["s", "s/a", "s2/part-1", "s10/part-0", "s10-b/part-0"]));
        // The first folders decide although they are the same number.
        assert!(in_order(&["01/b", "1/a"]));
    }
}
