//! What stays of an episode's motion when its frames are gone: enough to find copies and to compare
//! poses and ranges, in about a kilobyte.

use std::borrow::Cow;

use pulp::{cast, f64x4};
use xxhash_rust::xxh3::Xxh3;

use super::channels::Channels;
use super::episode::Episode;
use crate::num::wide::{eight_fn, eight_from};

/// Poses kept of the follower, evenly spaced in time from the first frame to the last.
pub const POSES: usize = 49;
/// Of these, every so many-th has the leader's with it.
pub const LEADER_EVERY: usize = 3;
/// Poses kept of the leader.
pub const LEADER_POSES: usize = (POSES - 1) / LEADER_EVERY + 1;

/// Largest level of a stored value; one beyond it stands for a missing value.
const LEVELS: f32 = 65_534.0;
const MISSING: u16 = u16::MAX;

/// Mean, standard deviation, minimum and maximum of one dimension over an episode's frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Mean of the finite values, in the channel's unit; `NaN` where there are none.
    pub mean: f32,
    /// Standard deviation, divided by their number.
    pub std: f32,
    /// Minimum.
    pub min: f32,
    /// Largest.
    pub max: f32,
}

/// The motion of one episode, sketched from its frames.
#[derive(Debug, Clone, PartialEq)]
pub struct Sketch {
    content: u64,
    joints: usize,
    moments: Vec<Moments>,
    levels: Vec<u16>,
}

/// The motion of one episode, to read in; borrowed from a sketch or from the ledger.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion<'a> {
    /// Hash of every state and action value, bit for bit: equal for copies of one recording,
    /// whatever their stamps.
    pub content: u64,
    /// Joints of the follower.
    pub joints: usize,
    /// Moments: the follower's joints, then the leader's where there is one.
    pub moments: &'a [Moments],
    /// Follower's poses, joint-major, then the leader's: levels between the dimension's ends.
    pub levels: &'a [u16],
}

impl Motion<'_> {
    /// Whether the leader is there too.
    pub fn has_leader(&self) -> bool {
        self.moments.len() > self.joints
    }

    /// The follower's position at pose `at` of [`POSES`]; `NaN` where it is missing.
    pub fn follower(&self, joint: usize, at: usize) -> f32 {
        self.value(joint, self.levels[joint * POSES + at])
    }

    /// All positions of a joint of the follower, as [`Self::follower`] gives them one by one.
    pub fn followers(&self, joint: usize) -> [f32; POSES] {
        let mut values = [f32::NAN; POSES];
        let levels = &self.levels[joint * POSES..(joint + 1) * POSES];
        let Moments { min, max, .. } = self.moments[joint];
        for (value, level) in values.iter_mut().zip(levels) {
            let there = min + (max - min) * (f32::from(*level) / LEVELS);
            *value = if *level == MISSING { f32::NAN } else { there };
        }
        values
    }

    /// The leader's position at pose `at` of [`LEADER_POSES`], recorded with the follower's at
    /// `at * LEADER_EVERY`; `NaN` where it is missing or there is no leader.
    pub fn leader(&self, joint: usize, at: usize) -> f32 {
        let start = self.joints * POSES + joint * LEADER_POSES;
        self.levels
            .get(start + at)
            .map_or(f32::NAN, |level| self.value(self.joints + joint, *level))
    }

    fn value(&self, dimension: usize, level: u16) -> f32 {
        let Moments { min, max, .. } = self.moments[dimension];
        if level == MISSING {
            return f32::NAN;
        }
        min + (max - min) * (f32::from(level) / LEVELS)
    }
}

impl Sketch {
    /// Sketches an episode.
    pub fn of(episode: &Episode) -> Self {
        let joints = episode.state.joints();
        let leader = episode.action.as_ref().filter(|action| action.joints() == joints);
        let mut sketch = Self {
            content: content(&episode.state, episode.action.as_ref()),
            joints,
            moments: Vec::with_capacity(2 * joints),
            levels: Vec::with_capacity(joints * (POSES + LEADER_POSES)),
        };
        let places = places(episode);
        for joint in 0..joints {
            sketch.draw(episode.state.joint(joint), &places, 1);
        }
        if let Some(leader) = leader {
            for joint in 0..joints {
                sketch.draw(leader.joint(joint), &places, LEADER_EVERY);
            }
        }
        sketch
    }

    /// Puts a sketch together from the stored parts of a [`Motion`]; `None` if they do not fit one another.
    pub fn from_parts(
        content: u64,
        joints: usize,
        moments: Vec<Moments>,
        levels: Vec<u16>,
    ) -> Option<Self> {
        let follower = joints * POSES;
        let fits = (moments.len() == joints && levels.len() == follower)
            || (moments.len() == 2 * joints && levels.len() == follower + joints * LEADER_POSES);
        fits.then_some(Self { content, joints, moments, levels })
    }

