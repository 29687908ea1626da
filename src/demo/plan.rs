//! What the hand sets out to do in one episode: a sequence of motions between poses.

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::arm::{MOST, Part, Place, Pose, reach};
use super::planted::{Mark, Mine};
use super::recipe::Operator;
use super::requests::Requests;

/// What a stretch of the plan is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// From one place to another.
    Move,
    /// The gripper alone.
    Grip,
    /// A pause, held by hand.
    Dwell,
    /// A pause with the leader laid down: no tremor.
    Parked,
}

/// One stretch of the plan.
#[derive(Debug, Clone)]
pub(super) struct Segment {
    pub start_s: f64,
    pub duration_s: f64,
    pub from: Pose,
    pub to: Pose,
    /// Exponent on time: below 1 the motion's peak comes early, as a practised hand's does.
    pub skew: f64,
    pub kind: Kind,
}

impl Segment {
    pub fn end_s(&self) -> f64 {
        self.start_s + self.duration_s
    }
}

/// One arm's plan for one episode.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub segments: Vec<Segment>,
    /// When a plug is between the jaws, and at which opening they meet it (radians).
    pub contact: Option<(f64, f64, f64)>,
    /// When the recording ends.
    pub end_s: f64,
}

impl Plan {
    /// The motion with the largest joint excursion.
    pub fn longest_move(&self) -> Option<&Segment> {
        let moves = self.segments.iter().filter(|s| s.kind == Kind::Move);
        moves.max_by(|a, b| excursion_deg(a).total_cmp(&excursion_deg(b)))
    }

    /// The motion that takes one of the arm's joints farthest.
    pub fn longest_move_of(&self, joint: usize) -> Option<&Segment> {
        let far = |s: &&Segment| (s.to[joint] - s.from[joint]).abs();
        let moves = self.segments.iter().filter(|s| s.kind == Kind::Move);
        moves.max_by(|a, b| far(a).total_cmp(&far(b)))
    }

    /// When the hand pauses.
    pub fn rests_s(&self) -> Vec<[f64; 2]> {
        let rests = self.segments.iter().filter(|s| matches!(s.kind, Kind::Dwell | Kind::Parked));
        rests.map(|s| [s.start_s, s.end_s()]).collect()
    }
}

fn excursion_deg(segment: &Segment) -> f64 {
    let far = segment.from.iter().zip(&segment.to).map(|(a, b)| (a - b).abs());
    far.fold(0.0, f64::max).to_degrees()
}

/// Draws up plans: the hand's habits and its random numbers.
pub(super) struct Planner<'a> {
    operator: &'a Operator,
    parts: &'a [Part],
    rng: &'a mut ChaCha8Rng,
    pace: f64,
    /// Peak speed of long motions, degrees a second, where they are hurried.
    hurry_deg_s: Option<f64>,
    now_s: f64,
    at: Pose,
    segments: Vec<Segment>,
}

const OPEN_DEG: f64 = 42.0;
const CLOSED_DEG: f64 = 5.0;
const CLEAR_M: f64 = 0.09;
/// Motions beyond this are hurried by a hand in a hurry.
const HURRIED_DEG: f64 = 25.0;
/// Direction of the usual pots, one side of the middle.
const USUAL_DEG: f64 = 40.0;

impl<'a> Planner<'a> {
    pub fn new(operator: &'a Operator, parts: &'a [Part], rng: &'a mut ChaCha8Rng) -> Self {
        let pace = operator.pace * (0.06 * rng.sample::<f64, _>(StandardNormal)).exp();
        let segments = Vec::with_capacity(24);
        Self {
            operator,
            parts,
            rng,
            pace,
            hurry_deg_s: None,
            now_s: 0.0,
            at: Pose::default(),
            segments,
        }
    }

    fn normal(&mut self) -> f64 {
        self.rng.sample(StandardNormal)
    }

    /// A motion whose duration grows with the root of its largest joint excursion.
    fn go(&mut self, to: Pose, kind: Kind) {
        let mut segment = Segment {
            start_s: self.now_s,
            duration_s: 0.0,
            from: self.at,
            to,
            skew: (0.08 * self.normal() - 0.04).exp().clamp(0.8, 1.2),
            kind,
        };
        let ease = if kind == Kind::Grip { 0.7 } else { 1.0 };
        let usual = ease * (0.40 + 0.135 * excursion_deg(&segment).sqrt()) / self.pace;
        segment.duration_s = (usual * (self.operator.variation * self.normal()).exp()).max(0.25);
        if let Some(peak_deg_s) = self.hurry_deg_s
            && excursion_deg(&segment) > HURRIED_DEG
        {
            // The peak of a motion of minimum jerk is 1.875 times its mean speed.
            segment.duration_s = 1.875 * excursion_deg(&segment) / peak_deg_s;
            segment.skew = 1.0;
        }
        self.push(segment);
    }

