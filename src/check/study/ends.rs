//! Where actions are held: state and action as they are at the end of each hold, with straight lines
//! between. There the follower has had the time that it was given; on the way it is nowhere near.

use crate::model::Channels;

/// State and action of each joint at the ends of the holds; `arm` says which joints' actions show when
/// they are updated.
pub(super) fn ends(joints: &[(&[f32], &[f32])], arm: &[bool]) -> (Channels, Channels) {
    let frames = joints.first().map_or(0, |joint| joint.0.len());
    let of_arm = || joints.iter().zip(arm).filter(|(_, arm)| **arm).map(|(joint, _)| joint.1);
    let changes = |row: &usize| of_arm().any(|a| a[*row].to_bits() != a[*row - 1].to_bits());
    let mut rows: Vec<usize> = (1..frames).filter(changes).map(|row| row - 1).collect();
    rows.push(frames.saturating_sub(1));
    let state = joints.iter().flat_map(|joint| line(joint.0, &rows)).collect();
    let action = joints.iter().flat_map(|joint| line(joint.1, &rows)).collect();
    (Channels::new(state, frames, joints.len()), Channels::new(action, frames, joints.len()))
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
