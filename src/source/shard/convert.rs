//! From the stored numbers of an episode to the dimensions of its rig, where these differ.
//!
//! A rotation becomes three tangent coordinates about the reference of its group: radians whose
//! norm is the angle. They go on beyond half a turn, so that neither the sign of a quaternion nor
//! the wrap of a rotation vector is a motion. The jumps of the stored numbers are counted first.

use std::f64::consts::{PI, TAU};

use crate::model::{RotationForm, RotationTrack, Stored, Take};
use crate::num::rotation::{
    Quaternion, angle, between, from_columns, from_euler, from_vector, logarithm, nearest, unit,
};

/// A turn further than this between neighbours is a motion, or nobody knows: no jump.
const NEAR: f64 = 0.7;

/// One side of an episode.
#[derive(Debug, Clone, Copy)]
pub(in crate::source) struct Side<'a> {
    /// Stored numbers: all frames of the first, then of the second, ….
    pub values: &'a [f32],
    pub frames: usize,
    /// The follower's dimensions, where this is the leader: both follower on the same turn.
    pub follower: Option<&'a [f32]>,
}

impl<'a> Side<'a> {
    fn column(&self, at: usize) -> &'a [f32] {
        self.values.get(at * self.frames..(at + 1) * self.frames).unwrap_or_default()
    }
}

/// The dimensions of one side, joint-major, and how its rotations were stored.
pub(in crate::source) fn convert(
    stored: &Stored,
    side: Side<'_>,
) -> (Vec<f32>, Vec<RotationTrack>) {
    let joints = stored.entries.iter().map(|e| usize::from(e.joint) + e.width()).max().unwrap_or(0);
    let mut out = vec![f32::NAN; joints * side.frames];
    let mut tracks = Vec::new();
    for entry in &stored.entries {
        let leader = side.follower.is_some();
        let joint = usize::from(entry.joint);
        let place = joint * side.frames..(joint + entry.width()) * side.frames;
        let follower = side.follower.and_then(|follower| follower.get(place.clone()));
        let to = &mut out[place];
        match if leader { &entry.action } else { &entry.state } {
            Take::Nothing => {}
            Take::One { from, factor, offset, unwrap } => {
                for (to, value) in to.iter_mut().zip(side.column(*from)) {
                    *to = (f64::from(*value) * factor + offset) as f32;
                }
                if *unwrap {
                    go_on(to, follower);
                }
            }
            Take::Rotation { from, form, factor } => {
                let columns: Vec<&[f32]> = from.iter().map(|at| side.column(*at)).collect();
                let jumps = tangents(&columns, (*form, *factor), entry.reference, follower, to);
                tracks.push(RotationTrack { joint, leader, jumps });
            }
        }
    }
    (out, tracks)
}

/// Unwraps an angle in radians: a leader to the turn of its follower in the same row, so that both
/// never drift a turn apart; a follower to that of its last row.
fn go_on(values: &mut [f32], follower: Option<&[f32]>) {
    let mut last = None;
    for (row, value) in values.iter_mut().enumerate().filter(|(_, value)| value.is_finite()) {
        let of_follower = follower.and_then(|column| column.get(row)).filter(|v| v.is_finite());
        let here = f64::from(*value);
        let to = of_follower.map(|v| f64::from(*v)).or(last);
        let there = here + to.map_or(0.0, |to| ((to - here) / TAU).round()) * TAU;
        *value = there as f32;
        last = Some(there);
    }
}

/// Writes the tangent coordinates and gives the frames at which the stored numbers jump.
fn tangents(
    columns: &[&[f32]],
    (form, factor): (RotationForm, f64),
    reference: Quaternion,
    follower: Option<&[f32]>,
    to: &mut [f32],
) -> Vec<u32> {
    let frames = to.len() / 3;
    let of_follower = |frame: usize| {
        let follower = follower?;
        let at = [0, 1, 2].map(|axis| f64::from(follower[axis * frames + frame]));
        at.iter().all(|v| v.is_finite()).then_some(at)
    };
    let mut last = None;
    let mut before: Option<(Vec<f64>, Quaternion)> = None;
    let mut jumps = Vec::new();
    let mut row = vec![0.0; columns.len()];
    for frame in 0..frames {
        for (value, column) in row.iter_mut().zip(columns) {
            *value = column.get(frame).copied().map_or(f64::NAN, f64::from) * factor;
        }
        let Some(q) = quaternion(&row, form) else { continue };
        let plain = logarithm(between(reference, q));
        let there = of_follower(frame).or(last).map_or(plain, |last| nearest(plain, last));
        for (axis, value) in there.iter().enumerate() {
            to[axis * frames + frame] = *value as f32;
        }
        if let Some((stored, rotation)) = &before
            && jumps_between(stored, &row, form)
            && angle(*rotation, q) < NEAR
        {
            jumps.push(frame as u32);
        }
        last = Some(there);
        before = Some((row.clone(), q));
    }
    jumps
}

