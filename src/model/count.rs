//! A number of things, in words.

/// `1 episode`, `2 episodes`.
pub fn count(n: impl TryInto<u64>, noun: &str) -> String {
    let n = n.try_into().unwrap_or(u64::MAX);
    format!("{n} {noun}{}", if n == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_thing_is_not_two() {
        assert_eq!([0usize, 1, 2].map(|n| count(n, "row")), ["0 rows", "1 row", "2 rows"]);
    }
}
