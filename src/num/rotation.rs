//! Rotations as unit quaternions (w, x, y, z): from what tables store, their mean, and tangent
//! coordinates about a reference.
//!
//! q and -q are the same rotation. Tangent coordinates are the logarithm of the rotation from the
//! reference: three numbers in radians whose norm is the angle. Which of the four stored numbers is
//! w makes no difference to angles: exchanging components is an isometry of the unit sphere.

use std::f64::consts::TAU;

/// A unit quaternion: w, x, y, z.
pub type Quaternion = [f64; 4];

/// No rotation.
pub const IDENTITY: Quaternion = [1.0, 0.0, 0.0, 0.0];

/// The quaternion scaled to unit length; none where it has no length or is not finite.
pub fn unit(q: Quaternion) -> Option<Quaternion> {
    let size = q.iter().map(|v| v * v).sum::<f64>().sqrt();
    (size.is_finite() && size > 1e-6).then(|| q.map(|v| v / size))
}

/// The rotation about a vector by its length in radians.
pub fn from_vector(v: [f64; 3]) -> Option<Quaternion> {
    let angle = norm(v);
    if angle < 1e-12 {
        return angle.is_finite().then_some(IDENTITY);
    }
    let scale = (angle / 2.0).sin() / angle;
    unit([(angle / 2.0).cos(), v[0] * scale, v[1] * scale, v[2] * scale])
}

/// Roll, pitch and yaw in radians: turned about fixed x, then y, then z.
pub fn from_euler([roll, pitch, yaw]: [f64; 3]) -> Option<Quaternion> {
    let about = |axis: usize, angle: f64| {
        let mut q = [(angle / 2.0).cos(), 0.0, 0.0, 0.0];
        q[axis] = (angle / 2.0).sin();
        q
    };
    unit(times(about(3, yaw), times(about(2, pitch), about(1, roll))))
}

/// The first two columns of the rotation matrix, made orthonormal by Gram and Schmidt.
pub fn from_columns(a: [f64; 3], b: [f64; 3]) -> Option<Quaternion> {
    let x = unit3(a)?;
    let along: f64 = x.iter().zip(b).map(|(x, b)| x * b).sum();
    let y = unit3([b[0] - along * x[0], b[1] - along * x[1], b[2] - along * x[2]])?;
    let z = [x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0]];
    // The largest of the four is found first, so that nothing is divided by next to nothing.
    let (xx, yy, zz) = (x[0], y[1], z[2]);
    let four = [1.0 + xx + yy + zz, 1.0 + xx - yy - zz, 1.0 - xx + yy - zz, 1.0 - xx - yy + zz];
    let most = (0..4).max_by(|i, j| four[*i].total_cmp(&four[*j]))?;
    let q = match most {
        0 => [four[0], y[2] - z[1], z[0] - x[2], x[1] - y[0]],
        1 => [y[2] - z[1], four[1], x[1] + y[0], z[0] + x[2]],
        2 => [z[0] - x[2], x[1] + y[0], four[2], y[2] + z[1]],
        _ => [x[1] - y[0], z[0] + x[2], y[2] + z[1], four[3]],
    };
    unit(q)
}

/// First p's opposite, then q: the rotation from `p` to `q`, seen from `p`.
pub fn between(p: Quaternion, q: Quaternion) -> Quaternion {
    times([p[0], -p[1], -p[2], -p[3]], q)
}

/// Angle between two rotations in radians, 0 to pi.
pub fn angle(p: Quaternion, q: Quaternion) -> f64 {
    norm(logarithm(between(p, q)))
}

/// The rotation's axis times its angle, the angle at most pi.
pub fn logarithm(q: Quaternion) -> [f64; 3] {
    let q = if q[0] < 0.0 { q.map(|v| -v) } else { q };
    let vector = [q[1], q[2], q[3]];
    let sine = norm(vector);
    if sine < 1e-12 {
        return vector.map(|v| 2.0 * v);
    }
    let angle = 2.0 * sine.atan2(q[0]);
    vector.map(|v| v / sine * angle)
}

/// The same rotation written the other way round or the same way, whichever is nearer to `last`.
pub fn nearest(v: [f64; 3], last: [f64; 3]) -> [f64; 3] {
    let angle = norm(v);
    if angle < 1e-9 {
        return v;
    }
    let turn = |turns: f64| v.map(|c| c * (1.0 + turns * TAU / angle));
    let far = |w: &[f64; 3]| norm([w[0] - last[0], w[1] - last[1], w[2] - last[2]]);
    let ways = [v, turn(-1.0), turn(1.0)];
    ways.into_iter().min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(v)
}

