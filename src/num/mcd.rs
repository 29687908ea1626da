//! FAST-MCD: the mean and covariance of that half (or other share) of the points which scatters
//! smallest.
//!
//! Up to half of the points may be wild without moving the answer, and a group of outliers cannot
//! hide one another as it does from the ordinary covariance.
//!
//! Source: Rousseeuw & Van Driessen 1999, Technometrics 41(3), 212–223 (concentration steps from
//! random starts); the size of the half, the consistency and small-sample factors and the
//! reweighting as in R's robustbase (`covMcd`). Deterministic: the starts come from a
//! generator with a fixed seed.

use rand::SeedableRng;
use rand::seq::index::sample;
use rand_chacha::ChaCha8Rng;

use super::covariance::{Points, Ruler, Scatter, ScatterError};

mod factors;

pub use factors::{chi_squared_quantile, consistency, raw_correction, reweighted_correction};

/// How hard to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FastMcd {
    /// Share of the points with the smallest scatter, ½ to 1: the rest may be outliers. A larger share
    /// is the steadier on few points.
    pub share: f64,
    /// Random starts, where not every start is tried.
    pub starts: usize,
    /// Every subset of p + 1 points is tried if there are no more than this.
    pub exhaustive: usize,
    /// With more points than this, the starts are tried on a random sample of half as many, and
    /// only the best go on to all points.
    pub nested: usize,
    /// Best starts carried on to convergence.
    pub finalists: usize,
    /// Seed of the random starts.
    pub seed: u64,
}

impl Default for FastMcd {
    fn default() -> Self {
        Self { share: 0.5, starts: 500, exhaustive: 5_000, nested: 600, finalists: 10, seed: 1999 }
    }
}

/// What FAST-MCD found.
#[derive(Debug, Clone)]
#[cfg_attr(
    not(any(test, feature = "internals")),
    expect(dead_code, reason = "the steps on the way are compared with robustbase's by the tests")
)]
pub struct Mcd {
    /// The half with the smallest scatter, ascending.
    pub best: Vec<usize>,
    /// Log-determinant of its covariance (n − 1, no factors).
    pub raw_log_determinant: f64,
    /// Mean of the half, and its covariance times both `raw_factors`.
    pub raw: Scatter,
    /// Consistency factor and small-sample correction of the half's covariance.
    pub raw_factors: (f64, f64),
    /// Mean and covariance of the points within the 97.5 % ellipse of `raw`, times both `factors`.
    pub scatter: Scatter,
    /// Consistency factor and small-sample correction of the reweighted covariance.
    pub factors: (f64, f64),
    /// Measures distances by `scatter`.
    pub ruler: Ruler,
}

impl FastMcd {
    /// Finds the half with the smallest scatter.
    ///
    /// # Errors
    /// Fewer than p + 2 points, or half of them in a plane of fewer dimensions.
    pub fn fit(&self, points: Points<'_>) -> Result<Mcd, ScatterError> {
        let (n, p) = (points.count(), points.dimensions());
        if p == 0 || n < p + 2 {
            return Err(ScatterError::TooFew { points: n, dimensions: p });
        }
        let half = half_size(self.share, n, p);
        let best = self.search(points, half)?;
        reweighted(points, best, self.share)
    }

    /// The best starts, taken to convergence on all points.
    fn search(&self, points: Points<'_>, half: usize) -> Result<Half, ScatterError> {
        let (n, p) = (points.count(), points.dimensions());
        let mut random = ChaCha8Rng::seed_from_u64(self.seed);
        let mut work = Workspace::new(points, half);
        let finalists = if n > self.nested {
            let rows = sample(&mut random, n, (self.nested / 2).max(p + 2).min(n)).into_vec();
            let values: Vec<f64> = rows.iter().flat_map(|&i| points.point(i)).copied().collect();
            let size = half_size(self.share, rows.len(), p);
            let mut few = Workspace::new(Points::new(&values, p)?, size);
            let mut found = self.finalists(&mut few, &mut random);
            for index in found.iter_mut().flat_map(|half| &mut half.chosen) {
                *index = rows[*index];
            }
            found
        } else {
            self.finalists(&mut work, &mut random)
        };
        let settled = finalists.into_iter().filter_map(|half| work.settle(half));
        settled
            .min_by(|a, b| a.log_determinant.total_cmp(&b.log_determinant))
            .ok_or(ScatterError::Singular { dimensions: p })
    }

