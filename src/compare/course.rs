//! The course of each aspect over sessions in their order, of which each was compared with the first:
//! since when does it differ?

use std::cmp::Reverse;
use std::collections::BTreeSet;

use super::aspect::{Aspect, Group, Limits, Scale};
use super::comparison::Comparison;
use super::row::{Answer, Row};
use crate::model::Severity;

/// An aspect, as a whole or of one joint, over all sessions.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseLine {
    /// What is compared.
    pub aspect: Aspect,
    /// The joint's name; none for the whole.
    pub joint: Option<String>,
    /// Whether the joint is linear.
    pub linear: bool,
    /// The equivalence margin and the limit for a failure, of the first comparison that has it.
    pub limits: Limits,
    /// One for each session; the first is what all others are compared with.
    pub points: Vec<Point>,
}

/// One session on it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Point {
    /// What stands for the session, in the aspect's unit. An aspect that only pairs have is the
    /// change: then the first has none.
    pub value: Option<f64>,
    /// The change against the first, in the aspect's scale; none for the first.
    pub change: Option<f64>,
    /// Its interval at 95 %.
    pub interval: Option<(f64, f64)>,
    /// The answer; none for the first, and where the two sessions have nothing to compare.
    pub answer: Option<Answer>,
    /// What a reader should know of a difference.
    pub notes: Vec<String>,
}

/// Which sessions differ from the first; sessions are counted from 0.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Since {
    /// The first session from which on every later one differs, to the last.
    pub from: Option<usize>,
    /// Others that differ before it; those that differ at all where the last does not.
    pub apart: Vec<usize>,
}

impl CourseLine {
    /// Which sessions differ from the first.
    pub fn since(&self) -> Since {
        let differs = |at: &usize| matches!(self.points[*at].answer, Some(Answer::Different(_)));
        let from = (1..self.points.len()).rev().take_while(differs).last();
        let before = from.unwrap_or(self.points.len());
        Since { from, apart: (1..before).filter(differs).collect() }
    }

    /// How many sessions differ from the first.
    pub fn differing(&self) -> usize {
        self.points.iter().filter(|p| matches!(p.answer, Some(Answer::Different(_)))).count()
    }

    /// The worst difference of all sessions.
    pub fn worst(&self) -> Option<Severity> {
        let severity = |point: &Point| match point.answer {
            Some(Answer::Different(severity)) => Some(severity),
            _ => None,
        };
        self.points.iter().filter_map(severity).max()
    }

    /// Sessions after the first that are neither the same nor different, counted from 0.
    pub fn open(&self) -> Vec<usize> {
        let open =
            |at: &usize| matches!(self.points[*at].answer, None | Some(Answer::Inconclusive));
        (1..self.points.len()).filter(open).collect()
    }
}

/// The course of every aspect, of sessions of which each was compared with one and the same first.
/// Worst first; what training normalises by behind all else, since it follows from it.
pub fn course(comparisons: &[Comparison]) -> Vec<CourseLine> {
    let mut places: BTreeSet<(Aspect, Option<usize>)> = BTreeSet::new();
    for one in comparisons {
        places.extend(one.rows.iter().map(|row| (row.aspect, place(one, row))));
    }
    // Where no joint could be measured in a session, one row stands for all of them.
    let of_joints: BTreeSet<Aspect> =
        places.iter().filter(|(_, joint)| joint.is_some()).map(|(aspect, _)| *aspect).collect();
    places.retain(|(aspect, joint)| joint.is_some() || !of_joints.contains(aspect));
    let mut lines: Vec<CourseLine> =
        places.into_iter().filter_map(|place| line(comparisons, place)).collect();
    lines.sort_by_key(|line| {
        let follows = line.aspect.group() == Group::Statistics;
        (follows, Reverse(line.worst()), line.open().is_empty())
    });
    lines
}

/// The joint's place in the first session.
fn place(of: &Comparison, row: &Row) -> Option<usize> {
    row.joint.and_then(|joint| of.pairs.get(joint)).map(|pair| pair.a)
}

