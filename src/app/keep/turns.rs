//! Where the zero of a joint can lie: in the middle of the largest range of angles that it never
//! enters.

use std::f64::consts::{PI, TAU};

/// Ranges that a turn is divided into: half a degree each.
const BINS: usize = 720;
/// Two middles that are as near to zero, within rounding.
const EVEN: f64 = 0.02;
/// The range that is never entered must be this wide: ten degrees.
const NEEDED: usize = 20;

/// Angles that a joint was seen at.
#[derive(Debug, Clone)]
pub(super) struct Seen(Vec<bool>);

impl Default for Seen {
    fn default() -> Self {
        Self(vec![false; BINS])
    }
}

impl Seen {
    /// Notes angles; what is no number is none.
    pub fn add(&mut self, angles: &[f32]) {
        for angle in angles.iter().filter(|angle| angle.is_finite()) {
            let turn = f64::from(*angle).rem_euclid(TAU) / TAU;
            self.0[((turn * BINS as f64) as usize).min(BINS - 1)] = true;
        }
    }

    /// Adds what others saw.
    pub fn merge(&mut self, other: &Self) {
        self.0.iter_mut().zip(&other.0).for_each(|(own, other)| *own |= other);
    }

    /// The smallest angle of a turn in which the joint has no jumps; none where it was seen nearly
    /// everywhere. Of all such turns the one whose middle is nearest to zero.
    pub fn start(&self) -> Option<f64> {
        let begin = self.0.iter().position(|seen| *seen)?;
        let (mut longest, mut length) = ((0, 0), 0);
        for step in 1..=BINS {
            if self.0[(begin + step) % BINS] {
                length = 0;
                continue;
            }
            length += 1;
            if length > longest.0 {
                longest = (length, begin + step);
            }
        }
        let (length, last) = longest;
        if length < NEEDED {
            return None;
        }
        let middle = (last as f64 + 1.0 - length as f64 / 2.0) / BINS as f64 * TAU;
        // Half a turn either way is as near: the one with positive angles is taken.
        let centre = (middle + TAU - EVEN).rem_euclid(TAU) - PI + EVEN;
        Some(centre - PI)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn start_deg(degrees: impl IntoIterator<Item = f64>) -> Option<f64> {
        let mut seen = Seen::default();
        let angles: Vec<f32> = degrees.into_iter().map(|d| d.to_radians() as f32).collect();
        seen.add(&angles);
        seen.start().map(f64::to_degrees)
    }

    #[test]
    fn the_zero_lies_where_the_joint_never_is() {
        // 150 to 210 degrees, as the encoder gives them.
        let wrapped = (150..=210).map(|d| f64::from(if d >= 180 { d - 360 } else { d }));
        let start = start_deg(wrapped).unwrap_or(f64::NAN);
        assert!(start.abs() < 1.0, "{start}");
        let usual = start_deg((-60..=100).map(f64::from)).unwrap_or(f64::NAN);
        assert!((usual + 160.0).abs() < 1.0, "{usual}");
        assert_eq!(start_deg((0..720).map(|half| f64::from(half) / 2.0 + 0.1)), None);
        assert_eq!(start_deg([f64::NAN]), None);
    }
}