    /// Two concentration steps from every start; the halves that then have the smallest scatter, best first.
    fn finalists(&self, work: &mut Workspace<'_>, random: &mut ChaCha8Rng) -> Vec<Half> {
        let (n, p) = (work.points.count(), work.points.dimensions());
        let mut finalists: Vec<Half> = Vec::with_capacity(self.finalists + 1);
        let mut enter = |start: Vec<usize>, random: &mut ChaCha8Rng| {
            let Some(found) = work.begin(start, random) else { return };
            let place = finalists.partition_point(|f| f.log_determinant < found.log_determinant);
            if place < self.finalists && !finalists.iter().any(|f| f.chosen == found.chosen) {
                finalists.insert(place, found);
                finalists.truncate(self.finalists);
            }
        };
        if subsets(n, p + 1).is_some_and(|all| all <= self.exhaustive) {
            let mut start: Vec<usize> = (0..=p).collect();
            loop {
                enter(start.clone(), random);
                if !next_subset(&mut start, n) {
                    break;
                }
            }
        } else {
            for _ in 0..self.starts {
                let start = sample(random, n, p + 1).into_vec();
                enter(start, random);
            }
        }
        finalists
    }
}

/// Number of points with the smallest scatter: robustbase's `h.alpha.n`. For a share of ½ it is
/// ⌊(n + p + 1) / 2⌋.
pub fn half_size(share: f64, n: usize, p: usize) -> usize {
    let half = (n + p).div_ceil(2).min(n);
    let size = (2 * half - n) as f64 + 2.0 * (n - half) as f64 * share.clamp(0.5, 1.0);
    (size as usize).clamp(half, n)
}

/// A half of the points on its way to the smallest scatter.
#[derive(Debug, Clone)]
struct Half {
    chosen: Vec<usize>,
    log_determinant: f64,
}

/// The points with scratch space for concentration steps.
struct Workspace<'a> {
    points: Points<'a>,
    half: usize,
    keyed: Vec<(f64, usize)>,
    scratch: Vec<f64>,
}

impl<'a> Workspace<'a> {
    fn new(points: Points<'a>, half: usize) -> Self {
        let scratch = vec![0.0; points.dimensions()];
        Self { points, half, keyed: Vec::with_capacity(points.count()), scratch }
    }

    /// Two concentration steps from a start of p + 1 points, which grows by random points until it
    /// no longer lies in a plane.
    fn begin(&mut self, mut start: Vec<usize>, random: &mut ChaCha8Rng) -> Option<Half> {
        let mut ruler = Scatter::of(self.points, &start).ruler();
        if ruler.is_none() {
            let n = self.points.count();
            let mut others = sample(random, n, n).into_iter().filter(|i| !start.contains(i));
            let spare: Vec<usize> = others.by_ref().collect();
            let mut spare = spare.into_iter();
            while ruler.is_none() && start.len() < self.half {
                start.push(spare.next()?);
                ruler = Scatter::of(self.points, &start).ruler();
            }
        }
        let first = self.nearest(&ruler?);
        let second = self.nearest(&Scatter::of(self.points, &first).ruler()?);
        let log_determinant = Scatter::of(self.points, &second).ruler()?.log_determinant();
        Some(Half { chosen: second, log_determinant })
    }

    /// Concentration steps until the determinant falls no further.
    fn settle(&mut self, mut half: Half) -> Option<Half> {
        for _ in 0..100 {
            let chosen = self.nearest(&Scatter::of(self.points, &half.chosen).ruler()?);
            if chosen == half.chosen {
                break;
            }
            let log_determinant = Scatter::of(self.points, &chosen).ruler()?.log_determinant();
            half = Half { chosen, log_determinant };
        }
        Some(half)
    }