/// The rotation that a row stores; none where a number is missing.
pub(in crate::source) fn quaternion(row: &[f64], form: RotationForm) -> Option<Quaternion> {
    match (form, row) {
        (RotationForm::Xyzw, &[x, y, z, w]) | (RotationForm::Wxyz, &[w, x, y, z]) => {
            unit([w, x, y, z])
        }
        (RotationForm::Vector, &[x, y, z]) => from_vector([x, y, z]),
        (RotationForm::Euler, &[roll, pitch, yaw]) => from_euler([roll, pitch, yaw]),
        (RotationForm::Columns, &[a, b, c, d, e, f]) => from_columns([a, b, c], [d, e, f]),
        _ => None,
    }
}

/// Whether the stored numbers of two neighbouring rows lie on different sides of a jump.
fn jumps_between(before: &[f64], after: &[f64], form: RotationForm) -> bool {
    let pairs = || before.iter().zip(after);
    match form {
        RotationForm::Xyzw | RotationForm::Wxyz => pairs().map(|(a, b)| a * b).sum::<f64>() < 0.0,
        RotationForm::Vector => pairs().map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt() > PI,
        RotationForm::Euler => pairs().any(|(a, b)| (a - b).abs() > PI),
        RotationForm::Columns => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::StoredEntry;
    use crate::num::rotation::IDENTITY;

    fn entry(joint: u16, take: Take) -> StoredEntry {
        StoredEntry { joint, state: take.clone(), action: take, reference: IDENTITY }
    }

    fn side(values: &[f32], frames: usize) -> Side<'_> {
        Side { values, frames, follower: None }
    }

    #[test]
    fn a_sign_is_no_motion_and_is_counted() {
        let frames = 50;
        let mut columns: Vec<Vec<f32>> = vec![Vec::new(); 4];
        for frame in 0..frames {
            let turned = 0.02 * frame as f64;
            let sign = if (20..35).contains(&frame) { -1.0 } else { 1.0 };
            let q = [(turned / 2.0).sin(), 0.0, 0.0, (turned / 2.0).cos()];
            q.iter().zip(&mut columns).for_each(|(v, c)| c.push((v * sign) as f32));
        }
        let take = Take::Rotation { from: vec![0, 1, 2, 3], form: RotationForm::Xyzw, factor: 1.0 };
        let stored = Stored { entries: vec![entry(0, take)], ..Stored::default() };
        let (values, tracks) = convert(&stored, side(&columns.concat(), frames));
        assert_eq!(tracks[0].jumps, [20, 35]);
        for frame in 0..frames {
            assert!((f64::from(values[frame]) - 0.02 * frame as f64).abs() < 1e-5, "{frame}");
            assert!(values[frames + frame].abs() < 1e-6);
        }
    }

    #[test]
    fn a_rotation_vector_goes_on_beyond_half_a_turn() {
        let frames = 80;
        let x: Vec<f32> = (0..frames)
            .map(|frame| {
                let turned = 2.0 + 0.04 * frame as f64;
                (if turned > PI { turned - TAU } else { turned }) as f32
            })
            .collect();
        let zero = vec![0.0; frames];
        let take = Take::Rotation { from: vec![0, 1, 2], form: RotationForm::Vector, factor: 1.0 };
        let stored = Stored { entries: vec![entry(0, take)], ..Stored::default() };
        let (values, tracks) = convert(&stored, side(&[x, zero.clone(), zero].concat(), frames));
        assert_eq!(tracks[0].jumps.len(), 1);
        assert!((f64::from(values[frames - 1]) - (2.0 + 0.04 * 79.0)).abs() < 1e-4);
    }

    #[test]
    fn leader_and_follower_begin_on_the_same_turn() {
        let one = |unwrap| Take::One { from: 0, factor: 1.0, offset: 0.0, unwrap };
        let stored = Stored { entries: vec![entry(0, one(true))], ..Stored::default() };
        let (follower, _) = convert(&stored, side(&[3.0, 3.1, -3.1, f32::NAN, -3.0], 5));
        assert!(follower[4] > 3.2 && follower[3].is_nan(), "{follower:?}");
        let leader = Side { values: &[-3.2; 5], frames: 5, follower: Some(&follower) };
        assert!((convert(&stored, leader).0[0] - 3.083).abs() < 1e-3);
        let nothing = Stored { entries: vec![entry(0, Take::Nothing)], ..Stored::default() };
        assert!(convert(&nothing, side(&[1.0; 5], 5)).0.iter().all(|v| v.is_nan()));
    }
}
