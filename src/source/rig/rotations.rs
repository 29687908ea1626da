//! Which stored numbers are a rotation together: as declared, as named, or as the numbers show.

use std::f64::consts::{PI, TAU};

use crate::model::RotationForm;
use crate::source::declared_signals::DeclaredSignals;
use crate::source::rig::naming::{Axes, Names, groups};
use crate::source::rig::survey::Sample;

/// How far from one the length of a quaternion or of a column may be.
const UNIT: f64 = 1e-3;
/// Share of the rows in which that must hold.
const SHARE: f64 = 0.999;
/// Fewer rows show nothing.
const FEWEST: usize = 20;
/// Wraps that must be seen before numbers without names are taken for a rotation vector.
const WRAPS: usize = 2;

/// Stored numbers that are one rotation.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::source) struct Rotation {
    /// What their names have in front of the axis.
    pub front: String,
    pub from: Vec<usize>,
    pub form: RotationForm,
    /// Radians to one stored unit.
    pub factor: f64,
    pub why: String,
}

/// The rotations of one side of `width` numbers.
pub(in crate::source) fn find(
    names: &Names,
    declared: &DeclaredSignals,
    samples: &[Sample],
    leader: bool,
    width: usize,
) -> Vec<Rotation> {
    let seen = Seen { samples, leader };
    let mut found: Vec<Rotation> = Vec::new();
    for (form, members) in &declared.rotations {
        let place = |name: &String| names.names.iter().position(|known| known == name);
        if let Some(from) = members.iter().map(place).collect::<Option<Vec<_>>>() {
            let why = "declared in the profile".to_owned();
            found.push(seen.rotation(String::new(), from, *form, why));
        }
    }
    let taken = |found: &[Rotation], at: usize| found.iter().any(|r| r.from.contains(&at));
    let named = if names.given { groups(&names.names) } else { Vec::new() };
    for group in named {
        let Some(form) = group.axes.form() else { continue };
        let free = group.from.iter().all(|at| !taken(&found, *at));
        let fits = group.axes != Axes::Quaternion || seen.is_unit(&group.from, 0.1);
        if free && fits {
            let why = format!("names {}", shown(&group.from, names));
            found.push(seen.rotation(group.front, group.from, form, why));
        }
    }
    let mut at = 0;
    while at < width {
        let free =
            |count: usize| at + count <= width && (at..at + count).all(|n| !taken(&found, n));
        let from = |count: usize| (at..at + count).collect::<Vec<_>>();
        let (form, why) = if free(6) && seen.is_columns(at) {
            (RotationForm::Columns, "two unit vectors at a right angle")
        } else if free(4) && seen.is_unit(&from(4), UNIT) {
            let why = "unit norm of four; the order of w is not known, and no angle depends on it";
            (RotationForm::Xyzw, why)
        } else if free(3)
            && seen.vector(at).is_some_and(|own| {
                // Two of its numbers and a neighbour that hardly moves look much the same.
                let next = (1..3).filter(|n| free(3 + n)).filter_map(|n| seen.vector(at + n));
                next.into_iter().all(|other| own <= other)
            })
        {
            (RotationForm::Vector, "three numbers that wrap together as a rotation vector does")
        } else {
            at += 1;
            continue;
        };
        found.push(seen.rotation(String::new(), from(form.width()), form, why.to_owned()));
        at += form.width();
    }
    found.sort_by_key(|rotation| rotation.from.iter().min().copied());
    found
}

fn shown(from: &[usize], names: &Names) -> String {
    let mut order = from.to_vec();
    order.sort_unstable();
    let names: Vec<&str> = order.iter().map(|at| names.names[*at].as_str()).collect();
    names.join(", ")
}

/// One side of the samples.
#[derive(Clone, Copy)]
struct Seen<'a> {
    samples: &'a [Sample],
    leader: bool,
}

