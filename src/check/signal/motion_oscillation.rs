//! A follower's joint that swings about its path while it moves, and no command asks for it.
//!
//! The policy sees an unrest that no action explains; gears wear, and the tool shakes.
//!
//! How: the follower less the leader, the lag taken out, in windows of 0.5 s for 6 to 20 Hz, 0.75 s
//! for 4 to 6 Hz and 1.5 s for 2.5 to 4 Hz: three swings each. A window counts if one sine explains 60
//! % of it, all three thirds of it swing by half of the largest, and the leader moves by less than 0.4
//! of that amplitude at the same frequency. Read is the largest swing, peak to peak, with its
//! frequency. Windows are looked at only where second differences over 40 or 120 ms say that
//! something swings. Below 12 Hz nothing is assessed. Frequencies end at 0.45 of the frame rate: 9 Hz at 20 Hz, 13.5
//! Hz at 30 Hz, 20 Hz from 100 to 1,000 Hz.
//!
//! Traps: what the leader does too (tremor, commands in steps, wiping) is no swing of the servo: a
//! servo that only follows leaves at most twice of it. Readings that are new in every second or
//! third frame only make steps, not swings: windows in which 30 % of the rows repeat are left
//! out where they hold fewer than six rows to a swing, and windows with a step that no sine of this
//! size has. At rest limit-cycle looks closer. Grippers and linear joints are left out.

use std::f64::consts::TAU;
use std::ops::Range;

use pulp::f32x8;

use crate::check::prelude::{Check, Params, Study};
use crate::check::study::{Trace, Traced};
use crate::model::{CheckSpec, Family, FrameSpan, JointId, Metric, Sheet, SpanList, Unit};
use crate::num::sine::{Level, Sine, Wave};
use crate::num::wide::{Eight, eight_fn, eight_from};

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// Lowest and highest frequency, hertz, and the window in which they show as three swings, seconds.
const BANDS: [(f64, f64, f64); 3] = [(6.0, 20.0, 0.5), (4.0, 6.0, 0.75), (2.5, 4.0, 1.5)];
/// Of the frame rate; above it a swing looks slower than it is.
const NYQUIST: f64 = 0.45;
/// At longer periods a motion of half a second has fewer than six frames.
const SLOWEST_S: f64 = 1.0 / 12.0;
/// Means of rows are taken down to this rate, hertz.
const FINE_HZ: f64 = 50.0;
const EXPLAINED: f64 = 0.6;
const STEADY: f64 = 0.5;
/// Three swings have six; what is left of the motion may take two. Fewer are no sine, and fits are dear.
const FEWEST_CROSSINGS: usize = 4;
const OF_LEADER: f64 = 0.4;
/// Swings below this are not looked for: half a degree peak to peak.
const LEAST: f64 = 0.25 * DEGREE;
/// Second differences whose mean is this share of their sizes are of one sign. A swing of 2.5 Hz, the slowest,
/// reaches 0.68 of them in a block.
const ONE_SIGN: f32 = 0.8;
/// Points of a trace to a block of the first look, those of the longer second difference, and the means
/// of both differences beyond which more is looked at.
const BLOCK: usize = 8;
const FAR: usize = 3;
const UNREST: (f32, f32) = ((0.4 * DEGREE) as f32, (0.5 * DEGREE) as f32);

static SWING: Metric = Metric::of_joint(
    "swing",
    Unit::Radian,
    "peak to peak of the follower's swing about the leader's path",
)
.above(Some(1.5 * DEGREE), Some(2.5 * DEGREE));

static SPEC: CheckSpec = CheckSpec {
    id: "motion-oscillation",
    family: Family::Signal,
    applies_to: crate::model::SignalKind::MOVING,
    needs: crate::model::Relation::Target,
    advisory: false,
    source: include_str!("motion_oscillation.rs"),
    cause: "the servo's gains are too high for its load, or something in the drive is loose",
    remedy: "lower the P or D gain of that joint; look for a loose horn, belt or bearing",
    reference: "rule as stated; limits by engineering judgement, no source",
    metrics: &[&SWING],
    params: &[],
};

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_episode(&SPEC, measure);

fn measure(study: &Study<'_>, _: &Params, sheet: &mut Sheet) {
    if let Some(reason) = study.no_leader() {
        return sheet.not_assessed(reason);
    }
    let (Some(period_s), Some(grid)) = (study.period_s(), study.grid()) else { return };
    if period_s > SLOWEST_S {
        return sheet.not_assessed("at less than 12 Hz a swing and a quick motion look alike");
    }
    let following = study.following();
    let mut bands = None;
    for (joint, traced) in study.traces().iter().enumerate() {
        let Some(Traced { trace, .. }) = traced else { continue };
        if study.joints()[joint].linear {
            continue;
        }
        let mut found = Vec::new();
        let restless = restless(trace);
        if !restless.is_empty() {
            let lag = following.lag_s(joint) / period_s;
            let bands = bands.get_or_insert_with(|| Band::all(period_s));
            for (start, end) in restless {
                let rows = grid.row(trace.at[start] as usize)..grid.row(trace.at[end - 1] as usize);
                let stretch = Stretch::of(study, joint, rows, lag);
                found.extend(stretch.iter().flat_map(|stretch| stretch.swings(bands)));
            }
        }
        let most = found.iter().map(|swing| swing.size).fold(0.0, f64::max);
        found.retain(|swing| swing.size >= 0.5 * most);
        let spans = SpanList::worst(found.iter().map(|swing| (swing.span, swing.size)));
        let hertz = found.iter().find(|swing| swing.size == most).map(|swing| swing.hertz);
        sheet.put_spans(&SWING, Some(joint as JointId), most, spans);
        if let Some(hertz) = hertz {
            sheet.note(format!("at {hertz:.1} Hz"));
        }
    }
}

