//! What a gate requires to have been looked at, and what was.

use super::count::count;
use super::metric::CheckSpec;

/// In how many episodes a check was assessed.
#[derive(Debug, Clone)]
pub struct Assessed {
    /// The check.
    pub check: &'static CheckSpec,
    /// Episodes in which it measured something.
    pub episodes: u64,
    /// Episodes there are.
    pub of: u64,
    /// Why not in the others, where that is known.
    pub reason: Option<String>,
    /// Whether the table has nothing that it looks at.
    pub left_out: bool,
}

impl Assessed {
    /// Why not in all episodes.
    pub fn why(&self) -> String {
        let reason = self.reason.clone();
        reason.unwrap_or_else(|| "nothing in the data called for it".to_owned())
    }
}

/// What a gate requires, held against what was looked at.
#[derive(Debug, Clone)]
pub struct Required {
    /// The checks that count.
    pub checks: Vec<Assessed>,
    /// Why the gate fails by what was not looked at; nothing where it does not.
    pub missing: Vec<String>,
    /// Share of the pairs of an episode and a check that must be assessed.
    pub min_share: Option<f64>,
}

impl Required {
    /// Pairs of an episode and a check: those that were assessed, and all.
    pub fn pairs(&self) -> (u64, u64) {
        let assessed = self.checks.iter().map(|one| one.episodes).sum();
        (assessed, self.checks.iter().map(|one| one.of).sum())
    }

    /// Share of the pairs that were assessed; none without a pair.
    pub fn share(&self) -> Option<f64> {
        let (assessed, all) = self.pairs();
        (all > 0).then(|| assessed as f64 / all as f64)
    }

    /// The same, with too small a share among what is missing.
    #[must_use]
    pub fn with_share(mut self) -> Self {
        let short = self.min_share.filter(|min| self.share().is_none_or(|share| share < *min));
        self.missing.extend(short.map(|min| self.too_few(min)));
        self
    }

    /// The share in words.
    pub fn words(&self) -> String {
        let (assessed, all) = self.pairs();
        let (checks, episodes) = (self.checks.len(), self.checks.first().map_or(0, |one| one.of));
        // Rounded down: 89.96 % is not 90.
        let percent = self.share().map_or(0.0, |share| (share * 1000.0).floor() / 10.0);
        let (checks, episodes) = (count(checks, "check"), count(episodes, "episode"));
        format!("assessed {assessed} of {all} times, {percent} % ({checks} in {episodes})")
    }

    fn too_few(&self, min: f64) -> String {
        const MOST: usize = 3;
        let mut least: Vec<&Assessed> =
            self.checks.iter().filter(|one| one.episodes < one.of).collect();
        least.sort_by_key(|one| one.episodes);
        let named = least
            .iter()
            .take(MOST)
            .map(|one| format!("{} {} of {} ({})", one.check.id, one.episodes, one.of, one.why()));
        let named = named.collect::<Vec<_>>().join(", ");
        let more = least.len().saturating_sub(MOST);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let min = (min * 1e4).round() / 100.0;
        format!("{min} % must be assessed; {}; fewest: {named}{more}", self.words())
    }
}
