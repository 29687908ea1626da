//! Lays one episode's poses over another's.

use crate::model::{Motion, POSES};

/// Share of the longer episode that must be in both.
const OVERLAP: f64 = 0.6;
/// Steps of the first search to the time between two poses.
const FINE: f64 = 2.0;
/// Of the poses, the first search looks at every so many-th.
const COARSE: usize = 6;
/// Shifts that the first search leaves to look at closely.
const LEFT: usize = 3;
/// Rounds in which the best shift is narrowed down, each to half; the first ones look at few poses.
const ROUNDS: usize = 9;
const ROUGH: usize = 3;
/// After these the shift is good to some 20 ms, and a copy differs by less than this much more than
/// it may in the end: a degree.
const BEYOND: f64 = std::f64::consts::PI / 180.0;

/// Below this share of the limit two episodes are copies whatever else they are like.
pub(super) const SURE: f64 = 0.1;

/// An episode's poses, pose by pose, with its length in seconds.
pub(super) struct Timed {
    joints: usize,
    poses: Vec<f32>,
    duration_s: f64,
}

impl Timed {
    pub fn of(motion: &Motion<'_>, duration_s: f64) -> Self {
        let joints = motion.joints;
        let mut poses = vec![f32::NAN; POSES * joints];
        for joint in 0..joints {
            let into = poses[joint..].iter_mut().step_by(joints);
            into.zip(motion.followers(joint)).for_each(|(to, value)| *to = value);
        }
        Self { joints, poses, duration_s }
    }

    fn step_s(&self) -> f64 {
        self.duration_s / (POSES - 1) as f64
    }

    fn pose(&self, at: usize) -> &[f32] {
        &self.poses[at * self.joints..(at + 1) * self.joints]
    }

    /// Sum of squares of the difference between a pose and this motion at a time, between poses a
    /// cubic through the four nearest (Lagrange); with the number of joints that both have.
    fn squares(&self, pose: &[f32], time_s: f64) -> (f32, usize) {
        let place = time_s / self.step_s();
        let first = (place.floor() as isize - 1).clamp(0, POSES as isize - 4) as usize;
        let x = (place - first as f64) as f32;
        let (a, b, c, d) = (x, x - 1.0, x - 2.0, x - 3.0);
        let weights = [-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0];
        let near = [0, 1, 2, 3].map(|i| self.pose(first + i));
        let (mut sum, mut count) = (0.0, 0);
        for (joint, own) in pose.iter().enumerate() {
            let at: f32 = weights.iter().zip(near).map(|(w, pose)| w * pose[joint]).sum();
            let difference = at - own;
            if difference.is_finite() {
                sum += difference * difference;
                count += 1;
            }
        }
        (sum, count)
    }

    /// Root mean square of the difference at every so many-th pose of `other`, which began
    /// `shift_s` later, as far as they are in both; infinite if that is too little, or as soon as it
    /// is clear that the difference is beyond `most`.
    fn difference(&self, other: &Self, shift_s: f64, every: usize, most: f64) -> f64 {
        let longer = self.duration_s.max(other.duration_s);
        let (from, to) = ((-shift_s).max(0.0), (self.duration_s - shift_s).min(other.duration_s));
        // A hair of time is lost to rounding where nothing is cut.
        if to - from < OVERLAP * longer - 1e-9 {
            return f64::INFINITY;
        }
        let step_s = other.step_s();
        let first = (from / step_s - 1e-6).ceil().max(0.0) as usize;
        let last = ((to / step_s + 1e-6).floor() as usize).min(POSES - 1);
        // A hair more than all of them may add up to, lest rounding decide.
        let poses = last.saturating_sub(first) / every + 1;
        let enough = most * most * (poses * self.joints) as f64 * (1.0 + 1e-9);
        let (mut sum, mut count) = (0.0, 0usize);
        for at in (first..=last).step_by(every) {
            let (squares, joints) = self.squares(other.pose(at), at as f64 * step_s + shift_s);
            sum += f64::from(squares);
            count += joints;
            if sum > enough {
                return f64::INFINITY;
            }
        }
        if count > 0 { (sum / count as f64).sqrt() } else { f64::INFINITY }
    }
}

/// Least difference of two motions over all shifts in time, in radians; infinite if none leaves
/// enough of both, or if it is soon clear that they differ by more than `limit`.
pub(super) fn least_difference(a: &Timed, b: &Timed, limit: f64) -> f64 {
    // The shorter one's poses are the closer ones in time, and are taken as they are.
    let (longer, shorter) = if a.duration_s >= b.duration_s { (a, b) } else { (b, a) };
    let most_s = (1.0 - OVERLAP) * longer.duration_s;
    let least_s = OVERLAP * longer.duration_s - shorter.duration_s;
    if a.joints != b.joints || !(shorter.duration_s > 0.0 && least_s <= 0.0) {
        return f64::INFINITY;
    }
    // Most copies are whole: no better shift is looked for.
    let whole = longer.difference(shorter, 0.0, 1, limit);
    if whole < limit {
        return whole;
    }
    let step_s = longer.step_s() / FINE;
    let along = ((least_s / step_s) as i64..=(most_s / step_s) as i64).map(|i| i as f64 * step_s);
    // Both ends held: nothing cut in front, nothing cut behind.
    let ends = [0.0, longer.duration_s - shorter.duration_s];
    let mut shifts = [(f64::INFINITY, f64::NAN); LEFT];
    for shift_s in along {
        let difference = longer.difference(shorter, shift_s, COARSE, shifts[LEFT - 1].0);
        let at = shifts.partition_point(|known| known.0 <= difference);
        if at < LEFT {
            shifts[at..].rotate_right(1);
            shifts[at] = (difference, shift_s);
        }
    }
    let shifts = shifts.into_iter().filter(|shift| shift.0.is_finite());
    let mut near: Vec<f64> = shifts.map(|shift| shift.1).chain(ends).collect();
    near.sort_by(f64::total_cmp);
    near.dedup();
    near.into_iter()
        .map(|shift_s| closely(longer, shorter, shift_s, step_s, limit))
        .fold(f64::INFINITY, f64::min)
}

/// Least difference around a shift.
fn closely(longer: &Timed, shorter: &Timed, shift_s: f64, step_s: f64, limit: f64) -> f64 {
    let mut every = COARSE;
    let (mut best, mut width_s) =
        ((longer.difference(shorter, shift_s, every, f64::INFINITY), shift_s), step_s / 2.0);
    for round in 0..ROUNDS {
        if round == ROUGH {
            if best.0 > 4.0 * limit + BEYOND {
                return f64::INFINITY;
            }
            every = 1;
            best.0 = longer.difference(shorter, best.1, every, f64::INFINITY);
        }
        let around = best.1;
        for shift_s in [around - width_s, around + width_s] {
            let difference = longer.difference(shorter, shift_s, every, best.0);
            if difference < best.0 {
                best = (difference, shift_s);
            }
        }
        width_s /= 2.0;
    }
    best.0
}
