//! The recipe of the demo's session.

use super::fault::Fault;
use super::recipe::Recipe;

impl Recipe {
    /// The demo's session: 24 episodes at 30 Hz, 6 joints, degrees; ten of them with one fault
    /// each, one for every check that looks at an episode.
    pub fn nursery() -> Self {
        Self { seed: 20, episodes: 24, ..Self::default() }
            .with(Fault::DroppedFrames { share: 0.06, burst: 3 }, None, &[2])
            .with(Fault::RepeatedFrames { share: 0.02 }, None, &[4])
            .with(Fault::Jitter { share: 0.36 }, None, &[6])
            .with(Fault::ClockBackward { seconds: 0.4 }, None, &[8])
            .with(Fault::MissingValues { share: 0.02, run: 4 }, Some("wrist_pitch"), &[10])
            .with(Fault::LimitDwell { push_deg: 9.0, stop_deg: None }, Some("wrist_roll"), &[13])
            .with(Fault::DeadJoint, Some("waist"), &[15])
            .with(Fault::LagJoint { ms: 260.0 }, Some("elbow"), &[17])
            .with(Fault::LoadSurges { deg: 8.0 }, Some("waist"), &[19])
            .with(Fault::Outlier { reach: 2.6 }, None, &[22])
    }
}
