//! The two sides, and which of their joints and episodes belong together.

use std::sync::Arc;

use crate::check::MetricOf;
use crate::model::{Joint, Ledger, Rig};

/// More episodes add little: they are thinned evenly, to limit the pairs of both sides.
const MOST_EPISODES: usize = 500;

/// One recording session.
#[derive(Debug, Clone)]
pub struct Side {
    /// What a person calls it: its path.
    pub name: String,
    /// The rig.
    pub rig: Arc<Rig>,
    /// What was measured, and each episode's motion.
    pub ledger: Ledger,
    /// Names of the episodes, one to each row of the ledger.
    pub episodes: Vec<String>,
    /// Whether there is an action as well as the state.
    pub leader: bool,
}

impl Side {
    /// A measurement of the chosen rows, by row; left out where it was not made.
    pub(super) fn read(
        &self,
        what: MetricOf,
        joint: Option<usize>,
        rows: &[usize],
    ) -> Vec<(usize, f64)> {
        let joint = joint.map(|joint| joint as u16);
        let column = self
            .ledger
            .columns()
            .find(|(c, m, j, _)| what.is(c, m) && *j == joint)
            .map_or(&[][..], |column| column.3);
        let value = |row: &usize| column.get(*row).map(|v| (*row, f64::from(*v)));
        rows.iter().filter_map(value).filter(|(_, v)| v.is_finite()).collect()
    }

    /// Its rows, thinned evenly to as many as asked.
    pub(super) fn rows(&self) -> Vec<usize> {
        thin(&(0..self.ledger.rows()).collect::<Vec<_>>(), MOST_EPISODES)
    }

    fn tasks(&self) -> Vec<Arc<str>> {
        self.ledger.rows_by_task().into_iter().filter_map(|(task, _)| task).collect()
    }
}

/// At most so many, evenly.
pub(super) fn thin<T: Copy>(all: &[T], most: usize) -> Vec<T> {
    let n = all.len();
    if n <= most {
        return all.to_vec();
    }
    (0..most).map(|i| all[i * n / most]).collect()
}

/// A joint that both rigs have.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Its name.
    pub name: String,
    /// Its place in A.
    pub a: usize,
    /// Its place in B.
    pub b: usize,
    /// Whether it is linear in both.
    pub linear: bool,
    /// Whether it is a gripper in either.
    pub gripper: bool,
}

impl Pair {
    /// Joints of one name, in the order of A.
    pub(super) fn all(a: &Rig, b: &Rig) -> Vec<Self> {
        let neighbour = |joint: &Joint| b.joints.iter().position(|other| other.name == joint.name);
        let pairs = a.joints.iter().enumerate().filter_map(|(at, joint)| {
            let there = neighbour(joint)?;
            let other = &b.joints[there];
            (joint.linear == other.linear).then(|| Self {
                name: joint.name.clone(),
                a: at,
                b: there,
                linear: joint.linear,
                gripper: joint.gripper || other.gripper,
            })
        });
        pairs.collect()
    }
}

/// Episodes that may be compared: of one task, where both sides name tasks.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tasks {
    /// Tasks of both sides; one without a name where a side names none.
    pub common: Vec<Option<Arc<str>>>,
    /// Tasks of A alone.
    pub only_a: Vec<Arc<str>>,
    /// Tasks of B alone.
    pub only_b: Vec<Arc<str>>,
}

impl Tasks {
    /// Of two sides.
    pub(super) fn of(a: &Side, b: &Side) -> Self {
        let (in_a, in_b) = (a.tasks(), b.tasks());
        if in_a.is_empty() || in_b.is_empty() {
            return Self { common: vec![None], ..Self::default() };
        }
        let beyond = |own: &[Arc<str>], other: &[Arc<str>]| -> Vec<Arc<str>> {
            own.iter().filter(|task| !other.contains(task)).cloned().collect()
        };
        // By name: neither side's order may show.
        let mut common: Vec<_> =
            in_a.iter().filter(|task| in_b.contains(task)).cloned().map(Some).collect();
        common.sort();
        Self { common, only_a: beyond(&in_a, &in_b), only_b: beyond(&in_b, &in_a) }
    }

    /// The rows of a side for each common task.
    pub(super) fn rows(&self, side: &Side) -> Vec<Vec<usize>> {
        let all = side.rows();
        let of = |task: &Option<Arc<str>>| match task {
            None => all.clone(),
            Some(task) => {
                let same = |row: &usize| side.ledger.task(*row) == Some(task);
                all.iter().copied().filter(same).collect()
            }
        };
        self.common.iter().map(of).collect()
    }
}
