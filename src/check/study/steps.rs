//! Each joint's largest step from one frame to the next: what lets most checks of sudden changes
//! leave an episode alone after one quick pass.

use super::basis::Basis;

/// Largest step of each joint, follower and leader, in the joint's unit.
#[derive(Debug)]
pub struct Steps {
    /// Of the follower.
    pub follower: Vec<f32>,
    /// Of the leader; empty without one.
    pub leader: Vec<f32>,
}

impl Steps {
    pub(super) fn of(basis: &Basis<'_>) -> Self {
        let joints = 0..basis.joints().len();
        let follower = joints.clone().map(|joint| largest_step(basis.state(joint))).collect();
        let leader = joints.filter_map(|joint| basis.action(joint).map(largest_step)).collect();
        Self { follower, leader }
    }
}

/// Largest absolute difference of neighbours; zero for fewer than two values.
pub fn largest_step(values: &[f32]) -> f32 {
    let (before, after) = (&values[..values.len().saturating_sub(1)], values.get(1..));
    let after = after.unwrap_or(&[]);
    let (befores, rest) = before.as_chunks::<8>();
    let (afters, other) = after.as_chunks::<8>();
    let mut most = [0.0f32; 8];
    for (a, b) in befores.iter().zip(afters) {
        for lane in 0..8 {
            let step = (b[lane] - a[lane]).abs();
            // A plain comparison becomes one vector instruction.
            most[lane] = if step > most[lane] { step } else { most[lane] };
        }
    }
    let last = rest.iter().zip(other).map(|(a, b)| (b - a).abs());
    most.into_iter().chain(last).fold(0.0, f32::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_anywhere_is_seen() {
        for n in 2..40 {
            for at in 1..n {
                let values: Vec<f32> = (0..n).map(|i| if i < at { 1.0 } else { -2.0 }).collect();
                assert_eq!(largest_step(&values), 3.0, "{at} of {n}");
            }
        }
        assert_eq!(largest_step(&[]), 0.0);
        assert_eq!(largest_step(&[7.0]), 0.0);
    }
}
