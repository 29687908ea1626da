//! Points in several dimensions: where they lie, how they scatter, and how far one is off.

use nalgebra::{Cholesky, DMatrix, Dyn};

/// Why a scatter could not be had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ScatterError {
    /// Too few points for so many dimensions.
    #[error("{points} points are too few for {dimensions} dimensions")]
    TooFew {
        /// Points given.
        points: usize,
        /// Dimensions of each.
        dimensions: usize,
    },
    /// The points, or half of them, lie in a plane of fewer dimensions.
    #[error("the points lie in a plane of fewer than {dimensions} dimensions")]
    Singular {
        /// Dimensions of each point.
        dimensions: usize,
    },
    /// A coordinate is missing or infinite.
    #[error("a coordinate is not finite")]
    NotFinite,
}

/// Points of `dimensions` coordinates each, one after the other.
#[derive(Debug, Clone, Copy)]
pub struct Points<'a> {
    values: &'a [f64],
    dimensions: usize,
}

impl<'a> Points<'a> {
    /// Takes coordinates point by point; a last, incomplete point is left out.
    ///
    /// # Errors
    /// [`ScatterError::NotFinite`] if a coordinate is missing or infinite.
    pub fn new(values: &'a [f64], dimensions: usize) -> Result<Self, ScatterError> {
        let finite = values.iter().all(|v| v.is_finite());
        if finite { Ok(Self { values, dimensions }) } else { Err(ScatterError::NotFinite) }
    }

    /// Number of points.
    pub fn count(self) -> usize {
        self.values.len() / self.dimensions.max(1)
    }

    /// Number of coordinates of each.
    pub fn dimensions(self) -> usize {
        self.dimensions
    }

    /// One point.
    pub fn point(self, index: usize) -> &'a [f64] {
        &self.values[index * self.dimensions..(index + 1) * self.dimensions]
    }
}

/// Centre and scatter of a cloud of points.
#[derive(Debug, Clone, PartialEq)]
pub struct Scatter {
    /// Mean of the points it was made of.
    pub centre: Vec<f64>,
    /// Their covariance, n − 1, symmetric.
    pub covariance: DMatrix<f64>,
}

impl Scatter {
    /// Mean and covariance of the points with these indices.
    pub fn of(points: Points<'_>, chosen: &[usize]) -> Self {
        let p = points.dimensions();
        let n = chosen.len() as f64;
        let mut centre = vec![0.0; p];
        for &index in chosen {
            for (sum, value) in centre.iter_mut().zip(points.point(index)) {
                *sum += value;
            }
        }
        for sum in &mut centre {
            *sum /= n;
        }
        let mut covariance = DMatrix::zeros(p, p);
        let sums = covariance.as_mut_slice();
        // Of few dimensions the compiler makes straight code, if it knows how many there are.
        match p {
            2 => products::<2>(points, chosen, &centre, sums),
            3 => products::<3>(points, chosen, &centre, sums),
            4 => products::<4>(points, chosen, &centre, sums),
            5 => products::<5>(points, chosen, &centre, sums),
            6 => products::<6>(points, chosen, &centre, sums),
            _ => products_of_many(points, chosen, &centre, sums),
        }
        for row in 0..p {
            for column in 0..=row {
                let value = sums[row * p + column] / (n - 1.0);
                sums[row * p + column] = value;
                sums[column * p + row] = value;
            }
        }
        Self { centre, covariance }
    }

    /// Mean and covariance of all points.
    pub fn of_all(points: Points<'_>) -> Self {
        Self::of(points, &(0..points.count()).collect::<Vec<_>>())
    }

    /// The ruler for distances from the centre; `None` where the covariance is singular.
    pub fn ruler(&self) -> Option<Ruler> {
        // A pivot this small compared with its variance is rounding: the points lie in a plane.
        let cholesky = Cholesky::new(self.covariance.clone())?;
        let factor = cholesky.l_dirty();
        let p = self.centre.len();
        let flat = (0..p).any(|i| factor[(i, i)].powi(2) <= 1e-12 * self.covariance[(i, i)]);
        if flat { None } else { Some(Ruler::new(&self.centre, &cholesky)) }
    }
}