/// Mean rotation: the eigenvector of the largest eigenvalue of the sum of q qT (Markley and others
/// 2007, Averaging quaternions), by repeated squaring. None of nothing.
pub fn mean(rotations: impl Iterator<Item = Quaternion>) -> Option<Quaternion> {
    let mut sum = [[0.0f64; 4]; 4];
    let mut some = false;
    for q in rotations {
        some = true;
        for (row, a) in sum.iter_mut().zip(q) {
            row.iter_mut().zip(q).for_each(|(cell, b)| *cell += a * b);
        }
    }
    if !some {
        return None;
    }
    for _ in 0..24 {
        let trace: f64 = (0..4).map(|i| sum[i][i]).sum();
        let m = sum.map(|row| row.map(|cell| cell / trace));
        for (i, row) in sum.iter_mut().enumerate() {
            for (j, cell) in row.iter_mut().enumerate() {
                *cell = (0..4).map(|k| m[i][k] * m[k][j]).sum();
            }
        }
    }
    let longest = sum.into_iter().max_by(|a, b| size(*a).total_cmp(&size(*b)))?;
    unit(longest)
}

fn size(q: Quaternion) -> f64 {
    q.iter().map(|v| v * v).sum()
}

fn times(p: Quaternion, q: Quaternion) -> Quaternion {
    [
        p[0] * q[0] - p[1] * q[1] - p[2] * q[2] - p[3] * q[3],
        p[0] * q[1] + p[1] * q[0] + p[2] * q[3] - p[3] * q[2],
        p[0] * q[2] - p[1] * q[3] + p[2] * q[0] + p[3] * q[1],
        p[0] * q[3] + p[1] * q[2] - p[2] * q[1] + p[3] * q[0],
    ]
}

fn norm(v: [f64; 3]) -> f64 {
    v.iter().map(|c| c * c).sum::<f64>().sqrt()
}

fn unit3(v: [f64; 3]) -> Option<[f64; 3]> {
    let size = norm(v);
    (size.is_finite() && size > 1e-6).then(|| v.map(|c| c / size))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn close(a: [f64; 3], b: [f64; 3]) -> bool {
        a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9)
    }

    #[test]
    fn a_vector_goes_there_and_back() {
        for v in [[0.3, -0.2, 0.9], [0.0, 0.0, 1e-14], [2.0, 1.0, -2.0]] {
            assert!(from_vector(v).is_some_and(|q| close(logarithm(q), v)), "{v:?}");
        }
        assert!(from_vector([f64::NAN, 0.0, 0.0]).is_none() && unit([0.0; 4]).is_none());
    }

    #[test]
    fn all_ways_of_storing_it_are_one_rotation() {
        // A quarter turn about z: columns (0, 1, 0) and (-1, 0, 0).
        let z = from_vector([0.0, 0.0, PI / 2.0]);
        let ways = [
            from_euler([0.0, 0.0, PI / 2.0]),
            from_columns([0.0, 2.0, 0.0], [-3.0, 1.0, 0.0]),
            z.map(|q| q.map(|v| -v)),
        ];
        for way in ways {
            assert!(way.zip(z).is_some_and(|(a, b)| angle(a, b) < 1e-7));
        }
        // Half turns, where each of the four is the largest once.
        for half in [[PI, 0.0, 0.0], [0.0, PI, 0.0], [0.0, 0.0, PI], [0.1, 0.0, 0.0]] {
            let q = from_vector(half).unwrap_or(IDENTITY);
            let column = |axis: usize| {
                let mut e = [0.0; 4];
                e[axis + 1] = 1.0;
                let turned = times(times(q, e), [q[0], -q[1], -q[2], -q[3]]);
                [turned[1], turned[2], turned[3]]
            };
            let back = from_columns(column(0), column(1));
            assert!(back.is_some_and(|back| angle(back, q) < 1e-7), "{half:?}");
        }
    }

    #[test]
    fn signs_do_not_move_the_mean() {
        let around = |x: f64, sign: f64| from_vector([x, 0.5, 0.0]).map(|q| q.map(|v| v * sign));
        let all = [around(0.1, 1.0), around(-0.1, -1.0), around(0.0, -1.0)];
        let found = mean(all.into_iter().flatten());
        let want = from_vector([0.0, 0.5, 0.0]);
        assert!(found.zip(want).is_some_and(|(a, b)| angle(a, b) < 1e-3), "{found:?}");
        assert!(mean(std::iter::empty()).is_none());
    }

    #[test]
    fn an_order_of_components_changes_no_angle() {
        let (p, q) = (from_vector([0.4, 0.1, -2.0]), from_vector([1.4, 0.3, 0.2]));
        let (Some(p), Some(q)) = (p, q) else { unreachable!("both are rotations") };
        let moved = |q: Quaternion| [q[1], q[2], q[3], q[0]];
        assert!((angle(p, q) - angle(moved(p), moved(q))).abs() < 1e-9);
    }

    #[test]
    fn beyond_half_a_turn_the_vector_goes_on() {
        let mut last = [0.0; 3];
        for step in 0..60 {
            let want = 0.1 * f64::from(step);
            let q = from_vector([want, 0.0, 0.0]).unwrap_or(IDENTITY);
            last = nearest(logarithm(q), last);
            assert!((last[0] - want).abs() < 1e-9, "{step}: {last:?}");
        }
    }
}