    /// To read in.
    pub fn motion(&self) -> Motion<'_> {
        Motion {
            content: self.content,
            joints: self.joints,
            moments: &self.moments,
            levels: &self.levels,
        }
    }

    fn draw(&mut self, values: &[f32], places: &[(u32, f32)], every: usize) {
        let moments = Moments::of(values);
        let scale =
            if moments.max > moments.min { LEVELS / (moments.max - moments.min) } else { 0.0 };
        let before = self.levels.len();
        self.levels.extend(places.iter().step_by(every).map(|&(row, weight)| {
            let left = values[row as usize];
            let right = if weight > 0.0 { values[row as usize + 1] } else { left };
            let value = left + weight * (right - left);
            if value.is_finite() {
                ((value - moments.min) * scale).round().clamp(0.0, LEVELS) as u16
            } else {
                MISSING
            }
        }));
        // An episode without frames has no places.
        self.levels.resize(before + (POSES - 1) / every + 1, MISSING);
        self.moments.push(moments);
    }
}

impl Moments {
    /// Of the finite values.
    pub fn of(values: &[f32]) -> Self {
        let finite: Cow<'_, [f32]> = if values.iter().all(|v| v.is_finite()) {
            Cow::Borrowed(values)
        } else {
            Cow::Owned(values.iter().copied().filter(|v| v.is_finite()).collect())
        };
        let Some(&first) = finite.first() else {
            let nan = f32::NAN;
            return Self { mean: nan, std: nan, min: nan, max: nan };
        };
        let (rest, [mut sum, mut square], (mut low, mut high)) = sums(&finite, first);
        for &value in rest {
            let from_first = f64::from(value - first);
            sum += from_first;
            square += from_first * from_first;
            low = low.min(value);
            high = high.max(value);
        }
        let n = finite.len() as f64;
        let mean = sum / n;
        let std = (square / n - mean * mean).max(0.0).sqrt();
        Self { mean: (f64::from(first) + mean) as f32, std: std as f32, min: low, max: high }
    }
}

eight_fn! {
    /// Sums of the values less the first and of their squares, and minimum and maximum: over whole
    /// sixteens, with what is left behind them.
    fn sums<'a>(simd, values: &'a [f32], first: f32) -> (&'a [f32], [f64; 2], (f32, f32)) {
        let (chunks, rest) = values.as_chunks::<16>();
        let (firsts, zero) = (simd.splat_f32s(first), simd.splat_f64s(0.0));
        let (mut sums, mut squares) = ([zero; 4], [zero; 4]);
        let (mut least, mut most) = ([firsts; 2], [firsts; 2]);
        for chunk in chunks {
            for half in 0..2 {
                let value = eight_from(chunk, 8 * half);
                // From the first value, so that a standard deviation far smaller than the mean keeps its digits.
                let from_first = simd.doubled(simd.sub_f32s(value, firsts));
                for part in 0..2 {
                    let (at, from_first) = (2 * half + part, from_first[part]);
                    sums[at] = simd.add_f64s(sums[at], from_first);
                    let squared = simd.mul_f64s(from_first, from_first);
                    squares[at] = simd.add_f64s(squares[at], squared);
                }
                let less = simd.less_than_f32s(value, least[half]);
                least[half] = simd.select_f32s(less, value, least[half]);
                let more = simd.greater_than_f32s(value, most[half]);
                most[half] = simd.select_f32s(more, value, most[half]);
            }
        }
        let total = |sums: [f64x4; 4]| cast::<_, [f64; 16]>(sums).iter().sum::<f64>();
        let (least, most): ([f32; 16], [f32; 16]) = (cast(least), cast(most));
        let ends = (0..16).fold((first, first), |(low, high), lane| {
            (low.min(least[lane]), high.max(most[lane]))
        });
        (rest, [total(sums), total(squares)], ends)
    }
}

/// Frame before each pose, and how far the pose lies towards the next frame.
fn places(episode: &Episode) -> Vec<(u32, f32)> {
    let frames = episode.frames();
    if frames == 0 {
        return Vec::new();
    }
    let time_s = &episode.time_s;
    let ordered = time_s.windows(2).all(|pair| pair[1] > pair[0]);
    if !ordered {
        // No clock to go by: evenly over the frames.
        let step = (frames - 1) as f64 / (POSES - 1) as f64;
        return (0..POSES).map(|k| between(k as f64 * step, frames)).collect();
    }
    let (start, length) = (time_s[0], time_s[frames - 1] - time_s[0]);
    let mut row = 0;
    let place = |k: usize| {
        let at = start + length * k as f64 / (POSES - 1) as f64;
        while row + 2 < frames && time_s[row + 1] <= at {
            row += 1;
        }
        if frames == 1 {
            return (0, 0.0);
        }
        let weight = (at - time_s[row]) / (time_s[row + 1] - time_s[row]);
        (row as u32, weight.clamp(0.0, 1.0) as f32)
    };
    (0..POSES).map(place).collect()
}

