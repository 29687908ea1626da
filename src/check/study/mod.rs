//! One episode on the rig, with what several checks need worked out once and on first use.

mod blocks;
mod clock;
mod following;
mod kind;
mod likeness;
mod motion;
mod steps;
mod trace;
mod traces;
mod whole;

use std::cell::OnceCell;

use crate::model::{Channels, Episode, Joint};
use crate::num::resample::Grid;

pub use blocks::{Blocks, spread};
pub use clock::Clock;
pub use following::{
    Aligned, Following, LEAST_MOTION_M, LEAST_MOTION_RAD, METRES_A_RADIAN, range, too_little,
};
pub use kind::Kind;
pub use likeness::Likeness;
pub use motion::{Motion, chord, weight};
pub use steps::Steps;
pub use trace::{Fit, Trace};
pub use traces::Traced;

/// Least size that counts as a sensor's count where the data shows no grid: 0.03 degrees.
const SMALLEST_COUNT_RAD: f64 = 0.0005;

/// An episode, and what several checks need of it.
#[derive(Debug)]
pub struct Study<'a> {
    /// The episode.
    pub episode: &'a Episode,
    clock: OnceCell<Clock>,
    sums_finite: OnceCell<bool>,
    filled: OnceCell<(Channels, Option<Channels>)>,
    grid: OnceCell<Option<Grid>>,
    following: OnceCell<Following>,
    ranges: OnceCell<Vec<Ranges>>,
    traces: OnceCell<Vec<Option<Traced>>>,
    kind: OnceCell<Option<Kind>>,
    likeness: OnceCell<Likeness>,
    steps: OnceCell<Steps>,
    blocks: OnceCell<Option<Blocks>>,
    motion: OnceCell<Option<Motion>>,
}

/// Least and largest position of a joint: the follower's, and the leader's if there is one.
type Ranges = ((f32, f32), Option<(f32, f32)>);

impl<'a> Study<'a> {
    /// Puts an episode on the rig.
    pub fn new(episode: &'a Episode) -> Self {
        Self {
            episode,
            clock: OnceCell::new(),
            sums_finite: OnceCell::new(),
            filled: OnceCell::new(),
            grid: OnceCell::new(),
            following: OnceCell::new(),
            ranges: OnceCell::new(),
            traces: OnceCell::new(),
            kind: OnceCell::new(),
            likeness: OnceCell::new(),
            steps: OnceCell::new(),
            blocks: OnceCell::new(),
            motion: OnceCell::new(),
        }
    }

