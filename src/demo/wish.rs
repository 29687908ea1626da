//! Faults that change what the hand sets out to do.

use super::fault::Fault;
use super::planted::Mine;

/// What the faults wish of the plan, each with its place in the recipe.
#[derive(Default)]
pub(super) struct Wish {
    pub idle_head: Option<(usize, f64)>,
    pub idle_tail: Option<(usize, f64)>,
    pub pushed: Option<usize>,
    pub outlier: Option<(usize, f64)>,
    /// The joint, how far past its stop (degrees), and the stop if it is not the rig's own.
    pub limit: Option<(usize, usize, f64, Option<f64>)>,
    pub cut_short: Option<usize>,
    pub no_grasp: Option<usize>,
    /// The joint, how far past its stop (degrees), and for how long.
    pub overreach: Option<(usize, usize, f64, f64)>,
    /// Peak speed of the farthest joint, degrees a second.
    pub fast_hand: Option<(usize, f64)>,
    pub aborted: Option<(usize, f64)>,
}

impl Wish {
    pub fn of(mine: &Mine<'_>) -> Self {
        let mut wish = Self::default();
        for (planted, fault, joint) in mine.iter() {
            match *fault {
                Fault::IdleHead { seconds } => wish.idle_head = Some((planted, seconds)),
                Fault::IdleTail { seconds } => wish.idle_tail = Some((planted, seconds)),
                Fault::ExternalDisturbance { .. } => wish.pushed = Some(planted),
                Fault::Outlier { reach } => wish.outlier = Some((planted, reach)),
                Fault::LimitDwell { push_deg, stop_deg } => {
                    wish.limit = joint.map(|j| (planted, j, push_deg, stop_deg));
                }
                Fault::CutShort => wish.cut_short = Some(planted),
                Fault::NoGrasp => wish.no_grasp = Some(planted),
                Fault::Overreach { push_deg, seconds } => {
                    wish.overreach = joint.map(|j| (planted, j, push_deg, seconds));
                }
                Fault::FastHand { deg_s } => wish.fast_hand = Some((planted, deg_s)),
                Fault::Aborted { seconds } => wish.aborted = Some((planted, seconds)),
                _ => {}
            }
        }
        wish
    }
}
