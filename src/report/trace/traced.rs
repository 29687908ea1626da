//! What is drawn, and its joints as a person reads them.

use crate::model::{Episode, Scorecard};
use crate::report::number::significant;
use crate::report::text::count;
use crate::source::Input;

/// What is drawn.
#[derive(Debug)]
pub struct Traced<'a> {
    /// The episode.
    pub episode: &'a Episode,
    /// Its card.
    pub card: &'a Scorecard,
    /// Files that were read.
    pub inputs: &'a [Input],
    /// Joints to draw, in this order.
    pub joints: Vec<usize>,
    /// The time that is drawn, in seconds from the episode's start; all of it where not said.
    pub window_s: (Option<f64>, Option<f64>),
    /// Columns to write to, at smallest 80.
    pub width: usize,
    /// Whether the terminal has nothing but ASCII.
    pub ascii: bool,
    /// The command that gave this, as it can be pasted.
    pub command: &'a str,
}

/// A joint's values as a person reads them.
pub(super) struct Shown {
    pub name: String,
    pub unit: &'static str,
    pub leader: Vec<f64>,
    pub follower: Vec<f64>,
}

impl Traced<'_> {
    /// Degrees, or millimetres for a linear joint.
    pub(super) fn shown(&self, joint: usize) -> Shown {
        let described = self.episode.rig.joints.get(joint);
        let linear = described.is_some_and(|joint| joint.linear);
        let (unit, factor) =
            if linear { ("mm", 1e3) } else { ("deg", 180.0 / std::f64::consts::PI) };
        let human = |values: &[f32]| values.iter().map(|v| f64::from(*v) * factor).collect();
        let action = self.episode.action.as_ref().filter(|action| joint < action.joints());
        Shown {
            name: described.map_or_else(|| format!("j{joint}"), |joint| joint.name.clone()),
            unit,
            leader: action.map_or_else(Vec::new, |action| human(action.joint(joint))),
            follower: human(self.episode.state.joint(joint)),
        }
    }

    pub(in crate::report) fn heading(&self) -> String {
        let key = &self.card.key;
        let task = key.task.as_deref().map_or_else(String::new, |task| format!(", {task}"));
        let file = self.inputs.get(key.rows.input as usize).map_or_else(String::new, |input| {
            let last = key.rows.end.saturating_sub(1);
            format!(", {} rows {}-{last}", input.path.display(), key.rows.start)
        });
        let frames = count(self.card.frames as u64, "frame");
        format!("episode {}{task}: {frames}, {} s{file}", key.id, significant(self.card.duration_s))
    }
}

impl Shown {
    /// The minimum and maximum among these frames, with a little room; never nothing.
    pub(super) fn range(&self, frames: &std::ops::Range<usize>) -> (f64, f64) {
        let both = [&self.leader, &self.follower].into_iter();
        let values = both.flat_map(|values| values.get(frames.clone()).unwrap_or_default());
        let finite = values.copied().filter(|value| value.is_finite());
        let (low, high) = finite
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        if low > high {
            return (-1.0, 1.0);
        }
        // A joint at rest is drawn as a line in the middle, not as its noise.
        let smallest = if self.unit == "mm" { 1.0 } else { 0.5 };
        let room = ((smallest - (high - low)) / 2.0).max(0.0);
        (low - room, high + room)
    }
}
