//! From which squared distance on an episode is an outlier.

use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::num::mcd::chi_squared_quantile;

/// Chance that a healthy session has any outlier.
const FALSE_ALARM: f64 = 0.05;

/// The cut-off for a session of `episodes`, of which `fitted` say what is usual in `components`
/// dimensions made of `features`.
///
/// χ² at 0.05/n is right for many normal episodes only, and is widened twice. The covariance that
/// FAST-MCD finds in few episodes is itself uncertain, and distances of those not in its half have
/// far longer tails than χ² (Hardin & Rocke 2005, JCGS 14(4), 928–946): a factor, which fades with
/// n. And real features have heavier tails than a normal, which averages out where many features
/// make one component: a term, which fades with features per component. The numbers are
/// those with which healthy sessions of 12 to 4,000 episodes, 2 to 40 features, normal, log-normal
/// and Student's t with 5 degrees of freedom, stayed below one alarmed session in twenty on average
/// of each size (1.0 to 4.1 %; at worst one in seven: 40 log-normal features of 30 episodes, and
/// few features with Student's tails in 2,000 episodes). Common factors with heavy tails are not covered. The
/// tests repeat part of that simulation.
pub(super) fn cutoff(episodes: usize, fitted: usize, components: usize, features: usize) -> f64 {
    let (n, p) = (fitted as f64, components as f64);
    let normal = chi_squared_quantile(1.0 - FALSE_ALARM / episodes as f64, components);
    let uncertain = 1.0 + 10.0 * p.sqrt() / (n - 5.0);
    let heavy = (8.0 + 2.0 * (episodes as f64).ln()) * (p / (features as f64).max(p)).powf(0.75);
    normal * uncertain + heavy
}

/// How many wide scales one feature alone must be from the usual, in a session of `episodes` with
/// `features` each: Student's t with 4 degrees of freedom, heavier than any feature seen, at
/// 0.05 / (n L) both ways, widened because few episodes know their scale badly.
pub(super) fn far_cutoff(episodes: usize, features: usize) -> f64 {
    let chances = (episodes * features).max(1) as f64;
    let few = 1.0 + 10.0 / episodes.max(1) as f64;
    let heavy = StudentsT::new(0.0, 1.0, 4.0);
    heavy.map_or(f64::INFINITY, |t| t.inverse_cdf(1.0 - FALSE_ALARM / (2.0 * chances)) * few)
}
