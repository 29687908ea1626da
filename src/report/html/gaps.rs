//! What was not assessed in which episode, for the overview of episodes and checks: a bit for each
//! episode, since at ten thousand episodes anything else would take more room than the findings.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::Serialize;

use crate::model::{CardPlace, CheckSpec};
use crate::report::view::View;

/// Of each check, in the order of the page's checks, the episodes concerned: bits in base64, the
/// first episode lowest in the first byte; empty where there are none.
#[derive(Debug, Serialize)]
pub(super) struct Gaps {
    /// Nothing was measured.
    not_assessed: Vec<String>,
    /// All that was found follows from another finding.
    suppressed: Vec<String>,
}

/// A bit for each episode.
struct Bits(Vec<u8>);

impl Bits {
    fn new(episodes: usize) -> Self {
        Self(vec![0; episodes.div_ceil(8)])
    }

    fn set(&mut self, at: usize) {
        self.0[at / 8] |= 1 << (at % 8);
    }

    /// Those that are not set.
    fn others(&self, episodes: usize) -> Self {
        let mut others = Self::new(episodes);
        let unset = |at: &usize| self.0[at / 8] & (1 << (at % 8)) == 0;
        (0..episodes).filter(unset).for_each(|at| others.set(at));
        others
    }

    fn packed(&self) -> String {
        if self.0.iter().all(|byte| *byte == 0) { String::new() } else { STANDARD.encode(&self.0) }
    }
}

impl Gaps {
    /// Of an outcome.
    pub fn of(view: &View<'_>) -> Self {
        let cards = &view.outcome.cards;
        let none = || view.checks.iter().map(|_| Bits::new(cards.len())).collect::<Vec<Bits>>();
        let place = |check: &CheckSpec| view.checks.iter().position(|known| known.is(check));
        let (mut assessed, mut suppressed) = (none(), none());
        for (check, _, _, values) in view.outcome.ledger.columns() {
            let Some(of) = place(check) else { continue };
            let read = values.iter().take(cards.len()).enumerate().filter(|(_, v)| v.is_finite());
            read.for_each(|(at, _)| assessed[of].set(at));
        }
        for (at, card) in CardPlace::all(cards.len()).zip(cards) {
            for finding in &card.findings {
                if let Some(of) = place(finding.check) {
                    assessed[of].set(at.get());
                }
            }
            for (check, _) in card.mute() {
                let Some(of) = place(check) else { continue };
                suppressed[of].set(at.get());
                assessed[of].set(at.get());
            }
        }
        let packed = |all: &[Bits]| all.iter().map(Bits::packed).collect();
        let gaps: Vec<Bits> = assessed.iter().map(|bits| bits.others(cards.len())).collect();
        Self { not_assessed: packed(&gaps), suppressed: packed(&suppressed) }
    }
}

#[cfg(test)]
mod tests {
    use super::Bits;

    #[test]
    fn the_first_episode_is_lowest_and_nothing_is_empty() {
        let mut bits = Bits::new(10);
        assert_eq!(bits.packed(), "");
        bits.set(0);
        bits.set(9);
        // 1 and 2 in base64: RFC 4648, six bits to a sign.
        assert_eq!(bits.packed(), "AQI=");
        assert_eq!(bits.others(10).0, [0xfe, 0x01]);
    }
}
