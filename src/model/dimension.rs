//! A row of the table that a trainer normalises with.

/// Smallest useful standard deviation of a dimension, in radians or metres: 0.1 degrees.
pub const MIN_STD: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// Where the ends are this many times as far apart as the 1 % and 99 % quantiles, few frames set
/// them.
const FAR: f64 = 5.0;
/// Beyond this the ends matter to anybody: 10 degrees.
const MATTERS: f64 = 10.0 * std::f64::consts::PI / 180.0;

/// One dimension of the state or the action over a dataset, in radians or metres.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// Whether it is the leader's (action) or the follower's (state).
    pub leader: bool,
    /// The joint's place in the rig.
    pub joint: usize,
    /// Mean over all frames.
    pub mean: f64,
    /// Standard deviation, divided by the number of frames.
    pub std: f64,
    /// Minimum of all frames.
    pub min: f64,
    /// Largest.
    pub max: f64,
    /// 1 % quantile.
    pub low: f64,
    /// 99 % quantile.
    pub high: f64,
}

impl Dimension {
    /// Why normalising by this row would mislead; `None` if it would not. `min_std` is the standard deviation
    /// below which a dimension counts as constant.
    pub fn warning(&self, min_std: f64) -> Option<&'static str> {
        let range = self.max - self.min;
        if self.std < min_std.max(1e-4 * range) {
            Some("constant: divided by its deviation, noise fills the scale")
        } else if range > FAR * (self.high - self.low) && range > MATTERS {
            Some("its ends are set by a few frames: scaled to them, the rest is squeezed")
        } else {
            None
        }
    }
}