/// Stretches of points, with a second to either side, in which something may swing.
fn restless(trace: &Trace) -> Vec<(usize, usize)> {
    let around = (1.0 / trace.step_s) as usize;
    let mut found: Vec<(usize, usize)> = Vec::new();
    let mut blocks = Vec::new();
    for segment in &trace.segments {
        unrest(&trace.error[segment.clone()], &mut blocks);
        for &block in &blocks {
            let at = segment.start + block * BLOCK;
            let start = at.saturating_sub(around).max(segment.start);
            let end = (at + BLOCK + around).min(segment.end);
            match found.last_mut() {
                Some(last) if last.1 >= start => last.1 = end,
                _ => found.push((start, end)),
            }
        }
    }
    found
}

eight_fn! {
    /// Blocks whose second differences, over one point or over [`FAR`], are large and of both signs.
    fn unrest<'a>(simd, error: &'a [f32], found: &'a mut Vec<usize>) -> () {
        found.clear();
        let two = simd.splat_f32s(2.0);
        for block in 0..error.len().saturating_sub(2 * FAR) / BLOCK {
            let at = block * BLOCK;
            let now = eight_from(error, at);
            let middle = simd.mul_f32s(two, eight_from(error, at + 1));
            let near = simd.add_f32s(simd.sub_f32s(now, middle), eight_from(error, at + 2));
            let middle = simd.mul_f32s(two, eight_from(error, at + FAR));
            let far = simd.add_f32s(simd.sub_f32s(now, middle), eight_from(error, at + 2 * FAR));
            if is_restless(simd, near, UNREST.0) || is_restless(simd, far, UNREST.1) {
                found.push(block);
            }
        }
    }
}

/// Whether the second differences of a block are large and of both signs, as in a swing; a bend is of
/// one sign.
#[inline(always)]
#[expect(clippy::inline_always, reason = "what is not inlined stays narrow")]
fn is_restless<S: Eight>(simd: S, bends: f32x8, most: f32) -> bool {
    let size = mean(simd.abs_f32s(bends));
    size > most && mean(bends).abs() < ONE_SIGN * size
}

/// Mean of eight.
#[inline(always)]
#[expect(clippy::inline_always, reason = "what is not inlined stays narrow")]
fn mean(all: f32x8) -> f32 {
    let f32x8(a, b, c, d, e, f, g, h) = all;
    (((a + e) + (c + g)) + ((b + f) + (d + h))) / BLOCK as f32
}

/// A band of frequencies, with the window in which they show and the waves that are tried there.
struct Band {
    low_hz: f64,
    high_hz: f64,
    window: usize,
    level: Level,
    /// In the order of their frequencies.
    waves: Vec<(f64, Wave)>,
}

impl Band {
    fn all(period_s: f64) -> [Self; 3] {
        let step_s = period_s * rows(period_s) as f64;
        BANDS.map(|(low_hz, high_hz, window_s)| {
            let high_hz = high_hz.min(NYQUIST / period_s);
            let window = (window_s / step_s).round() as usize;
            // A peak lies within the band: what is best at its edge belongs below.
            let step_hz = 0.35 / window_s;
            let steps = ((high_hz - low_hz) / step_hz).max(0.0) as usize + 2;
            let tried = (0..=steps).map(|step| low_hz + (step as f64 - 2.0) * step_hz);
            let waves = tried.map(|hertz| (hertz, Wave::of(window, TAU * hertz * step_s)));
            Self { low_hz, high_hz, window, level: Level::of(window), waves: waves.collect() }
        })
    }

    /// The wave that explains most of a signal.
    fn best(&self, error: &[f64]) -> Option<(&(f64, Wave), Sine)> {
        let fits = self.waves.iter().map(|wave| (wave, wave.1.fit(error)));
        fits.max_by(|a, b| a.1.explained.total_cmp(&b.1.explained))
    }
}

/// Rows to a mean.
fn rows(period_s: f64) -> usize {
    ((1.0 / (period_s * FINE_HZ)) as usize).max(1)
}

/// A window in which the joint swings.
#[derive(Debug, Clone, Copy)]
struct Swing {
    span: FrameSpan,
    /// Peak to peak.
    size: f64,
    hertz: f64,
}

