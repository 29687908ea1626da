//! Which earlier episodes each one agrees best with.

/// Earlier episodes, at most, that one is held against.
const BEST: usize = 4;

/// Of each episode the earlier ones that agree best with it. Bounded however many agree: in a session
/// that was copied a hundred times over there are billions of pairs.
pub(super) struct Best(Vec<[(u32, u32); BEST]>);

/// No episode: none agrees in so few.
const NOBODY: (u32, u32) = (0, u32::MAX);

impl Best {
    /// Nothing known yet of so many episodes.
    pub fn of(episodes: usize) -> Self {
        Self(vec![[NOBODY; BEST]; episodes])
    }

    /// Enters a pair, which may be known.
    pub fn enter(&mut self, a: u32, b: u32, agreeing: u32) {
        let (earlier, later) = (a.min(b), a.max(b));
        let best = &mut self.0[later as usize];
        let better =
            |known: &(u32, u32)| known.0 > agreeing || (known.0 == agreeing && known.1 < earlier);
        let at = best.partition_point(better);
        if at < BEST && best[at] != (agreeing, earlier) {
            best[at..].rotate_right(1);
            best[at] = (agreeing, earlier);
        }
    }

    /// Each episode that has any, with the earlier ones, the best first.
    pub fn all(self) -> impl Iterator<Item = (usize, impl Iterator<Item = usize>)> {
        let some = self.0.into_iter().enumerate().filter(|(_, best)| best[0] != NOBODY);
        some.map(|(later, best)| {
            let known = best.into_iter().filter(|known| *known != NOBODY);
            (later, known.map(|known| known.1 as usize))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_best_stay_whatever_order_they_come_in_and_how_often() {
        let agreeing = [3, 9, 5, 9, 7, 1, 5];
        for first in 0..agreeing.len() {
            let mut best = Best::of(8);
            for at in (0..3 * agreeing.len()).map(|i| (first + i) % agreeing.len()) {
                best.enter(7, at as u32, agreeing[at]);
            }
            let all: Vec<(usize, Vec<usize>)> =
                best.all().map(|(later, earlier)| (later, earlier.collect())).collect();
            assert_eq!(all, [(7, vec![1, 3, 4, 2])], "{first}");
        }
    }
}
