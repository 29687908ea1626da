//! How far a cloud of points extends, and in how many directions.

use super::covariance::{Points, Scatter};

/// The dispersion of a cloud of points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dispersion {
    /// Root of the mean square distance from the mean, over all directions (n - 1).
    pub size: f64,
    /// Effective number of directions: between 1 and the number of coordinates, 0 where no
    /// direction reaches the standard deviation asked for.
    pub rank: f64,
}

/// Dispersion of some points; directions with a standard deviation below `min_std` have no part in the
/// rank. `None` for fewer than two points.
pub fn dispersion(points: Points<'_>, min_std: f64) -> Option<Dispersion> {
    if points.count() < 2 || points.dimensions() == 0 {
        return None;
    }
    let covariance = Scatter::of_all(points).covariance;
    let size = covariance.trace().max(0.0).sqrt();
    let mut variances: Vec<f64> = covariance.symmetric_eigenvalues().iter().copied().collect();
    variances.retain(|variance| *variance > 0.0 && *variance >= min_std * min_std);
    Some(Dispersion { size, rank: effective_rank(&variances) })
}

/// Exponential of the entropy of the shares that each direction has of the whole variance: `n` for
/// `n` equal ones, 1 where one has it all, 0 for none. Zeros have no part in it.
///
/// Source: Roy & Vetterli 2007, "The effective rank", EUSIPCO, 606-610 (definition 1, of the
/// singular values; those of a covariance are its variances). From memory.
pub fn effective_rank(variances: &[f64]) -> f64 {
    let sum: f64 = variances.iter().sum();
    if variances.is_empty() || sum <= 0.0 {
        return 0.0;
    }
    let shares = variances.iter().map(|variance| variance / sum).filter(|share| *share > 0.0);
    shares.map(|share| -share * share.ln()).sum::<f64>().exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-9
    }

    #[test]
    fn equal_directions_count_fully_and_unequal_ones_by_their_entropy() {
        for n in 1..9 {
            assert!(near(effective_rank(&vec![0.3; n]), n as f64));
        }
        assert!(near(effective_rank(&[2.0, 0.0, 0.0]), 1.0));
        // Shares of 1/2, 1/4, 1/4: 1.5 ln 2 in all.
        assert!(near(effective_rank(&[2.0, 1.0, 1.0]), 2f64.powf(1.5)));
        assert!(near(effective_rank(&[]), 0.0) && near(effective_rank(&[0.0]), 0.0));
    }

    #[test]
    fn points_on_a_line_have_one_direction_and_those_of_a_cross_as_many_as_it_has_axes()
    -> Result<(), super::super::covariance::ScatterError> {
        let line: Vec<f64> =
            (0..20).flat_map(|i| [1.0, -2.0, 0.5].map(|v| v * f64::from(i))).collect();
        let Some(of_line) = dispersion(Points::new(&line, 3)?, 1e-6) else { panic!("20 points") };
        // Variance of 0..20 with n - 1 is 35; the direction's square is 5.25.
        assert!(near(of_line.size, (35.0f64 * 5.25).sqrt()) && near(of_line.rank, 1.0));
        for p in [2, 5, 7, 12] {
            let mut cross = vec![0.0; 2 * p * p];
            for axis in 0..p {
                cross[2 * axis * p + axis] = 1.0;
                cross[(2 * axis + 1) * p + axis] = -1.0;
            }
            let of_cross = dispersion(Points::new(&cross, p)?, 1e-6);
            let Some(Dispersion { size, rank }) = of_cross else { panic!("{p}") };
            assert!(near(rank, p as f64), "{p}: {rank}");
            assert!(near(size, (2.0 * p as f64 / (2.0 * p as f64 - 1.0)).sqrt()));
            // All of it is too small to count, but it is as large as it is.
            let small = dispersion(Points::new(&cross, p)?, 2.0);
            assert!(small.is_some_and(|small| small.rank == 0.0 && near(small.size, size)));
        }
        assert_eq!(dispersion(Points::new(&[1.0, 2.0], 2)?, 0.0), None);
        Ok(())
    }
}
