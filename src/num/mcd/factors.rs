//! Factors that make the covariance of a chosen half estimate the covariance of the whole.

use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Quantile of χ² with `p` degrees of freedom; `NaN` outside (0, 1) or without a degree.
pub fn chi_squared_quantile(probability: f64, p: usize) -> f64 {
    if !(0.0..1.0).contains(&probability) {
        return f64::NAN;
    }
    ChiSquared::new(p as f64).map_or(f64::NAN, |law| law.inverse_cdf(probability))
}

/// Makes the covariance of the nearest `share` of normal points consistent.
///
/// Source: Croux & Haesbroeck 1999, Journal of Multivariate Analysis 71(2), 161–190.
pub fn consistency(p: usize, share: f64) -> f64 {
    if share >= 1.0 {
        return 1.0;
    }
    let edge = chi_squared_quantile(share, p);
    share / ChiSquared::new(p as f64 + 2.0).map_or(f64::NAN, |law| law.cdf(edge))
}

/// Fitted by simulation at p ≤ 2: 1 − exp(a) / n^b; and for p > 2, at n = 2p² and n = 3p²:
/// 1 + a / p^b.
struct Fit {
    one: (f64, f64),
    two: (f64, f64),
    wide: [(f64, f64); 2],
}

/// Pison, Van Aelst & Willems 2002, Metrika 55, 111–123: the half's covariance when the share is
/// 0.5, and when it is 0.875. Those for p > 2 at 0.5 are confirmed by the reference test on 75
/// points; the others are from memory and checked by simulation below.
const RAW: [Fit; 2] = [
    Fit {
        one: (0.262_024_211_897_096, 0.604_756_680_630_497),
        two: (0.673_292_623_522_027, 0.691_365_864_961_895),
        wide: [
            (-1.427_645_716_878_02, 1.262_633_369_321_51),
            (-1.061_411_159_817_25, 1.289_079_914_403_87),
        ],
    },
    Fit {
        one: (-0.351_584_646_688_712, 1.016_465_675_024_86),
        two: (0.446_537_815_635_445, 1.066_907_829_959_19),
        wide: [
            (-0.455_179_464_070_565, 1.111_925_412_787_94),
            (-0.294_241_208_320_834, 1.096_493_291_498_11),
        ],
    },
];

/// As `RAW`, after reweighting.
const REWEIGHTED: [Fit; 2] = [
    Fit {
        one: (1.110_981_434_150_27, 1.518_289_027_045_3),
        two: (3.111_017_129_090_49, 1.914_010_567_218_63),
        wide: [
            (-1.028_425_727_247_93, 1.676_598_830_819_26),
            (-0.268_002_734_508_53, 1.359_685_628_935_82),
        ],
    },
    Fit {
        one: (-0.660_467_767_728_61, 0.889_395_958_318_88),
        two: (0.794_735_505_810_58, 1.100_819_303_500_91),
        wide: [
            (-0.544_482_443_573_914, 1.259_944_832_222_92),
            (-0.343_791_072_183_285, 1.251_590_042_571_33),
        ],
    },
];

/// Small-sample correction of the covariance of the share with the smallest scatter.
pub fn raw_correction(share: f64, p: usize, n: usize) -> f64 {
    correction(&RAW, share, p, n)
}

/// Small-sample correction of the reweighted covariance.
pub fn reweighted_correction(share: f64, p: usize, n: usize) -> f64 {
    correction(&REWEIGHTED, share, p, n)
}

/// Between the shares that were simulated, and from the greater to a share of one, a straight line.
fn correction(fits: &[Fit; 2], share: f64, p: usize, n: usize) -> f64 {
    let [half, most] = [fits[0].at(p, n), fits[1].at(p, n)];
    let at = if share <= 0.875 {
        half + (most - half) * (share - 0.5) / 0.375
    } else {
        most + (1.0 - most) * (share - 0.875) / 0.125
    };
    1.0 / at
}

impl Fit {
    fn at(&self, p: usize, n: usize) -> f64 {
        let (log_factor, power) = match p {
            0 | 1 => self.one,
            2 => self.two,
            _ => self.through(p as f64),
        };
        1.0 - log_factor.exp() / (n as f64).powf(power)
    }

    /// The curve 1 − exp(a) / n^b through both points fitted for many dimensions.
    fn through(&self, p: f64) -> (f64, f64) {
        let height = |(a, b): (f64, f64)| (-a / p.powf(b)).ln();
        let (near, far) = (height(self.wide[0]), height(self.wide[1]));
        let power = (near - far) / (3f64 / 2.0).ln();
        (near + power * (2.0 * p * p).ln(), power)
    }
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, StandardNormal};

    use super::super::{FastMcd, ScatterError};
    use crate::num::covariance::{Points, Scatter};

    /// Geometric mean of the variances along the axes of the ellipse.
    fn size(scatter: &Scatter) -> f64 {
        let log_determinant = scatter.ruler().map_or(f64::NAN, |r| r.log_determinant());
        (log_determinant / scatter.centre.len() as f64).exp()
    }

    /// With their factors, the ellipses of standard normal points have the right size on average:
    /// that is what the corrections were fitted to.
    #[test]
    fn the_scatter_of_normal_points_is_unbiased() -> Result<(), ScatterError> {
        let mut random = ChaCha8Rng::seed_from_u64(4);
        for (p, n) in [(1, 30), (2, 30), (3, 40), (6, 80)] {
            for share in [0.5, 0.75] {
                let (mut raw, mut reweighted) = (0.0, 0.0);
                let rounds = 60;
                for _ in 0..rounds {
                    let values: Vec<f64> =
                        (0..n * p).map(|_| StandardNormal.sample(&mut random)).collect();
                    let search = FastMcd { share, starts: 100, ..FastMcd::default() };
                    let mcd = search.fit(Points::new(&values, p)?)?;
                    raw += size(&mcd.raw) / f64::from(rounds);
                    reweighted += size(&mcd.scatter) / f64::from(rounds);
                }
                assert!((raw - 1.0).abs() < 0.15, "raw {raw} at p {p}, share {share}");
                assert!((reweighted - 1.0).abs() < 0.1, "{reweighted} at p {p}, share {share}");
            }
        }
        Ok(())
    }
}
