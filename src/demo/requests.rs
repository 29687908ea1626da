//! Faults that change what the hand sets out to do.

use super::fault::Fault;
use super::planted::Mine;

/// What the faults ask of the plan, each with its place in the recipe.
#[derive(Default)]
pub(super) struct Requests {
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

impl Requests {
    pub fn of(mine: &Mine<'_>) -> Self {
        let mut requests = Self::default();
        for (planted, fault, joint) in mine.iter() {
            match *fault {
                Fault::IdleHead { seconds } => requests.idle_head = Some((planted, seconds)),
                Fault::IdleTail { seconds } => requests.idle_tail = Some((planted, seconds)),
                Fault::ExternalDisturbance { .. } => requests.pushed = Some(planted),
                Fault::Outlier { reach } => requests.outlier = Some((planted, reach)),
                Fault::LimitDwell { push_deg, stop_deg } => {
                    requests.limit = joint.map(|j| (planted, j, push_deg, stop_deg));
                }
                Fault::CutShort => requests.cut_short = Some(planted),
                Fault::NoGrasp => requests.no_grasp = Some(planted),
                Fault::Overreach { push_deg, seconds } => {
                    requests.overreach = joint.map(|j| (planted, j, push_deg, seconds));
                }
                Fault::FastHand { deg_s } => requests.fast_hand = Some((planted, deg_s)),
                Fault::Aborted { seconds } => requests.aborted = Some((planted, seconds)),
                _ => {}
            }
        }
        requests
    }
}