/// Follower less leader, and the leader, as means over some rows.
struct Stretch<'a> {
    follower: &'a [f32],
    error: Vec<f64>,
    leader: Vec<f64>,
    /// First row, and rows to a mean.
    first: usize,
    rows: usize,
    period_s: f64,
    count: f64,
}

impl<'a> Stretch<'a> {
    /// Rows of the leader, and the rows by which the follower is later.
    fn of(study: &'a Study<'_>, joint: usize, leader: Range<usize>, lag: f64) -> Option<Self> {
        let (follower, action) = (study.state(joint), study.action(joint)?);
        let period_s = study.period_s()?;
        let rows = rows(period_s);
        let late = lag.round();
        let row = |at: usize| (at as f64 + late).clamp(0.0, follower.len() as f64) as usize;
        let (first, end) = (row(leader.start), row(leader.end));
        let last = action.len() - 1;
        let asked = |row: usize| {
            let at = (row as f64 - lag).clamp(0.0, last as f64);
            let (a, b) = (action[at as usize], action[(at as usize + 1).min(last)]);
            f64::from(a) + at.fract() * f64::from(b - a)
        };
        let mut stretch = Self {
            follower,
            error: Vec::new(),
            leader: Vec::new(),
            first,
            rows,
            period_s,
            count: study.count(joint),
        };
        for at in (first..end).step_by(rows).filter(|at| at + rows <= end) {
            let leader = (at..at + rows).map(asked).sum::<f64>() / rows as f64;
            let mean = follower[at..at + rows].iter().map(|v| f64::from(*v)).sum::<f64>();
            stretch.leader.push(leader);
            stretch.error.push(mean / rows as f64 - leader);
        }
        Some(stretch)
    }

    fn swings(&self, bands: &[Band]) -> Vec<Swing> {
        let mut found = Vec::new();
        let (mut error, mut leader) = (Vec::new(), Vec::new());
        for band in bands {
            let window = band.window;
            let starts = 0..(self.error.len() + 1).saturating_sub(window);
            for start in starts.step_by((window / 8).max(1)) {
                error.clear();
                error.extend_from_slice(&self.error[start..start + window]);
                band.level.take_out(&mut error);
                if !is_steady(&error) || crossings(&error) < FEWEST_CROSSINGS {
                    continue;
                }
                let best = band.best(&error).filter(|(_, sine)| sine.explained >= EXPLAINED);
                let Some(((hertz, wave), sine)) = best else { continue };
                leader.clear();
                leader.extend_from_slice(&self.leader[start..start + window]);
                band.level.take_out(&mut leader);
                let asked = wave.fit(&leader).amplitude;
                let amplitude = sine.amplitude / self.kept(*hertz);
                let rows =
                    self.first + start * self.rows..self.first + (start + window) * self.rows;
                if (band.low_hz..=band.high_hz).contains(hertz)
                    && asked < OF_LEADER * sine.amplitude
                    && self.is_smooth(rows.clone(), *hertz, amplitude)
                {
                    let span = FrameSpan::new(rows.start, rows.end);
                    found.push(Swing { span, size: 2.0 * amplitude, hertz: *hertz });
                }
            }
        }
        found
    }

    /// What means over some rows leave of a sine.
    fn kept(&self, hertz: f64) -> f64 {
        let half = TAU / 2.0 * hertz * self.period_s;
        (self.rows as f64 * half).sin() / (self.rows as f64 * half.sin())
    }

    /// Whether the rows swing as a sine does, and not in steps.
    fn is_smooth(&self, rows: Range<usize>, hertz: f64, amplitude: f64) -> bool {
        let values = &self.follower[rows];
        let turn = TAU * hertz * self.period_s;
        if turn > TAU / 6.0 {
            let repeats = values.windows(2).filter(|pair| pair[0] == pair[1]).count();
            return repeats * 10 <= values.len() * 3;
        }
        // The joint moves as well, evenly enough over three rows.
        let bends = values.windows(3).map(|v| f64::from((v[2] - 2.0 * v[1] + v[0]).abs()));
        bends.fold(0.0, f64::max) <= (1.6 * turn + 0.6) * amplitude + 4.0 * self.count
    }
}

/// How often the signal changes its side.
fn crossings(error: &[f64]) -> usize {
    error.windows(2).filter(|pair| (pair[0] < 0.0) != (pair[1] < 0.0)).count()
}

/// Whether all three thirds swing, and enough.
fn is_steady(error: &[f64]) -> bool {
    let third = error.len() / 3;
    if third < 2 {
        return false;
    }
    let parts = error.chunks_exact(third).take(3);
    let swing =
        |part: &[f64]| (2.0 * part.iter().map(|v| v * v).sum::<f64>() / third as f64).sqrt();
    let (least, most) = parts
        .map(swing)
        .fold((f64::INFINITY, 0.0f64), |(low, high), swing| (low.min(swing), high.max(swing)));
    most >= LEAST && least >= STEADY * most
}

#[cfg(test)]
mod tests;
