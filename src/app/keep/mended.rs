//! Repairs that the data bears out: what is changed, in which episodes, and the figures behind it.

use crate::app::keep::evidence::Evidence;
use crate::app::keep::mend::{Mend, Side, refused};
use crate::app::keep::repairs::{Repairs, arm_swap, encoder_wrap, joint_swap, unit_mismatch};
use crate::app::keep::turns::Seen;
use crate::app::keep::units::{conversion, range};
use crate::app::{AppError, Audited};
use crate::check::tracking::neutral_offset::OFFSET_SIGNED;
use crate::engine::{self, Workers};
use crate::model::{Episode, EpisodeIndex, Extra, JointId, Outcome, SignalKind, Unit, quantity};
use crate::num::robust::median;
use crate::profile::nearest;
use crate::report::keep::FigureShape;
use crate::source::Source as _;
use crate::source::copy::{Arithmetic, Cell, Edit, Places, Slot};

/// A repair that is carried out.
#[derive(Debug, Clone)]
pub(super) struct Mended {
    /// As it was typed.
    pub option: String,
    pub edits: Vec<Edit>,
    /// For each card, whether it is concerned.
    pub applies: Vec<bool>,
    /// By how many rows later actions are taken.
    pub later: i64,
    pub figures: Vec<FigureShape>,
    /// What a person should know.
    pub note: Option<String>,
}

/// What repairs are made with.
pub(super) struct Workshop<'a> {
    pub audited: &'a Audited,
    pub places: &'a Places,
    pub workers: &'a Workers,
    pub repairs: &'a mut Repairs,
}