    /// A pause in which the hand drifts a little.
    fn pause(&mut self, seconds: f64, kind: Kind) {
        let mut to = self.at;
        if kind == Kind::Dwell {
            for value in to.iter_mut().take(self.parts.len() - 1) {
                *value += (0.1 * self.rng.sample::<f64, _>(StandardNormal)).to_radians();
            }
        }
        self.push(Segment {
            start_s: self.now_s,
            duration_s: seconds,
            from: self.at,
            to,
            skew: 1.0,
            kind,
        });
    }

    fn dwell(&mut self) {
        let [min, max] = self.operator.dwell_s;
        let seconds = self.rng.random_range(min..=max.max(min));
        self.pause(seconds, Kind::Dwell);
    }

    fn push(&mut self, segment: Segment) {
        self.now_s = segment.end_s();
        self.at = segment.to;
        self.segments.push(segment);
    }

    /// One plug from the tray to a pot.
    pub fn plan(mut self, mine: &Mine<'_>, stops: &[(f64, f64)], marks: &mut Vec<Mark>) -> Plan {
        let requests = Requests::of(mine);
        let spread = self.operator.spread;
        let home = self.home();
        // Reaching across the table, the elbow swings to the other side.
        let swing = 16.0 * f64::midpoint(1.0, spread);
        let cell = Place {
            azimuth_deg: spread * (33.0 + 4.0 * (self.rng.random_range(0..6) as f64 - 2.5)),
            radius_m: 0.28 + 0.02 * spread * (self.rng.random_range(0..4) as f64 - 1.5),
            height_m: CLEAR_M,
            turn_deg: 7.0 * self.normal().clamp(-2.0, 2.0),
            swing_deg: swing + 6.0 * self.normal().clamp(-2.0, 2.0),
            jaw_deg: OPEN_DEG,
        };
        let pot = Place {
            azimuth_deg: spread * (-32.0 + 9.0 * (self.rng.random_range(0..4) as f64 - 1.5)),
            radius_m: 0.29 + 0.03 * spread * (self.rng.random_range(0..3) as f64 - 1.0),
            turn_deg: 9.0 * self.normal().clamp(-2.0, 2.0),
            swing_deg: -swing + 6.0 * self.normal().clamp(-2.0, 2.0),
            jaw_deg: CLOSED_DEG,
            ..cell
        };
        let plug_deg = 17.0 + 1.5 * self.normal().clamp(-2.0, 2.0);

        self.at = home;
        self.dwell();
        if let Some((planted, seconds)) = requests.idle_head {
            self.pause(seconds, Kind::Dwell);
            marks.push(mark(planted, 0.0, self.now_s, 1));
        }
        if let Some(planted) = requests.pushed {
            self.pause(2.4, Kind::Parked);
            marks.push(mark(planted, self.now_s - 1.9, self.now_s - 0.9, 1));
        }
        if let Some((planted, deg_s)) = requests.fast_hand {
            self.hurry_deg_s = Some(deg_s);
            marks.push(mark(planted, self.now_s, f64::MAX, 1));
        }
        self.visit(cell);
        let closing_s = self.now_s;
        self.grip(CLOSED_DEG);
        self.rise(Place { jaw_deg: CLOSED_DEG, ..cell });

        let first = self.segments.len();
        if let Some((planted, factor)) = requests.outlier {
            let start = self.now_s;
            self.stray(pot, factor);
            marks.push(mark(planted, start, self.now_s, 1));
        }
        if let Some((planted, joint, push_deg, seconds)) = requests.overreach {
            let span = self.overreach(joint % self.parts.len(), stops[joint], push_deg, seconds);
            marks.push(mark(planted, span[0], span[1], 1));
        }
        self.visit(pot);
        if self.operator.wait_s > 0.0 {
            self.pause(self.operator.wait_s, Kind::Dwell);
        }
        self.grip(OPEN_DEG);
        let opened_s = self.now_s;
        self.rise(Place { jaw_deg: OPEN_DEG, ..pot });
        if let Some((planted, joint, push_deg, stop_deg)) = requests.limit {
            let own = joint % self.parts.len();
            let stop = stops[joint];
            let span = self.push_past(first, own, stop, (push_deg, stop_deg));
            marks.push(mark(planted, span[0], span[1], 1));
        }
        self.go(home, Kind::Move);
        self.dwell();
        if let Some((planted, seconds)) = requests.idle_tail {
            let start = self.now_s;
            self.pause(seconds, Kind::Dwell);
            marks.push(mark(planted, start, self.now_s, 1));
        }
        let mut end_s = self.now_s;
        if let Some(planted) = requests.cut_short {
            let last = self.segments.iter().rev().find(|s| s.kind == Kind::Move);
            end_s = last.map_or(end_s, |s| s.start_s + 0.45 * s.duration_s);
            marks.push(mark(planted, end_s - 0.2, end_s, 1));
        }
        if let Some((planted, seconds)) = requests.aborted {
            end_s = seconds;
            marks.push(mark(planted, 0.0, end_s, 1));
        }
        if let Some(planted) = requests.no_grasp {
            marks.push(mark(planted, closing_s, opened_s, 1));
        }
        let contact =
            requests.no_grasp.is_none().then_some((closing_s, opened_s, plug_deg.to_radians()));
        Plan { segments: self.segments, contact, end_s }
    }