    /// The half nearest by this ruler, ascending by index.
    fn nearest(&mut self, ruler: &Ruler) -> Vec<usize> {
        let (points, scratch) = (self.points, &mut self.scratch);
        self.keyed.clear();
        let keyed = &mut self.keyed;
        ruler.measure(points, scratch, |i, squared| keyed.push((squared, i)));
        let last = self.half - 1;
        self.keyed.select_nth_unstable_by(last, |a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut chosen: Vec<usize> = self.keyed[..self.half].iter().map(|k| k.1).collect();
        chosen.sort_unstable();
        chosen
    }
}

/// Scales the half's covariance, weighs the points by it and estimates once more.
fn reweighted(points: Points<'_>, best: Half, share: f64) -> Result<Mcd, ScatterError> {
    let (n, p) = (points.count(), points.dimensions());
    let singular = ScatterError::Singular { dimensions: p };
    let mut raw = Scatter::of(points, &best.chosen);
    let kept = best.chosen.len() as f64 / n as f64;
    let raw_factors = (consistency(p, kept), raw_correction(share, p, n));
    raw.covariance *= raw_factors.0 * raw_factors.1;
    let limit = chi_squared_quantile(0.975, p);
    let distances = raw.ruler().ok_or(singular)?.squared_all(points);
    let kept: Vec<usize> = (0..n).filter(|&i| distances[i] <= limit).collect();
    let mut scatter = Scatter::of(points, &kept);
    let factors = if kept.len() == n {
        (1.0, 1.0)
    } else {
        (consistency(p, kept.len() as f64 / n as f64), reweighted_correction(share, p, n))
    };
    scatter.covariance *= factors.0 * factors.1;
    let ruler = scatter.ruler().ok_or(singular)?;
    let raw_log_determinant = best.log_determinant;
    Ok(Mcd { best: best.chosen, raw_log_determinant, raw, raw_factors, scatter, factors, ruler })
}

/// Number of subsets of `k` out of `n`; `None` when it overflows.
fn subsets(n: usize, k: usize) -> Option<usize> {
    (0..k).try_fold(1usize, |all, i| Some(all.checked_mul(n - i)? / (i + 1)))
}

/// The next subset in lexicographic order; `false` after the last.
fn next_subset(subset: &mut [usize], n: usize) -> bool {
    let k = subset.len();
    let Some(turn) = (0..k).rev().find(|&i| subset[i] < n - k + i) else { return false };
    subset[turn] += 1;
    for i in turn + 1..k {
        subset[i] = subset[i - 1] + 1;
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_scatter_is_an_error() -> Result<(), ScatterError> {
        let search = FastMcd::default();
        let line: Vec<f64> = (0..40).flat_map(|i| [f64::from(i), 2.0 * f64::from(i)]).collect();
        let singular = ScatterError::Singular { dimensions: 2 };
        assert_eq!(search.fit(Points::new(&line, 2)?).err(), Some(singular));
        let still = [3.0; 60];
        assert_eq!(search.fit(Points::new(&still, 2)?).err(), Some(singular));
        let few = ScatterError::TooFew { points: 3, dimensions: 2 };
        assert_eq!(search.fit(Points::new(&line[..6], 2)?).err(), Some(few));
        assert_eq!(Points::new(&[f64::NAN], 1).err(), Some(ScatterError::NotFinite));
        Ok(())
    }

    /// A third of 900 points lies far off in a clump: the sample of starts must not fall for it.
    #[test]
    fn a_large_clump_is_left_out_of_many_points() -> Result<(), ScatterError> {
        let wave = |i: usize, k: f64| (i as f64 * k).sin();
        let values: Vec<f64> = (0..900)
            .flat_map(|i| {
                let off = if i % 3 == 0 { 20.0 } else { 0.0 };
                [wave(i, 1.7) + off, wave(i, 2.9), wave(i, 0.77) - off]
            })
            .collect();
        let mcd = FastMcd::default().fit(Points::new(&values, 3)?)?;
        assert!(mcd.best.iter().all(|i| i % 3 != 0));
        Ok(())
    }

    #[test]
    fn subsets_are_counted_and_listed() {
        assert_eq!(subsets(20, 6), Some(38_760));
        let mut subset = [0, 1];
        let mut listed = 1;
        while next_subset(&mut subset, 5) {
            listed += 1;
        }
        assert_eq!(listed, 10);
    }
}
