//! Faults of what was read: what the servos handed out is not where they were.

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use std::f64::consts::{PI, TAU};

use super::command::{fast_span, lost_span};
use super::fault::Fault;
use super::pick::{apart, share_of};
use super::plan::Plan;
use super::planted::{Mark, Mine};

/// What the logger holds before rows are lost.
pub(super) struct Raw<'a> {
    pub moment_s: &'a [f64],
    pub leader: &'a mut [Vec<f64>],
    pub follower: &'a mut [Vec<f64>],
    /// Names of the joints.
    pub joints: &'a [String],
    /// One count, radians.
    pub count: f64,
}

impl Raw<'_> {
    fn span(&self, frame: usize, frames: usize) -> [f64; 2] {
        let last = self.moment_s.len() - 1;
        let step = self.moment_s[last] / last.max(1) as f64;
        [self.moment_s[frame.min(last)], self.moment_s[(frame + frames - 1).min(last)] + 0.5 * step]
    }

    pub fn whole(&self) -> [f64; 2] {
        self.span(0, self.moment_s.len())
    }
}

/// The leader's port is lost: its readings freeze, and the follower gets them.
pub(super) fn freeze_leader(
    leader: &mut [Vec<f64>],
    moment_s: &[f64],
    mine: &Mine<'_>,
    plan: &Plan,
    marks: &mut Vec<Mark>,
) {
    for (planted, fault, _) in mine.iter() {
        if let Fault::FrozenLeader { seconds } = *fault
            && let Some(span) = lost_span(plan, None, seconds)
        {
            let count = hold(leader, moment_s, span);
            marks.push(Mark { planted, spans_s: vec![span], count });
        }
    }
}

/// Keeps the last reading over a span of time; says on how many frames.
fn hold(columns: &mut [Vec<f64>], moment_s: &[f64], [start_s, end_s]: [f64; 2]) -> usize {
    let first = moment_s.partition_point(|t| *t < start_s).max(1);
    let end = moment_s.partition_point(|t| *t < end_s).max(first);
    for column in columns {
        let last = column[first - 1];
        column[first..end].fill(last);
    }
    end - first
}

/// Plants all faults of readings.
pub(super) fn plant(
    raw: &mut Raw<'_>,
    mine: &Mine<'_>,
    plan: &Plan,
    rng: &mut ChaCha8Rng,
    marks: &mut Vec<Mark>,
) {
    let frames = raw.moment_s.len();
    for (planted, fault, joint) in mine.iter() {
        let at = joint.unwrap_or(0);
        let mark = match fault {
            Fault::StaleReadings { share } => stale(raw, joint, share_of(frames, *share), rng),
            Fault::FrozenFollower { seconds } => {
                let Some(span) = fast_span(plan, *seconds) else { continue };
                (vec![span], hold(raw.follower, raw.moment_s, span))
            }
            Fault::Spikes { count, deg } => {
                let places = apart((2..frames.saturating_sub(2)).collect(), *count, 5, rng);
                for &frame in &places {
                    let side = if rng.random_bool(0.5) { 1.0 } else { -1.0 };
                    raw.follower[at][frame] +=
                        side * (deg.to_radians() / raw.count).round() * raw.count;
                }
                (places.iter().map(|f| raw.span(*f, 1)).collect(), places.len())
            }
            Fault::EncoderWrap => (vec![raw.whole()], wrap(raw, at)),
            Fault::SwappedJoints { with } => {
                if let Some(other) = raw.joints.iter().position(|j| j == with) {
                    raw.follower.swap(at, other);
                }
                (vec![raw.whole()], 1)
            }
            Fault::UnusedJoint => {
                raw.follower[at].fill(0.3);
                raw.leader[at].fill(0.3);
                (vec![raw.whole()], 1)
            }
            Fault::SignFlip => {
                raw.follower[at].iter_mut().for_each(|v| *v = -*v);
                (vec![raw.whole()], 1)
            }
            Fault::MissingValues { share, run } => missing(raw, at, *share, *run, rng),
            _ => continue,
        };
        marks.push(Mark { planted, spans_s: mark.0, count: mark.1 });
    }
}

/// Hands out the reading before once more, where the joint moves by 3 counts and more a frame.
fn stale(
    raw: &mut Raw<'_>,
    joint: Option<usize>,
    count: usize,
    rng: &mut ChaCha8Rng,
) -> (Vec<[f64; 2]>, usize) {
    let joints: Vec<usize> = joint.map_or_else(|| (0..raw.follower.len()).collect(), |j| vec![j]);
    let min = 3.0 * raw.count * (1.0 - 1e-9);
    let moved = |frame: usize| {
        joints.iter().any(|j| (raw.follower[*j][frame] - raw.follower[*j][frame - 1]).abs() >= min)
    };
    let candidates = (2..raw.moment_s.len().saturating_sub(1))
        .filter(|k| moved(k - 1) && moved(*k) && moved(k + 1))
        .collect();
    let places = apart(candidates, count, 4, rng);
    for &frame in &places {
        for &j in &joints {
            raw.follower[j][frame] = raw.follower[j][frame - 1];
        }
    }
    (places.iter().map(|f| raw.span(*f, 1)).collect(), places.len())
}

/// Moves both encoders' zero half a turn away from the middle of the work range; says how often
/// the follower's reading jumps.
fn wrap(raw: &mut Raw<'_>, joint: usize) -> usize {
    let low = raw.follower[joint].iter().copied().fold(f64::INFINITY, f64::min);
    let high = raw.follower[joint].iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let shift = ((PI - f64::midpoint(low, high)) / raw.count).round() * raw.count;
    for value in raw.leader[joint].iter_mut().chain(raw.follower[joint].iter_mut()) {
        *value += shift;
        if *value >= PI {
            *value -= TAU;
        }
    }
    raw.follower[joint].windows(2).filter(|w| (w[1] - w[0]).abs() >= PI).count()
}

/// Blanks runs of the follower's joint.
fn missing(
    raw: &mut Raw<'_>,
    joint: usize,
    share: f64,
    run: usize,
    rng: &mut ChaCha8Rng,
) -> (Vec<[f64; 2]>, usize) {
    let frames = raw.moment_s.len();
    let run = run.clamp(1, frames);
    let wanted = share_of(frames, share);
    let starts = apart((0..=frames - run).collect(), wanted.div_ceil(run), run, rng);
    for &start in &starts {
        raw.follower[joint][start..start + run].fill(f64::NAN);
    }
    (starts.iter().map(|s| raw.span(*s, run)).collect(), starts.len() * run)
}