/// Adds up the products of the chosen points' coordinates about the centre.
fn products<const P: usize>(
    points: Points<'_>,
    chosen: &[usize],
    centre: &[f64],
    sums: &mut [f64],
) {
    let mut own = [[0.0; P]; P];
    let centre: [f64; P] = std::array::from_fn(|i| centre[i]);
    for &index in chosen {
        let point = &points.point(index)[..P];
        let residual: [f64; P] = std::array::from_fn(|i| point[i] - centre[i]);
        for (line, a) in own.iter_mut().zip(residual) {
            for (sum, b) in line.iter_mut().zip(residual) {
                *sum += a * b;
            }
        }
    }
    sums.copy_from_slice(own.as_flattened());
}

fn products_of_many(points: Points<'_>, chosen: &[usize], centre: &[f64], sums: &mut [f64]) {
    let p = points.dimensions();
    let mut residual = vec![0.0; p];
    for &index in chosen {
        for ((r, value), mean) in residual.iter_mut().zip(points.point(index)).zip(centre) {
            *r = value - mean;
        }
        for (row, a) in residual.iter().enumerate() {
            let line = &mut sums[row * p..=row * p + row];
            for (sum, b) in line.iter_mut().zip(&residual) {
                *sum += a * b;
            }
        }
    }
}

/// Measures squared Mahalanobis distances from a centre.
#[derive(Debug, Clone)]
pub struct Ruler {
    centre: Vec<f64>,
    /// Lower triangle of the covariance's Cholesky factor, row by row, its diagonal inverted.
    factor: Vec<f64>,
    log_determinant: f64,
}

impl Ruler {
    fn new(centre: &[f64], cholesky: &Cholesky<f64, Dyn>) -> Self {
        let lower = cholesky.l_dirty();
        let p = centre.len();
        let mut factor = Vec::with_capacity(p * (p + 1) / 2);
        let mut log_determinant = 0.0;
        for row in 0..p {
            factor.extend((0..row).map(|column| lower[(row, column)]));
            factor.push(1.0 / lower[(row, row)]);
            log_determinant += 2.0 * lower[(row, row)].ln();
        }
        Self { centre: centre.to_vec(), factor, log_determinant }
    }

    /// Logarithm of the covariance's determinant.
    pub fn log_determinant(&self) -> f64 {
        self.log_determinant
    }

    /// Squared distances of all points, one after the other, to `each`.
    pub fn measure(&self, points: Points<'_>, scratch: &mut [f64], each: impl FnMut(usize, f64)) {
        match points.dimensions() {
            2 => self.measure_few::<2>(points, each),
            3 => self.measure_few::<3>(points, each),
            4 => self.measure_few::<4>(points, each),
            5 => self.measure_few::<5>(points, each),
            6 => self.measure_few::<6>(points, each),
            _ => {
                let mut each = each;
                (0..points.count()).for_each(|i| each(i, self.squared(points.point(i), scratch)));
            }
        }
    }

    fn measure_few<const P: usize>(&self, points: Points<'_>, mut each: impl FnMut(usize, f64)) {
        let centre: [f64; P] = std::array::from_fn(|i| self.centre[i]);
        let mut factor = [[0.0; P]; P];
        let mut start = 0;
        for (row, line) in factor.iter_mut().enumerate() {
            line[..=row].copy_from_slice(&self.factor[start..=start + row]);
            start += row + 1;
        }
        for (index, point) in points.values.as_chunks::<P>().0.iter().enumerate() {
            let mut solved = [0.0; P];
            let mut sum = 0.0;
            for row in 0..P {
                let mut known = 0.0;
                for column in 0..row {
                    known += factor[row][column] * solved[column];
                }
                solved[row] = (point[row] - centre[row] - known) * factor[row][row];
                sum += solved[row] * solved[row];
            }
            each(index, sum);
        }
    }

    /// Squared distance of a point; `scratch` holds at least as many values as it has dimensions.
    pub fn squared(&self, point: &[f64], scratch: &mut [f64]) -> f64 {
        let mut start = 0;
        let mut sum = 0.0;
        for (row, (value, mean)) in point.iter().zip(&self.centre).enumerate() {
            let line = &self.factor[start..=start + row];
            let known: f64 = line[..row].iter().zip(&scratch[..row]).map(|(a, b)| a * b).sum();
            let solved = (value - mean - known) * line[row];
            scratch[row] = solved;
            sum += solved * solved;
            start += row + 1;
        }
        sum
    }

    /// Squared distances of all points.
    pub fn squared_all(&self, points: Points<'_>) -> Vec<f64> {
        let mut scratch = vec![0.0; points.dimensions()];
        let mut all = Vec::with_capacity(points.count());
        self.measure(points, &mut scratch, |_, squared| all.push(squared));
        all
    }
}
