//! Numbers of one episode, channel by channel.

/// Joint values of one episode, joint-major: all frames of joint 0, then of joint 1, ….
///
/// Values are SI. A value that the table did not hold (null, NaN, infinite, or beyond the end of
/// a short vector) is `NaN` here: counted by the checks, never silently filled.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Channels {
    values: Vec<f32>,
    frames: usize,
    joints: usize,
}

impl Channels {
    /// Takes joint-major values.
    ///
    /// # Panics
    /// If `values.len() != frames * joints`.
    pub fn new(values: Vec<f32>, frames: usize, joints: usize) -> Self {
        assert_eq!(values.len(), frames * joints, "joint-major values must fill frames x joints");
        Self { values, frames, joints }
    }

    /// All frames of one joint.
    pub fn joint(&self, joint: usize) -> &[f32] {
        &self.values[joint * self.frames..(joint + 1) * self.frames]
    }

    /// Number of joints.
    pub fn joints(&self) -> usize {
        self.joints
    }

    /// Number of frames.
    pub fn frames(&self) -> usize {
        self.frames
    }

    /// All values, joint-major.
    pub fn values(&self) -> &[f32] {
        &self.values
    }

    /// Gives the buffer back for the next episode.
    pub fn into_values(self) -> Vec<f32> {
        self.values
    }
}