impl<'a> Seen<'a> {
    fn columns<'b>(self, from: &'b [usize]) -> impl Iterator<Item = Vec<&'a [f32]>> + 'b
    where
        'a: 'b,
    {
        let of = move |s: &'a Sample| from.iter().map(|at| s.stored(self.leader, *at)).collect();
        self.samples.iter().map(of)
    }

    fn rotation(
        self,
        front: String,
        from: Vec<usize>,
        form: RotationForm,
        why: String,
    ) -> Rotation {
        let angles = matches!(form, RotationForm::Vector | RotationForm::Euler);
        let all =
            from.iter().flat_map(|at| self.samples.iter().map(|s| s.stored(self.leader, *at)));
        let far = all.flatten().any(|v| f64::from(v.abs()) > TAU + 0.2);
        let factor = if angles && far { PI / 180.0 } else { 1.0 };
        Rotation { front, from, form, factor, why }
    }

    /// Whether nearly all rows of these numbers have a length within `within` of one, and some change.
    fn is_unit(self, from: &[usize], within: f64) -> bool {
        let (mut rows, mut near, mut changes) = (0usize, 0usize, false);
        let mut first: Option<Vec<f32>> = None;
        for columns in self.columns(from) {
            for frame in 0..columns.first().map_or(0, |c| c.len()) {
                let row: Vec<f32> = columns.iter().map(|c| c[frame]).collect();
                if row.iter().any(|v| !v.is_finite()) {
                    continue;
                }
                let square: f64 = row.iter().map(|v| f64::from(*v).powi(2)).sum();
                rows += 1;
                near += usize::from((square.sqrt() - 1.0).abs() < within);
                changes |= *first.get_or_insert_with(|| row.clone()) != row;
                if rows == 64 && 2 * near < rows {
                    return false;
                }
            }
        }
        rows >= FEWEST && changes && near as f64 >= SHARE * rows as f64
    }

    fn is_columns(self, at: usize) -> bool {
        let (x, y) = ([at, at + 1, at + 2], [at + 3, at + 4, at + 5]);
        if !self.is_unit(&x, UNIT) || !self.is_unit(&y, UNIT) {
            return false;
        }
        let all: Vec<usize> = (at..at + 6).collect();
        let (mut rows, mut near) = (0usize, 0usize);
        for columns in self.columns(&all) {
            let dot_at = |frame: usize| {
                let of = |i: usize| f64::from(columns[i][frame] * columns[i + 3][frame]);
                of(0) + of(1) + of(2)
            };
            for dot in (0..columns[0].len()).map(dot_at) {
                rows += 1;
                near += usize::from(dot.abs() < 2.0 * UNIT || dot.is_nan());
            }
        }
        near as f64 >= SHARE * rows as f64
    }

    /// What is left of the far steps of three numbers once they are taken for wraps of a rotation
    /// vector, on average; none if they are explained as well as a wrap of each number by itself.
    fn vector(self, at: usize) -> Option<f64> {
        let from = [at, at + 1, at + 2];
        let (mut wraps, mut together, mut apart) = (0usize, 0.0, 0.0);
        for columns in self.columns(&from) {
            let row = |frame: usize| [0, 1, 2].map(|i| f64::from(columns[i][frame]));
            for frame in 1..columns[0].len() {
                let (a, b) = (row(frame - 1), row(frame));
                let step = length(difference(a, b));
                if step.is_nan() || step < PI {
                    continue;
                }
                let size = length(b);
                let turned = b.map(|v| v * (1.0 - TAU / size));
                let rest = length(difference(a, turned));
                let each = difference(a, b).map(|d| d - TAU * (d / TAU).round());
                if size > TAU || rest > 0.7 {
                    return None;
                }
                wraps += 1;
                together += rest;
                apart += length(each);
            }
        }
        (wraps >= WRAPS && together < apart).then(|| together / wraps as f64)
    }
}

fn difference(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn length(v: [f64; 3]) -> f64 {
    v.iter().map(|c| c * c).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::num::rotation::{from_vector, logarithm};

    const FRAMES: usize = 200;

    /// A hand that turns about a slowly moving axis, near half a turn.
    fn turned(frame: usize) -> [f64; 4] {
        let t = frame as f64 * 0.05;
        let v = [3.0 + 0.5 * t.sin(), 0.3 * (0.7 * t).cos(), 0.2 * (0.4 * t).sin()];
        from_vector(v).unwrap_or(crate::num::rotation::IDENTITY)
    }

    fn sample(row: impl Fn(usize) -> Vec<f64>) -> Vec<Sample> {
        let rows: Vec<Vec<f64>> = (0..FRAMES).map(row).collect();
        let state = (0..rows[0].len()).flat_map(|at| rows.iter().map(move |r| r[at] as f32));
        vec![Sample::of(vec![0.0; FRAMES], state.collect(), Vec::new())]
    }

    fn found(samples: &[Sample], width: usize) -> Vec<(RotationForm, Vec<usize>)> {
        let names = (0..width).map(|n| format!("j{n}")).collect();
        let names = Names { names, given: false };
        let all = find(&names, &DeclaredSignals::default(), samples, false, width);
        all.into_iter().map(|r| (r.form, r.from)).collect()
    }

    #[test]
    fn a_quaternion_is_seen_by_its_length() {
        let row = |t: usize| {
            let [w, x, y, z] = turned(t);
            vec![0.4, 0.1 + 0.001 * t as f64, 0.2, x, y, z, w, 0.08]
        };
        assert_eq!(found(&sample(row), 8), [(RotationForm::Xyzw, vec![3, 4, 5, 6])]);
    }

    #[test]
    fn a_rotation_vector_is_seen_by_its_wraps() {
        let row = |t: usize| {
            let v = logarithm(turned(t));
            vec![0.4, 0.1 + 0.001 * t as f64, 0.2, v[0], v[1], v[2], 0.08]
        };
        assert_eq!(found(&sample(row), 7), [(RotationForm::Vector, vec![3, 4, 5])]);
        let roll = |t: usize| {
            let angle = 3.0 + 0.5 * (t as f64 * 0.05).sin();
            let roll = if angle > PI { angle - TAU } else { angle };
            vec![0.4, 0.1, 0.2 + 0.01 * t as f64, roll, 0.3, 0.2 + 0.002 * t as f64, 0.08]
        };
        assert_eq!(found(&sample(roll), 7), []);
    }

    #[test]
    fn two_columns_are_seen_and_joints_are_not() {
        let row = |t: usize| {
            let [w, x, y, z] = turned(t);
            let a = [1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y + z * w), 2.0 * (x * z - y * w)];
            let b = [2.0 * (x * y - z * w), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z + x * w)];
            a.into_iter().chain(b).collect()
        };
        assert_eq!(found(&sample(row), 6), [(RotationForm::Columns, (0..6).collect::<Vec<_>>())]);
        let joints = |t: usize| (0..7).map(|j| (0.02 * (t * (j + 1)) as f64).sin()).collect();
        assert_eq!(found(&sample(joints), 7), []);
    }
}
