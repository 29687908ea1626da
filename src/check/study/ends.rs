//! Where actions are held: state and action as they are at the end of each hold, with straight lines
//! between. There the follower has had the time that it was given; on the way it is nowhere near.

use super::basis::Basis;
use crate::model::{ActionKind, Channels};

/// State and action at the ends of the holds; `None` where actions are not held.
pub(super) fn ends(basis: &Basis<'_>) -> Option<(Channels, Channels)> {
    let ActionKind::Held { frames: 2.. } = basis.kind_of_action() else { return None };
    basis.episode.action.as_ref()?;
    let (joints, frames) = (basis.joints().len(), basis.episode.frames());
    let arm: Vec<&[f32]> = (0..joints)
        .filter(|joint| !basis.joints()[*joint].gripper)
        .filter_map(|joint| basis.stored_action(joint))
        .collect();
    let changes = |row: &usize| arm.iter().any(|a| a[*row].to_bits() != a[*row - 1].to_bits());
    let mut rows: Vec<usize> = (1..frames).filter(changes).map(|row| row - 1).collect();
    rows.push(frames.saturating_sub(1));
    let lines = |of: &dyn Fn(usize) -> Vec<f32>| {
        let values = (0..joints).flat_map(of).collect();
        Channels::new(values, frames, joints)
    };
    let state = lines(&|joint| line(basis.state(joint), &rows));
    let action = lines(&|joint| line(basis.stored_action(joint).unwrap_or(&[]), &rows));
    Some((state, action))
}

/// The values at these rows, and straight lines between them; level before the first.
fn line(values: &[f32], rows: &[usize]) -> Vec<f32> {
    let mut out = Vec::with_capacity(values.len());
    let mut from: Option<usize> = None;
    for &to in rows {
        let Some(&end) = values.get(to) else { break };
        let (start, begin) = from.map_or((0, end), |row| (row + 1, values[row]));
        let steps = (to + 1 - start) as f32;
        for row in start..=to {
            let share = if from.is_some() { (row + 1 - start) as f32 / steps } else { 1.0 };
            out.push(begin + share * (end - begin));
        }
        from = Some(to);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::line;

    #[test]
    fn between_the_ends_lie_straight_lines() {
        let held = [0.0, 0.0, 0.0, 3.0, 3.0, 3.0, 0.0, 0.0];
        assert_eq!(line(&held, &[2, 5, 7]), [0.0, 0.0, 0.0, 1.0, 2.0, 3.0, 1.5, 0.0]);
        assert_eq!(line(&held[..2], &[1]), [0.0, 0.0]);
    }
}