    /// The pose between two takes: folded, gripper half open, never quite the same.
    fn home(&mut self) -> Pose {
        let place = Place {
            azimuth_deg: 0.0,
            radius_m: 0.17,
            height_m: 0.14,
            turn_deg: 0.0,
            swing_deg: 0.0,
            jaw_deg: 24.0,
        };
        let mut pose = reach(place, self.parts);
        for value in pose.iter_mut().take(self.parts.len()) {
            *value += (0.8 * self.rng.sample::<f64, _>(StandardNormal)).to_radians();
        }
        pose
    }

    /// Above a place, a pause, now and then a correction, down, a pause.
    fn visit(&mut self, place: Place) {
        let above = reach(place, self.parts);
        self.go(above, Kind::Move);
        self.dwell();
        if self.rng.random_bool(0.2) {
            let aside = self.normal().clamp(-2.0, 2.0);
            self.go(
                reach(Place { azimuth_deg: place.azimuth_deg + 1.5 * aside, ..place }, self.parts),
                Kind::Move,
            );
        }
        self.go(reach(Place { height_m: 0.005, ..place }, self.parts), Kind::Move);
        self.dwell();
    }

    fn grip(&mut self, jaw_deg: f64) {
        let mut pose = self.at;
        pose[self.parts.len() - 1] = jaw_deg.to_radians();
        self.go(pose, Kind::Grip);
        self.dwell();
    }

    fn rise(&mut self, place: Place) {
        self.go(reach(Place { height_m: CLEAR_M, ..place }, self.parts), Kind::Move);
        self.dwell();
    }

    /// To a far table at the arm's full reach and back over the top, twice.
    fn stray(&mut self, pot: Place, factor: f64) {
        for side in [1.0, 0.8] {
            let far = Place {
                azimuth_deg: (-USUAL_DEG * factor * side).clamp(-118.0, 118.0),
                radius_m: 0.39,
                height_m: 0.03,
                ..pot
            };
            self.go(reach(far, self.parts), Kind::Move);
            self.dwell();
            self.go(reach(Place { radius_m: 0.2, height_m: 0.25, ..far }, self.parts), Kind::Move);
        }
    }

    /// Takes one joint past its nearer stop, holds it there, and takes it back.
    fn overreach(
        &mut self,
        joint: usize,
        (lower, upper): (f64, f64),
        push_deg: f64,
        seconds: f64,
    ) -> [f64; 2] {
        let here = self.at;
        let (stop, outward) =
            if here[joint] - lower < upper - here[joint] { (lower, -1.0) } else { (upper, 1.0) };
        let mut past = here;
        past[joint] = stop + outward * push_deg.to_radians();
        self.go(past, Kind::Move);
        let start_s = self.now_s;
        self.pause(seconds, Kind::Dwell);
        let end_s = self.now_s;
        self.go(here, Kind::Move);
        [start_s, end_s]
    }

    /// Bends the visit to the pot so that one joint is sent past its nearer stop.
    fn push_past(
        &mut self,
        first: usize,
        joint: usize,
        (lower, upper): (f64, f64),
        (push_deg, stop_deg): (f64, Option<f64>),
    ) -> [f64; 2] {
        let push = push_deg.to_radians();
        let here = self.segments[first].to[joint];
        let stop = stop_deg.map_or_else(
            || if here - lower < upper - here { lower } else { upper },
            f64::to_radians,
        );
        let outward = if stop < f64::midpoint(lower, upper) { -1.0 } else { 1.0 };
        let past = stop + outward * push;
        let last = self.segments.len() - 1;
        for (i, segment) in self.segments.iter_mut().enumerate().skip(first) {
            if i > first {
                segment.from[joint] = past;
            }
            // The path up again may leave the stop.
            if i + 1 < last {
                segment.to[joint] = past;
            }
        }
        let up = last - 1;
        self.segments[last].from[joint] = self.segments[up].to[joint];
        [self.segments[first].end_s(), self.segments[up].start_s]
    }
}

fn mark(planted: usize, start_s: f64, end_s: f64, count: usize) -> Mark {
    Mark { planted, spans_s: vec![[start_s, end_s]], count }
}

const _: () = assert!(MOST == 8, "an arm of 8 joints fills a pose");