impl Workshop<'_> {
    /// Carries one out.
    pub fn mend(&mut self, option: &str) -> Result<Mended, AppError> {
        let mend = Mend::read(option)?;
        let mended = match &mend {
            Mend::ExchangeSides => self.exchange_sides(option)?,
            Mend::ExchangeJoints(a, b) => self.exchange_joints(option, a, b)?,
            Mend::Unwrap(joint) => self.unwrap(option, joint)?,
            Mend::Unit(joint) => self.unit(option, joint)?,
            Mend::ShiftActions(rows) => self.shift(option, *rows)?,
            Mend::Offset { side, joint, value } => self.offset(option, *side, joint, value)?,
        };
        Ok(Mended { option: option.to_owned(), ..mended })
    }

    fn exchange_sides(&mut self, option: &str) -> Result<Mended, AppError> {
        self.no_sensors(option)?;
        let applies = self.evidence().shown(option, arm_swap(), None)?;
        let (state, action) = (&self.places.state_columns, &self.places.action_columns);
        if state.len() != action.len() || !self.places.in_order {
            let why = "leader and follower do not store the same joints in the same order";
            return Err(refused(option, why, "name the columns by hand"));
        }
        let mut edits = Vec::new();
        for (a, b) in state.iter().zip(action) {
            edits.push(Edit::TakeFrom { path: a.clone(), other: b.clone() });
            edits.push(Edit::TakeFrom { path: b.clone(), other: a.clone() });
        }
        self.repairs.exchange_sides();
        Ok(made(edits, applies, self.evidence().figures(arm_swap(), None)))
    }

    fn exchange_joints(&mut self, option: &str, a: &str, b: &str) -> Result<Mended, AppError> {
        self.no_sensors(option)?;
        let joints = [self.joint(option, a)?, self.joint(option, b)?];
        let of_a = self.evidence().shown(option, joint_swap(), Some(joints[0]))?;
        let of_b = self.evidence().shown(option, joint_swap(), Some(joints[1]))?;
        let applies = of_a.iter().zip(&of_b).map(|(a, b)| *a && *b).collect();
        let [a_slot, b_slot] = [
            self.slot(option, Side::State, joints[0])?,
            self.slot(option, Side::State, joints[1])?,
        ];
        let edits = match (&a_slot.cell, &b_slot.cell) {
            (Cell { path, index: Some(a) }, Cell { path: other, index: Some(b) })
                if path == other =>
            {
                vec![Edit::Exchange { path: path.clone(), places: (*a, *b) }]
            }
            (Cell { path: a, index: None }, Cell { path: b, index: None }) => vec![
                Edit::TakeFrom { path: a.clone(), other: b.clone() },
                Edit::TakeFrom { path: b.clone(), other: a.clone() },
            ],
            _ => {
                let why = "the two joints are not stored alike";
                return Err(refused(option, why, "exchange them by hand"));
            }
        };
        let figures =
            joints.iter().flat_map(|joint| self.evidence().figures(joint_swap(), Some(*joint)));
        let figures = figures.collect();
        for joint in joints {
            self.repairs.joint(joint_swap(), joint);
        }
        Ok(made(edits, applies, figures))
    }

    fn unwrap(&mut self, option: &str, joint: &str) -> Result<Mended, AppError> {
        let joint = self.joint(option, joint)?;
        let at = usize::from(joint);
        let described = &self.audited.source.rig().joints[at];
        // A joint that wraps in each episode is read as one without ends, and no check reports it.
        let endless = described.kind() == SignalKind::Continuous;
        if !endless {
            self.evidence().shown(option, encoder_wrap(), Some(joint))?;
        }
        let angle = endless || described.kind() == SignalKind::Revolute;
        let Some(turn) = self.places.turn().filter(|_| angle) else {
            return Err(refused(option, "its values are no angles", "unwrap it by hand"));
        };
        let mut seen = Seen::default();
        let look = |episode: &Episode| {
            let mut own = Seen::default();
            own.add(episode.state.joint(at));
            if let Some(action) = &episode.action {
                own.add(action.joint(at));
            }
            own
        };
        self.each(&self.all(), &look, &mut |own| seen.merge(&own));
        let Some(start) = seen.start() else {
            let why = "the joint was seen at every angle, so there is no place for a zero";
            return Err(refused(option, why, "record it with its zero out of the work range"));
        };
        let mut figures = self.evidence().figures(encoder_wrap(), Some(joint));
        let mut edits = Vec::new();
        for side in [Side::State, Side::Action] {
            if side == Side::Action && self.places.action_columns.is_empty() {
                continue;
            }
            let slot = self.slot(option, side, joint)?;
            let start = slot.stored(start);
            let change = Arithmetic::Turns { start, turn };
            let cell = slot.cell.clone();
            edits.push(Edit::Number { cell, change });
            let what = format!("smallest stored value of the {}", side.word());
            figures.push(self.evidence().figure(&what, Some(joint), start, "stored"));
        }
        self.repairs.joint(encoder_wrap(), joint);
        // One zero for all: the same pose has the same number in every episode.
        Ok(made(edits, vec![true; self.outcome().cards.len()], figures))
    }

    fn unit(&mut self, option: &str, joint: &str) -> Result<Mended, AppError> {
        let joint = self.joint(option, joint)?;
        let applies = self.evidence().shown(option, unit_mismatch(), Some(joint))?;
        let at = usize::from(joint);
        let cards = self.outcome().cards.iter().zip(&applies);
        let shown: Vec<EpisodeIndex> =
            cards.filter(|(_, shown)| **shown).map(|(card, _)| card.key.index).collect();
        let ratio = |episode: &Episode| {
            let action = episode.action.as_ref()?.joint(at);
            Some(f64::from(range(episode.state.joint(at))? / range(action)?))
        };
        let mut ratios = Vec::new();
        self.each(&shown, &ratio, &mut |one| ratios.extend(one.filter(|ratio| ratio.is_finite())));
        let ratio = median(&ratios);
        let unit = self.audited.source.rig().unit;
        let Some((side, factor)) = conversion(ratio, unit) else {
            let why = format!("which side is not in {} is not clear", unit.name());
            let hint = "state the unit of the table with --unit, or convert the column by hand";
            return Err(refused(option, &why, hint));
        };
        let cell = self.slot(option, side, joint)?.cell.clone();
        let edits = vec![Edit::Number { cell, change: Arithmetic::Times(factor) }];
        let mut figures = self.evidence().figures(unit_mismatch(), Some(joint));
        figures.push(self.evidence().figure(
            "range of the state over that of the action",
            Some(joint),
            ratio,
            "ratio",
        ));
        figures.push(self.evidence().figure("factor", Some(joint), factor, "ratio"));
        self.repairs.joint(unit_mismatch(), joint);
        let note = format!("the {} was converted to {}", side.word(), unit.name());
        Ok(Mended { note: Some(note), ..made(edits, applies, figures) })
    }

    fn shift(&mut self, option: &str, rows: i64) -> Result<Mended, AppError> {
        if self.places.action_columns.is_empty() {
            return Err(refused(option, "there is no action", "name its column with --action"));
        }
        let Some(lag) = self.evidence().median("tracking-lag", "lag_frames", None) else {
            let why = "the lag was not assessed, so nothing shows how actions and state lie";
            return Err(refused(option, why, "see `teleassay explain tracking-lag`"));
        };
        let after = lag.0 + rows as f64;
        if after < -0.5 {
            let why = format!(
                "the follower is {:.1} frames later than the leader; it would come {:.1} before it",
                lag.0, -after
            );
            return Err(refused(option, &why, "shift by fewer rows"));
        }
        let columns = self.places.action_columns.iter();
        let edits = columns.map(|path| Edit::Later { path: path.clone(), rows }).collect();
        let figures = vec![
            self.evidence().figure("tracking-lag/lag_frames", None, lag.0, "frames"),
            self.evidence().figure("lag after the shift", None, after, "frames"),
        ];
        let smaller = "a smaller lag takes away what leader minus follower says of the grasp force";
        let note = (rows < 0).then(|| smaller.to_owned());
        let applies = vec![true; self.outcome().cards.len()];
        Ok(Mended { later: rows, note, ..made(edits, applies, figures) })
    }

    fn offset(
        &mut self,
        option: &str,
        side: Side,
        joint: &str,
        value: &str,
    ) -> Result<Mended, AppError> {
        let joint = self.joint(option, joint)?;
        let at = usize::from(joint);
        let linear = self.audited.source.rig().joints[at].linear;
        let read = quantity::read(value, Unit::Radian).map_err(|error| {
            AppError::input(format!("--mend {option}: {error}")).with_hint(error.hint())
        })?;
        let bare = value.trim().parse::<f64>().is_ok();
        if (bare || read.linear != linear) && read.value != 0.0 {
            let unit = if linear { "mm or m" } else { "deg or rad" };
            let hint = format!("write it with its unit: {unit}");
            return Err(refused(option, "the offset has no unit of this joint", &hint));
        }
        let slot = self.slot(option, side, joint)?;
        let stored = slot.stored_difference(read.value);
        let cell = slot.cell.clone();
        let edits = vec![Edit::Number { cell, change: Arithmetic::Plus(-stored) }];
        let unit = if linear { "m" } else { "rad" };
        let mut figures =
            vec![self.evidence().figure("stated offset", Some(joint), read.value, unit)];
        if let Some((offset, _)) =
            self.evidence().median("neutral-offset", OFFSET_SIGNED.id, Some(joint))
        {
            figures.push(self.evidence().figure(
                "neutral-offset/offset_signed",
                Some(joint),
                offset,
                unit,
            ));
        }
        let applies = vec![true; self.outcome().cards.len()];
        Ok(made(edits, applies, figures))
    }

    /// Where a joint is stored on one side.
    fn slot(&self, option: &str, side: Side, joint: JointId) -> Result<&Slot, AppError> {
        let slots = match side {
            Side::State => &self.places.state,
            Side::Action => &self.places.action,
        };
        slots.get(usize::from(joint)).and_then(Option::as_ref).ok_or_else(|| {
            let name = self.audited.source.rig().joint_name(joint);
            let why = format!("the {} has no number of {name} by itself", side.word());
            refused(option, &why, "convert the table by hand")
        })
    }

    fn evidence(&self) -> Evidence<'_> {
        Evidence { outcome: &self.audited.outcome, rig: self.audited.source.rig() }
    }

    fn outcome(&self) -> &Outcome {
        &self.audited.outcome
    }

    fn all(&self) -> Vec<EpisodeIndex> {
        self.outcome().cards.iter().map(|card| card.key.index).collect()
    }

    /// Makes something of each of these episodes.
    fn each<T: Send>(
        &self,
        wanted: &[EpisodeIndex],
        make: &(dyn Fn(&Episode) -> T + Sync),
        take: &mut dyn FnMut(T),
    ) {
        engine::made_of(&self.audited.source, wanted, self.workers, make, take);
    }

    fn joint(&self, option: &str, name: &str) -> Result<JointId, AppError> {
        let joints = &self.audited.source.rig().joints;
        let names = || joints.iter().map(|joint| joint.name.as_str());
        let hint = || {
            nearest(name, names()).map_or_else(
                || format!("its joints: {}", names().collect::<Vec<_>>().join(", ")),
                |near| format!("did you mean \"{near}\"?"),
            )
        };
        let mut found = joints.iter().enumerate().filter(|(_, joint)| joint.name == name);
        match (found.next(), found.next()) {
            (Some((at, _)), None) => Ok(at as JointId),
            (None, _) => Err(refused(option, &format!("there is no joint \"{name}\""), &hint())),
            (Some(_), Some(_)) => {
                let why = format!("there are several joints \"{name}\"");
                Err(refused(option, &why, "name them apart in the profile"))
            }
        }
    }

    /// Sensors of the joints would no longer belong to their positions.
    fn no_sensors(&self, option: &str) -> Result<(), AppError> {
        let of_joints = [Extra::Velocity, Extra::Effort, Extra::Voltage, Extra::Temperature];
        let extras = &self.audited.source.rig().extras;
        match of_joints.iter().find(|kind| extras.contains(kind)) {
            None => Ok(()),
            Some(kind) => {
                let why = format!(
                    "the table has {} columns as well, and whether they are exchanged is not known",
                    kind.word()
                );
                Err(refused(option, &why, "exchange the columns by hand"))
            }
        }
    }
}

fn made(edits: Vec<Edit>, applies: Vec<bool>, figures: Vec<FigureShape>) -> Mended {
    Mended { option: String::new(), edits, applies, later: 0, figures, note: None }
}
