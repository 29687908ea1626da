//! Actions that are the state of the next row.

use crate::source::rig::action::take::Take;

/// Nearly all rows in which the state moves must agree.
const SHARE: f64 = 0.99;
/// Fewer of them say nothing.
const FEWEST: usize = 20;

/// Whether the action of nearly every row in which the state moves on is the state of the next row,
/// to the last bit.
pub(super) fn is_next(take: &Take<'_>) -> bool {
    let (mut moving, mut same) = (0usize, 0usize);
    for pair in &take.pairs {
        for (now, action) in pair.state.windows(2).zip(pair.action.iter()) {
            let moves = now[0].to_bits() != now[1].to_bits();
            moving += usize::from(moves);
            same += usize::from(moves && action.to_bits() == now[1].to_bits());
        }
    }
    moving >= FEWEST && same as f64 >= SHARE * moving as f64
}