    /// Joints of the rig.
    pub fn joints(&self) -> &'a [Joint] {
        &self.episode.rig.joints
    }

    /// One count of a joint's sensor in radians (metres), never below a floor that keeps "three
    /// counts" meaningful on data without a grid.
    pub fn count(&self, joint: usize) -> f64 {
        self.joints()[joint].count.max(SMALLEST_COUNT_RAD)
    }

    /// A size of the joint's motion given in degrees, in the joint's unit: radians, or for a linear
    /// joint metres at 2 mm to the degree.
    pub fn size(&self, joint: usize, degrees: f64) -> f64 {
        if self.joints()[joint].linear { 0.002 * degrees } else { degrees.to_radians() }
    }

    /// The larger of so many counts and so many degrees, in the joint's unit.
    pub fn at_least(&self, joint: usize, counts: f64, degrees: f64) -> f64 {
        (counts * self.count(joint)).max(self.size(joint, degrees))
    }

    /// Frame period in seconds, if known.
    pub fn period_s(&self) -> Option<f64> {
        Some(self.episode.rig.period_s).filter(|period_s| period_s.is_finite() && *period_s > 0.0)
    }

    /// Largest step of each joint.
    pub fn steps(&self) -> &Steps {
        self.steps.get_or_init(|| Steps::of(self))
    }

    /// Ranges over blocks of a tenth of a second; `None` where no period is known.
    pub fn blocks(&self) -> Option<&Blocks> {
        self.blocks.get_or_init(|| Blocks::of(self)).as_ref()
    }

    /// Speed in joint space and stretches of motion; `None` on too few frames or without a period.
    pub fn motion(&self) -> Option<&Motion> {
        self.motion.get_or_init(|| Motion::of(self)).as_ref()
    }

    /// The jumps.
    pub fn clock(&self) -> &Clock {
        self.clock.get_or_init(|| Clock::of(self.episode))
    }

    /// Whether no joint value is missing. A sum is finite only if all its terms are, which the
    /// compiler turns into one pass of vector code.
    pub fn is_complete(&self) -> bool {
        *self.sums_finite.get_or_init(|| {
            let whole = |c: &Channels| (0..c.joints()).all(|j| whole::is_finite(c.joint(j)));
            whole(&self.episode.state) && self.episode.action.as_ref().is_none_or(whole)
        })
    }

    /// Follower positions with missing values bridged by straight lines; a joint without any
    /// value is zero throughout.
    pub fn state(&self, joint: usize) -> &[f32] {
        if self.is_complete() {
            self.episode.state.joint(joint)
        } else {
            self.filled().0.joint(joint)
        }
    }

    /// Leader positions with missing values bridged; `None` without a leader.
    pub fn action(&self, joint: usize) -> Option<&[f32]> {
        if self.is_complete() {
            self.episode.action.as_ref().map(|a| a.joint(joint))
        } else {
            self.filled().1.as_ref().map(|a| a.joint(joint))
        }
    }

    fn filled(&self) -> &(Channels, Option<Channels>) {
        self.filled.get_or_init(|| {
            let action = self.episode.action.as_ref();
            (whole::bridged(&self.episode.state), action.map(whole::bridged))
        })
    }

    /// Least and largest position of a joint's follower.
    pub fn state_range(&self, joint: usize) -> (f32, f32) {
        self.ranges()[joint].0
    }

    /// Least and largest position of a joint's leader; `None` without a leader.
    pub fn action_range(&self, joint: usize) -> Option<(f32, f32)> {
        self.ranges()[joint].1
    }

    fn ranges(&self) -> &[Ranges] {
        self.ranges.get_or_init(|| {
            let of = |joint| (range(self.state(joint)), self.action(joint).map(range));
            (0..self.joints().len()).map(of).collect()
        })
    }

    /// The uniform grid on which leader and follower are compared: over the stamps if they can be
    /// used, else over the row number at the dataset's period; `None` if no period is known.
    pub fn grid(&self) -> Option<&Grid> {
        let made = self.grid.get_or_init(|| {
            let (period_s, frames) = (self.episode.rig.period_s, self.episode.frames());
            if !(period_s.is_finite() && period_s > 0.0) || frames < 2 {
                return None;
            }
            let by_stamp = if self.clock().too_coarse() {
                None
            } else {
                Grid::over(&self.episode.time_s, period_s, 3.5 * period_s)
            };
            // Far more points than rows means that the stamps cannot be right.
            let sane = by_stamp.filter(|grid| grid.points() <= 4 * frames + 1000);
            Some(sane.unwrap_or_else(|| Grid::of_index(frames, period_s)))
        });
        made.as_ref()
    }

    /// Leader and follower of each joint side by side with the lag taken out, and the fit through
    /// what is left; `None` for a gripper.
    pub fn traces(&self, search_s: f64) -> &[Option<Traced>] {
        self.traces.get_or_init(|| traces::traces(self, search_s))
    }

    /// How the follower follows: lag and lag-aligned error of each joint.
    pub fn following(&self, search_s: f64) -> &Following {
        self.following.get_or_init(|| Following::of(self, search_s))
    }

    /// What kind of thing the leader's column holds; `None` without one, or without motion.
    pub fn kind(&self) -> Option<&Kind> {
        self.kind.get_or_init(|| Kind::of(self)).as_ref()
    }

    /// Why follower and leader cannot be compared, if so.
    pub fn no_leader(&self) -> Option<&'static str> {
        if self.episode.action.is_none() {
            Some("no leader column")
        } else if self.grid().is_none() {
            Some("no frame period")
        } else if self.kind().is_some_and(Kind::is_delta) {
            Some("the action is a change of position, not a position")
        } else {
            None
        }
    }

    /// How like each leader joint is to each follower joint, at the overall lag.
    pub fn likeness(&self, search_s: f64) -> &Likeness {
        self.likeness.get_or_init(|| Likeness::of(self, search_s))
    }
}
