//! Two groups of episodes: sound ones, and faulty ones that lie one after the other.

/// Fewest faulty episodes that make a group: from six on a median has a 95 % interval.
const FEWEST: usize = 6;
/// Fewest sound ones outside it; with fewer the whole session is meant.
const OUTSIDE: usize = 5;
/// Of those outside, one in this many may be beyond the limit as well.
const STRAY: usize = 10;
/// Of a group at least four in this many are faulty.
const MOST: usize = 5;
/// A sound episode at the edge of a group outweighs this many faulty ones.
const SOUND: i64 = 2;

/// The first and last of the episodes that make a group of faulty ones, if the others are sound:
/// the run that holds most of what is beyond the limit for what it holds within.
pub(super) fn stretch(beyond: &[bool]) -> Option<(usize, usize)> {
    let (mut best, mut found) = (0, None);
    let (mut sum, mut first) = (0, 0);
    for (at, beyond) in beyond.iter().enumerate() {
        if sum <= 0 {
            (sum, first) = (0, at);
        }
        sum += if *beyond { 1 } else { -SOUND };
        if sum > best {
            (best, found) = (sum, Some((first, at)));
        }
    }
    let (first, last) = found?;
    let outside = || beyond[..first].iter().chain(&beyond[last + 1..]);
    let stray = outside().filter(|beyond| **beyond).count();
    let apart = outside().count() >= OUTSIDE && stray * STRAY <= outside().count();
    let length = last - first + 1;
    let faulty = beyond[first..=last].iter().filter(|beyond| **beyond).count();
    let dense = length >= FEWEST && faulty * MOST >= length * (MOST - 1);
    (dense && apart).then_some((first, last))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flags(told: &str) -> Vec<bool> {
        told.chars().map(|c| c == 'x').collect()
    }

    #[test]
    fn a_fault_from_one_episode_on_and_one_that_was_fixed_are_groups() {
        let late: Vec<bool> = (0..50).map(|at| at >= 30).collect();
        assert_eq!(stretch(&late), Some((30, 49)));
        assert_eq!(stretch(&flags("xxxxxxx.....")), Some((0, 6)));
        assert_eq!(stretch(&flags(".....xxxxx.xxx.....x.....")), Some((5, 13)));
    }

    #[test]
    fn a_whole_session_scattered_warnings_and_single_ones_are_none() {
        for told in [
            "xxxxxxxxxxxxxxxx",
            "..xxxxxxxxxxxxxx",
            "................",
            "...x....x.......",
            "x.x.x.x.x.x.x.x.",
            ".....xxxxx......",
            "xxxxxx....xxxxxx",
            "",
        ] {
            assert_eq!(stretch(&flags(told)), None, "{told}");
        }
    }

    #[test]
    fn coins_hardly_ever_make_a_group() {
        use rand::{Rng, SeedableRng};
        let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(7);
        for share in [0.03, 0.1, 0.5, 0.9] {
            let mut groups = 0;
            for _ in 0..2000 {
                let drawn: Vec<bool> = (0..50).map(|_| random.random_bool(share)).collect();
                groups += usize::from(stretch(&drawn).is_some());
            }
            assert!(groups <= 10, "{share}: {groups} of 2000");
        }
    }
}