fn line(
    comparisons: &[Comparison],
    (aspect, joint): (Aspect, Option<usize>),
) -> Option<CourseLine> {
    let rows: Vec<Option<&Row>> = comparisons
        .iter()
        .map(|one| one.rows.iter().find(|row| row.aspect == aspect && place(one, row) == joint))
        .collect();
    let limits = rows.iter().flatten().next()?.limits;
    let pair = joint.and_then(|at| {
        let mut all = comparisons.iter().flat_map(|one| &one.pairs);
        all.find(|pair| pair.a == at)
    });
    // How far two sessions lie apart is no value of one of them.
    let of_pairs = aspect.scale() == Scale::Share || aspect == Aspect::StartPose;
    let first = rows.iter().flatten().find_map(|row| row.values).filter(|_| !of_pairs);
    let mut points = vec![Point { value: first.map(|values| values.0), ..Point::default() }];
    points.extend(rows.iter().map(|row| {
        row.map_or_else(Point::default, |row| Point {
            value: if of_pairs { row.change } else { row.values.map(|values| values.1) },
            change: row.change,
            interval: row.interval,
            answer: Some(row.answer),
            notes: if row.severity().is_some() { row.notes.clone() } else { Vec::new() },
        })
    }));
    Some(CourseLine {
        aspect,
        joint: pair.map(|pair| pair.name.clone()),
        linear: pair.is_some_and(|pair| pair.linear),
        limits,
        points,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::advice::{Advice, Verdict};
    use crate::compare::side::{Pair, Tasks};

    /// Answers by their marks, of the sessions after the first.
    fn marked(marks: &str) -> CourseLine {
        let answer = |mark| match mark {
            '=' => Some(Answer::Same),
            '!' => Some(Answer::Different(Severity::Warn)),
            'x' => Some(Answer::Different(Severity::Fail)),
            '?' => Some(Answer::Inconclusive),
            _ => None,
        };
        let points = marks.chars().map(|mark| Point { answer: answer(mark), ..Point::default() });
        CourseLine {
            aspect: Aspect::Offset,
            joint: None,
            linear: false,
            limits: Aspect::Offset.limits(0.0, false),
            points: std::iter::once(Point::default()).chain(points).collect(),
        }
    }

    #[test]
    fn since_is_the_first_from_which_on_every_later_one_differs() {
        for (marks, from, apart, open) in [
            ("===", None, &[][..], &[][..]),
            ("=xx", Some(2), &[], &[]),
            ("x!x", Some(1), &[], &[]),
            ("==x", Some(3), &[], &[]),
            ("x==", None, &[1], &[]),
            ("xx=", None, &[1, 2], &[]),
            ("x=!", Some(3), &[1], &[]),
            // What is not decided is no difference, and ends none.
            ("x?x", Some(3), &[1], &[2]),
            ("xx?", None, &[1, 2], &[3]),
            ("-=?", None, &[], &[1, 3]),
        ] {
            let line = marked(marks);
            assert_eq!(line.since(), Since { from, apart: apart.to_vec() }, "{marks}");
            assert_eq!(line.open(), open, "{marks}");
            assert_eq!(line.differing(), marks.matches(['x', '!']).count(), "{marks}");
        }
        assert_eq!(marked("!x=").worst(), Some(Severity::Fail));
        assert_eq!(marked("=!=").worst(), Some(Severity::Warn));
        assert_eq!(marked("=?=").worst(), None);
    }

    fn row(aspect: Aspect, joint: Option<usize>, b: f64, answer: Answer) -> Row {
        let limits = aspect.limits(0.03, false);
        Row {
            values: Some((1.0, b)),
            change: Some(b - 1.0),
            answer,
            ..Row::open(aspect, joint, limits)
        }
    }

    fn comparison(joints: &[(&str, usize)], rows: Vec<Row>) -> Comparison {
        let pair = |(b, (name, a)): (usize, &(&str, usize))| Pair {
            name: (*name).to_owned(),
            a: *a,
            b,
            linear: false,
            gripper: false,
        };
        Comparison {
            episodes: (9, 9),
            duration_s: (9.0, 9.0),
            shared: 0,
            pairs: joints.iter().enumerate().map(pair).collect(),
            tasks: Tasks::default(),
            schema: Vec::new(),
            rows,
            advice: Advice { verdict: Verdict::Merge, steps: Vec::new(), cost: None },
        }
    }

    /// The second session has no waist: the elbow is its joint 0 and that of the first is 1.
    #[test]
    fn a_joint_is_followed_by_its_place_in_the_first_and_the_worst_comes_first() {
        let fail = Answer::Different(Severity::Fail);
        let all = [
            comparison(&[("elbow", 1)], vec![row(Aspect::Offset, Some(0), 5.0, fail)]),
            comparison(
                &[("waist", 0), ("elbow", 1)],
                vec![
                    row(Aspect::Offset, Some(0), 1.1, Answer::Same),
                    row(Aspect::Offset, Some(1), 6.0, fail),
                    row(Aspect::Lag, None, 0.0, Answer::Inconclusive),
                    row(Aspect::Workspace, None, 1.4, Answer::Same),
                    row(Aspect::Mean, Some(1), 9.0, fail),
                ],
            ),
        ];
        let lines = course(&all);
        let names: Vec<_> = lines.iter().map(|l| (l.aspect, l.joint.as_deref())).collect();
        assert_eq!(
            names,
            [
                (Aspect::Offset, Some("elbow")),
                (Aspect::Offset, Some("waist")),
                (Aspect::Lag, None),
                (Aspect::Workspace, None),
                (Aspect::Mean, Some("elbow")),
            ]
        );
        let values = |at: usize| lines[at].points.iter().map(|p| p.value).collect::<Vec<_>>();
        assert_eq!(values(0), [Some(1.0), Some(5.0), Some(6.0)]);
        assert_eq!(values(1), [Some(1.0), None, Some(1.1)]);
        assert_eq!(lines[1].open(), [1], "what is missing in a session is open there");
        // A share lies between two sessions: it is the change.
        let share = values(3)[2].unwrap_or(f64::NAN);
        assert!(values(3)[..2] == [None, None] && (share - 0.4).abs() < 1e-12, "{share}");
        assert_eq!(lines[0].since(), Since { from: Some(1), apart: Vec::new() });
    }

    /// A session without a leader measures no offset: one row of it stands for all joints.
    #[test]
    fn a_row_for_all_joints_gives_way_to_rows_of_joints() {
        let open = Answer::Inconclusive;
        let all = [
            comparison(&[("elbow", 0)], vec![row(Aspect::Offset, None, 1.0, open)]),
            comparison(&[("elbow", 0)], vec![row(Aspect::Offset, Some(0), 1.0, Answer::Same)]),
        ];
        let lines = course(&all);
        assert_eq!(lines.len(), 1);
        assert_eq!((lines[0].joint.as_deref(), lines[0].open()), (Some("elbow"), vec![1]));
    }
}
