//! An episode with its clock, its grid and its values without gaps: what all the rest is worked out from.

use std::cell::OnceCell;

use super::clock::Clock;
use super::ends::ends;
use super::path::{Rates, paths};
use super::range::range;
use super::whole;
use crate::model::{ActionKind, Channels, Episode, Joint};
use crate::num::resample::Grid;

/// Smallest size that counts as a sensor's count where the data shows no grid: 0.03 degrees.
const SMALLEST_COUNT_RAD: f64 = 0.0005;

/// An episode, its clock, its grid, and its values with the missing ones filled in.
#[derive(Debug)]
pub struct Basis<'a> {
    /// The episode.
    pub episode: &'a Episode,
    clock: OnceCell<Clock>,
    sums_finite: OnceCell<bool>,
    filled: OnceCell<(Channels, Option<Channels>)>,
    paths: OnceCell<Option<Channels>>,
    ends: OnceCell<Option<(Channels, Channels)>>,
    grid: OnceCell<Option<Grid>>,
    ranges: OnceCell<Vec<Ranges>>,
}

/// Smallest and largest position of a joint: the follower's, and the leader's if there is one.
type Ranges = ((f32, f32), Option<(f32, f32)>);

impl<'a> Basis<'a> {
    pub(super) fn new(episode: &'a Episode) -> Self {
        Self {
            episode,
            clock: OnceCell::new(),
            sums_finite: OnceCell::new(),
            filled: OnceCell::new(),
            paths: OnceCell::new(),
            ends: OnceCell::new(),
            grid: OnceCell::new(),
            ranges: OnceCell::new(),
        }
    }

    /// Joints of the rig.
    pub fn joints(&self) -> &'a [Joint] {
        &self.episode.rig.joints
    }

    /// One count of a joint's sensor in radians (metres), never below a limit that keeps "three
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

    /// What the actions are, in relation to the state.
    pub fn kind_of_action(&self) -> ActionKind {
        self.episode.rig.actions.kind
    }

    /// The action as it is stored, with missing values bridged; `None` without one.
    pub fn stored_action(&self, joint: usize) -> Option<&[f32]> {
        if self.joints()[joint].unpaired.is_some() {
            return None;
        }
        if self.is_complete() {
            self.episode.action.as_ref().map(|a| a.joint(joint))
        } else {
            self.filled().1.as_ref().map(|a| a.joint(joint))
        }
    }

    /// Leader positions with missing values bridged: the action itself, or the path to which its
    /// rates add up. `None` without an action, or where it is in no relation to the state.
    pub fn action(&self, joint: usize) -> Option<&[f32]> {
        match self.kind_of_action() {
            ActionKind::Delta | ActionKind::Velocity if !self.joints()[joint].gripper => {
                let paths = self.paths.get_or_init(|| self.add_up());
                paths.as_ref().map(|path| path.joint(joint))
            }
            ActionKind::Other | ActionKind::Unknown | ActionKind::None => None,
            _ => self.stored_action(joint),
        }
    }

    /// State and action of a joint at the ends of holds, with straight lines between; `None` where
    /// actions are not held.
    pub(super) fn settled(&self, joint: usize) -> Option<(&[f32], &[f32])> {
        let (state, action) = self.ends.get_or_init(|| self.at_ends()).as_ref()?;
        Some((state.joint(joint), action.joint(joint)))
    }

    /// The paths to which rates add up; `None` without a period or an action.
    fn add_up(&self) -> Option<Channels> {
        let period_s = self.period_s()?;
        let one = |(joint, described): (usize, &Joint)| {
            let (state, action) = (self.state(joint), self.stored_action(joint)?);
            Some(Rates { state, action, gripper: described.gripper })
        };
        let joints: Option<Vec<Rates<'_>>> = self.joints().iter().enumerate().map(one).collect();
        Some(paths(&joints?, self.kind_of_action() == ActionKind::Delta, period_s))
    }

    /// State and action at the ends of holds; `None` where actions are not held.
    fn at_ends(&self) -> Option<(Channels, Channels)> {
        let ActionKind::Held { frames: 2.. } = self.kind_of_action() else { return None };
        let one = |joint| Some((self.state(joint), self.stored_action(joint)?));
        let joints: Option<Vec<_>> = (0..self.joints().len()).map(one).collect();
        let arm: Vec<bool> = self.joints().iter().map(|joint| !joint.gripper).collect();
        Some(ends(&joints?, &arm))
    }

    /// Positions that show the operator's motion: the leader's where they are new in every frame, else
    /// the follower's.
    pub fn hand(&self, joint: usize) -> &[f32] {
        let smooth = matches!(self.kind_of_action(), ActionKind::Position | ActionKind::Next);
        let leader = if smooth { self.action(joint) } else { None };
        leader.unwrap_or_else(|| self.state(joint))
    }

    fn filled(&self) -> &(Channels, Option<Channels>) {
        self.filled.get_or_init(|| {
            let action = self.episode.action.as_ref();
            (whole::bridged(&self.episode.state), action.map(whole::bridged))
        })
    }

    /// Smallest and largest position of a joint's follower.
    pub fn state_range(&self, joint: usize) -> (f32, f32) {
        self.ranges()[joint].0
    }

    /// Smallest and largest position of a joint's leader; `None` without a leader.
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
    /// used (those of receipt repaired), else over the row number at the dataset's period; `None` if no period is known.
    pub fn grid(&self) -> Option<&Grid> {
        let made = self.grid.get_or_init(|| {
            let (period_s, frames) = (self.episode.rig.period_s, self.episode.frames());
            if !(period_s.is_finite() && period_s > 0.0) || frames < 2 {
                return None;
            }
            // Far more points than rows means that the stamps cannot be right.
            let most = 4 * frames + 1000;
            let by_stamp = if let Some(receipt) = &self.clock().receipt {
                Grid::over(&receipt.repaired(&self.episode.time_s), period_s, 3.5 * period_s, most)
            } else if self.clock().too_coarse() {
                None
            } else {
                Grid::over(&self.episode.time_s, period_s, 3.5 * period_s, most)
            };
            Some(by_stamp.unwrap_or_else(|| Grid::of_index(frames, period_s)))
        });
        made.as_ref()
    }
}
