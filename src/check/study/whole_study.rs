//! One episode, with what several checks need worked out once and on first use.

use std::cell::OnceCell;
use std::ops::Deref;

use super::basis::Basis;
use super::blocks::Blocks;
use super::following::{Following, LEAST_MOTION_M, LEAST_MOTION_RAD, too_little};
use super::kind::Kind;
use super::likeness::Likeness;
use super::motion::Motion;
use super::settings::Settings;
use super::steps::Steps;
use super::traces::{Traced, traces};
use crate::model::{Episode, KnownBy, Sheet};

/// Share of its motion over which a joint must be free to show its range.
const LEAST_FREE: f64 = 0.35;

/// Why a joint that something holds most of the time shows neither neutral point nor range.
pub fn in_contact(traced: &Traced) -> String {
    let (share, moved) = (100.0 * traced.held_share(), traced.free_motion() / traced.motion);
    format!(
        "in contact for {share:.0} % of the time: what is left shows {:.0} % of its motion",
        100.0 * moved
    )
}

/// An episode, and what several checks need of it.
#[derive(Debug)]
pub struct Study<'a> {
    basis: Basis<'a>,
    settings: Settings,
    following: OnceCell<Following>,
    traces: OnceCell<Vec<Option<Traced>>>,
    kind: OnceCell<Option<Kind>>,
    likeness: OnceCell<Likeness>,
    steps: OnceCell<Steps>,
    blocks: OnceCell<Option<Blocks>>,
    motion: OnceCell<Option<Motion>>,
}

impl<'a> Deref for Study<'a> {
    type Target = Basis<'a>;

    fn deref(&self) -> &Basis<'a> {
        &self.basis
    }
}

impl<'a> Study<'a> {
    /// Begins the study of an episode; all that is worked out follows these settings.
    pub fn new(episode: &'a Episode, settings: Settings) -> Self {
        Self {
            basis: Basis::new(episode),
            settings,
            following: OnceCell::new(),
            traces: OnceCell::new(),
            kind: OnceCell::new(),
            likeness: OnceCell::new(),
            steps: OnceCell::new(),
            blocks: OnceCell::new(),
            motion: OnceCell::new(),
        }
    }

    /// Largest step of each joint.
    pub fn steps(&self) -> &Steps {
        self.steps.get_or_init(|| Steps::of(&self.basis))
    }

    /// Ranges over blocks of a tenth of a second; `None` where no period is known.
    pub fn blocks(&self) -> Option<&Blocks> {
        self.blocks.get_or_init(|| Blocks::of(&self.basis)).as_ref()
    }

    /// Speed in joint space and stretches of motion; `None` on too few frames or without a period.
    pub fn motion(&self) -> Option<&Motion> {
        self.motion.get_or_init(|| Motion::of(&self.basis)).as_ref()
    }

    /// Leader and follower of each joint side by side with the lag taken out, and the fit through
    /// what is left; `None` for a gripper.
    pub fn traces(&self) -> &[Option<Traced>] {
        self.traces.get_or_init(|| traces(&self.basis, self.following()))
    }

    /// Measures by the trace of each joint whose leader moved `times` as far as a lag takes, where nothing
    /// held the follower; of the others, and where there is no leader, the sheet says why not.
    pub fn each_moved(
        &self,
        times: f64,
        sheet: &mut Sheet,
        mut measure: impl FnMut(usize, &Traced, &mut Sheet),
    ) {
        if let Some(reason) = self.no_leader() {
            return sheet.not_assessed(reason);
        }
        for (joint, traced) in self.traces().iter().enumerate() {
            let Some(traced) = traced else { continue };
            let linear = self.joints()[joint].linear;
            let smallest = times * if linear { LEAST_MOTION_M } else { LEAST_MOTION_RAD };
            if traced.motion < smallest {
                sheet.not_assessed_joint(joint, too_little(traced.motion, smallest, linear));
            } else if traced.free_motion() < smallest.max(LEAST_FREE * traced.motion) {
                sheet.not_assessed_joint(joint, in_contact(traced));
            } else {
                measure(joint, traced, sheet);
            }
        }
    }

    /// How the follower follows: lag and lag-aligned error of each joint.
    pub fn following(&self) -> &Following {
        let grid = || self.grid().filter(|_| self.no_leader().is_none());
        let search_s = self.settings.lag_search_s;
        self.following.get_or_init(|| Following::of(&self.basis, grid(), search_s))
    }

    /// What kind of thing the leader's column holds; `None` without one, or without motion.
    pub fn kind(&self) -> Option<&Kind> {
        self.kind.get_or_init(|| Kind::of(&self.basis)).as_ref()
    }

    /// Why follower and leader cannot be compared, if so.
    pub fn no_leader(&self) -> Option<&'static str> {
        if self.episode.action.is_none() {
            Some("no leader column")
        } else if self.grid().is_none() {
            Some("no frame period")
        } else if self.episode.rig.actions.by == KnownBy::Assumed
            && self.kind().is_some_and(Kind::is_delta)
        {
            Some("the action is a change of position, not a position")
        } else {
            None
        }
    }

    /// How like each leader joint is to each follower joint, at the overall lag.
    pub fn likeness(&self) -> &Likeness {
        self.likeness.get_or_init(|| {
            if self.no_leader().is_some() {
                return Likeness::default();
            }
            Likeness::of(&self.basis, self.following().overall_s)
        })
    }
}
