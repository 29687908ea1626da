//! One episode on the bench, with what several checks need worked out once and on first use.

mod clock;
mod following;
mod kind;
mod likeness;
mod trace;
mod whole;

use std::cell::OnceCell;

use crate::model::{Channels, Episode, Joint};
use crate::num::resample::Grid;

pub use clock::{Clock, Step};
pub use following::{
    Aligned, Following, LEAST_MOTION_M, LEAST_MOTION_RAD, METRES_A_RADIAN, range, too_little,
};
pub use kind::Kind;
pub use likeness::Likeness;
pub use trace::{Fit, Trace};

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
    kind: OnceCell<Option<Kind>>,
    likeness: OnceCell<Likeness>,
}

/// Least and greatest position of a joint: the follower's, and the leader's if there is one.
type Ranges = ((f32, f32), Option<(f32, f32)>);

impl<'a> Study<'a> {
    /// Puts an episode on the bench.
    pub fn new(episode: &'a Episode) -> Self {
        Self {
            episode,
            clock: OnceCell::new(),
            sums_finite: OnceCell::new(),
            filled: OnceCell::new(),
            grid: OnceCell::new(),
            following: OnceCell::new(),
            ranges: OnceCell::new(),
            kind: OnceCell::new(),
            likeness: OnceCell::new(),
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

    /// The steps of the clock.
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

    /// Least and greatest position of a joint's follower.
    pub fn state_range(&self, joint: usize) -> (f32, f32) {
        self.ranges()[joint].0
    }

    /// Least and greatest position of a joint's leader; `None` without a leader.
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