fn between(at: f64, frames: usize) -> (u32, f32) {
    let row = (at.floor() as usize).min(frames.saturating_sub(2));
    if frames == 1 { (0, 0.0) } else { (row as u32, (at - row as f64) as f32) }
}

/// Hash of all values: a hash that is stable for good, since it is stored in files.
fn content(state: &Channels, action: Option<&Channels>) -> u64 {
    let mut hasher = Xxh3::new();
    let mut bytes = [0u8; 4096];
    for channels in std::iter::once(state).chain(action) {
        hasher.update(&(channels.frames() as u64).to_le_bytes());
        hasher.update(&(channels.joints() as u64).to_le_bytes());
        for values in channels.values().chunks(bytes.len() / 4) {
            for (four, value) in bytes.as_chunks_mut::<4>().0.iter_mut().zip(values) {
                *four = value.to_bits().to_le_bytes();
            }
            hasher.update(&bytes[..4 * values.len()]);
        }
    }
    hasher.digest()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::model::{AngleUnit, ClockStorage, EpisodeKey, Extras, Rig, RowRange};

    fn episode(time_s: Vec<f64>, follower: impl Fn(f64) -> f32) -> Episode {
        let frames = time_s.len();
        let values: Vec<f32> = time_s.iter().map(|t| follower(*t)).collect();
        let rig = Rig {
            joints: Vec::new(),
            rate_hz: None,
            period_s: 0.1,
            clock: ClockStorage::None,
            unit: AngleUnit::Radian,
            unit_declared: false,
            ..Rig::default()
        };
        let rows = RowRange { input: 0, start: 0, end: frames as u64 };
        Episode {
            key: EpisodeKey {
                id: "1".into(),
                index: 0.into(),
                task: None,
                rows,
                labels: Vec::new(),
            },
            rig: Arc::new(rig),
            time_s,
            action: Some(Channels::new(values.iter().map(|v| v + 1.0).collect(), frames, 1)),
            state: Channels::new(values, frames, 1),
            ragged_rows: 0,
            extras: Extras::default(),
        }
    }

    #[test]
    fn poses_are_even_in_time_and_moments_those_of_a_line() {
        // Uneven stamps: the line is still sampled evenly in time.
        let time_s: Vec<f64> =
            (0..=200).map(|i| 5.0 + (f64::from(i) / 200.0).powi(2) * 8.0).collect();
        let sketch = Sketch::of(&episode(time_s, |t| (t - 5.0) as f32));
        for at in 0..POSES {
            let want = 8.0 * at as f32 / (POSES - 1) as f32;
            assert!((sketch.motion().follower(0, at) - want).abs() < 2e-4, "{at}");
        }
        for at in 0..LEADER_POSES {
            let follower = sketch.motion().follower(0, at * LEADER_EVERY);
            assert!((sketch.motion().leader(0, at) - follower - 1.0).abs() < 5e-4, "{at}");
        }
        let even = Moments::of(&(0..1001).map(|i| 1e4 + i as f32).collect::<Vec<_>>());
        assert_eq!((even.mean, even.min, even.max), (10_500.0, 10_000.0, 11_000.0));
        assert!((f64::from(even.std) - ((1001f64.powi(2) - 1.0) / 12.0).sqrt()).abs() < 1e-3);
    }

    #[test]
    fn a_copy_has_the_same_content_whatever_its_stamps_and_one_bit_more_has_not() {
        let even = |shift: f64| (0..100).map(|i| shift + f64::from(i) * 0.01).collect::<Vec<f64>>();
        let ramp = |_: f64| 0.25;
        let first = Sketch::of(&episode(even(0.0), ramp));
        assert_eq!(first.content, Sketch::of(&episode(even(7.0), ramp)).content);
        let mut other = episode(even(0.0), ramp);
        let mut values = other.state.clone().into_values();
        values[50] = f32::from_bits(values[50].to_bits() + 1);
        other.state = Channels::new(values, 100, 1);
        assert_ne!(first.content, Sketch::of(&other).content);
    }

    #[test]
    fn missing_values_stay_missing_and_odd_clocks_do_no_harm() {
        let nan = Sketch::of(&episode(vec![0.0, 1.0, 2.0], |_| f32::NAN));
        assert!(nan.motion().follower(0, 3).is_nan() && nan.moments[0].mean.is_nan());
        for time_s in [vec![], vec![3.0], vec![1.0, 0.0, f64::NAN, 1.0]] {
            let frames = time_s.len();
            let sketch = Sketch::of(&episode(time_s, |_| 0.5));
            let ends = (sketch.motion().follower(0, 48), sketch.motion().leader(0, 16));
            assert!(if frames > 0 { ends == (0.5, 1.5) } else { ends.0.is_nan() });
        }
    }
}
