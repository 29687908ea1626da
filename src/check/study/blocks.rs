//! Smallest and largest position of each joint over stretches of a tenth of a second: what "still"
//! means is asked of these, not of frames.

use super::basis::Basis;

/// Length of a block in seconds.
const BLOCK_S: f64 = 0.1;

/// Ranges of each joint, block by block.
#[derive(Debug)]
pub struct Blocks {
    /// Frames to a block; the last may be shorter.
    pub frames: usize,
    /// Length of a block in seconds.
    pub length_s: f64,
    /// Number of blocks.
    pub count: usize,
    follower: Vec<(f32, f32)>,
    leader: Vec<(f32, f32)>,
}

impl Blocks {
    /// `None` where no frame period is known.
    pub(super) fn of(basis: &Basis<'_>) -> Option<Self> {
        let period_s = basis.episode.rig.period_s;
        if !(period_s.is_finite() && period_s > 0.0) {
            return None;
        }
        let frames = (BLOCK_S / period_s).round().max(1.0) as usize;
        let ranges = |values: &[f32], into: &mut Vec<(f32, f32)>| match frames {
            // At common rates a block is a few frames: without a loop in the loop.
            2 => of_blocks::<2>(values, into),
            3 => of_blocks::<3>(values, into),
            5 => of_blocks::<5>(values, into),
            _ => into.extend(values.chunks(frames).map(ends)),
        };
        let (mut follower, mut leader) = (Vec::new(), Vec::new());
        for joint in 0..basis.joints().len() {
            ranges(basis.state(joint), &mut follower);
            if let Some(action) = basis.action(joint) {
                ranges(action, &mut leader);
            }
        }
        let count = basis.episode.frames().div_ceil(frames);
        Some(Self { frames, length_s: frames as f64 * period_s, count, follower, leader })
    }

    /// Smallest and largest position of the follower's joint in each block.
    pub fn follower(&self, joint: usize) -> &[(f32, f32)] {
        &self.follower[joint * self.count..(joint + 1) * self.count]
    }

    /// The same of the leader's; `None` without a leader.
    pub fn leader(&self, joint: usize) -> Option<&[(f32, f32)]> {
        self.leader.get(joint * self.count..(joint + 1) * self.count).filter(|b| !b.is_empty())
    }

    /// Number of blocks in this many seconds, at least one.
    pub fn in_seconds(&self, seconds: f64) -> usize {
        (seconds / self.length_s).round().max(1.0) as usize
    }
}

/// Ranges of blocks of so many frames.
fn of_blocks<const FRAMES: usize>(values: &[f32], into: &mut Vec<(f32, f32)>) {
    let (whole, rest) = values.as_chunks::<FRAMES>();
    into.extend(whole.iter().map(|block| ends(block)));
    into.extend((!rest.is_empty()).then(|| ends(rest)));
}

/// Smallest and largest of a few values.
fn ends(values: &[f32]) -> (f32, f32) {
    let first = values.first().copied().unwrap_or(0.0);
    values.iter().fold((first, first), |(low, high), v| {
        (if *v < low { *v } else { low }, if *v > high { *v } else { high })
    })
}

/// Peak to peak over some blocks.
pub fn spread(blocks: &[(f32, f32)]) -> f32 {
    let low = blocks.iter().fold(f32::INFINITY, |low, b| if b.0 < low { b.0 } else { low });
    let high = blocks.iter().fold(f32::NEG_INFINITY, |high, b| if b.1 > high { b.1 } else { high });
    if high > low { high - low } else { 0.0 }
}
