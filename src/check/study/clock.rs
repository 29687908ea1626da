//! The steps of an episode's clock, and whether they tell anything at all.

use std::cell::OnceCell;

use crate::model::{ClockStorage, Episode, count};
use crate::num::quantile::median_in_place;
use crate::num::receipt::Receipt;
use crate::num::schedule::schedule;

/// One jump, repaired: how many frame periods it spans.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Row at which the step ends.
    pub row: usize,
    /// Its length in seconds.
    pub length_s: f64,
    /// Frame periods it spans: 1 for a frame in time *or merely late*, more where frames are lost.
    pub periods: f64,
    /// A late frame, or one of those that catch up with the schedule after it.
    pub late: bool,
}

/// What the stamps of one episode are good for.
#[derive(Debug)]
pub struct Clock {
    /// Steps between finite stamps, in the order of the rows.
    pub steps: Vec<Step>,
    /// Frame period `T` by the stamps of the episode, in seconds; that of the dataset where they agree
    /// with it or do not tell, or where the episode misses all but every second or third frame.
    pub period_s: f64,
    /// The same by the episode alone, however near the dataset's is: what the rate is read from.
    pub loop_s: f64,
    /// Set where stamps are of the packets that frames came in: the pace behind them.
    pub receipt: Option<Receipt>,
    /// Distance between storable stamps at the size of these, in seconds.
    pub resolution_s: f64,
    /// Stamps follow the frame index exactly: they were made, not measured.
    pub synthetic: bool,
    frames: usize,
    median: OnceCell<f64>,
}

/// Fewer frames than this fit any straight line too well to call their stamps made.
const ENOUGH_FRAMES: usize = 8;

/// Periods of an episode and its dataset are one within this share. The dataset's is the better known.
const AGREE: f64 = 0.02;
/// Stamps farther apart than this share of the period do not tell frames apart.
const COARSE: f64 = 0.5;

impl Clock {
    /// Looks at an episode's stamps.
    pub fn of(episode: &Episode) -> Self {
        let rig = &episode.rig;
        let stamps = &episode.time_s;
        let largest = stamps.iter().filter(|t| t.is_finite()).fold(0.0, |m: f64, t| m.max(t.abs()));
        let resolution_s = rig.clock.resolution_s(largest);
        let synthetic = rig.clock == ClockStorage::None
            || (stamps.len() >= ENOUGH_FRAMES && is_made(stamps, rig.clock, resolution_s));
        let coarse = resolution_s > COARSE * rig.period_s;
        let (loop_s, receipt) = if synthetic || coarse || stamps.len() < ENOUGH_FRAMES {
            (rig.period_s, None)
        } else {
            paced(stamps, rig.period_s)
        };
        let agree = receipt.is_none() && (loop_s / rig.period_s - 1.0).abs() <= AGREE;
        let period_s = if agree { rig.period_s } else { loop_s };
        let mut steps = steps(stamps, period_s);
        if let Some(receipt) = &receipt {
            count_lost(&mut steps, receipt);
        }
        let (frames, median) = (stamps.len(), OnceCell::new());
        Self { steps, period_s, loop_s, receipt, resolution_s, synthetic, frames, median }
    }

    /// Whether stamps are stored too coarsely to tell neighbouring frames apart.
    pub fn too_coarse(&self) -> bool {
        self.resolution_s > COARSE * self.period_s
    }

    /// Why the timing of this episode cannot be assessed, if so.
    pub fn not_assessed(&self) -> Option<String> {
        if self.synthetic {
            Some("the stamps follow the frame index exactly: they were made, not measured".into())
        } else if self.frames < ENOUGH_FRAMES || self.steps.len() + 1 < ENOUGH_FRAMES {
            let stamped = self.steps.len() + 1;
            Some(match stamped {
                1 if self.frames > 1 => format!("fewer than 2 stamps, needs {ENOUGH_FRAMES}"),
                _ if stamped < self.frames => format!("{stamped} stamps, needs {ENOUGH_FRAMES}"),
                _ => format!("{}, needs {ENOUGH_FRAMES}", count(self.frames, "frame")),
            })
        } else if !(self.period_s.is_finite() && self.period_s > 0.0) {
            Some("no frame period: stamps do not move forward".into())
        } else if self.too_coarse() {
            Some(format!(
                "stamps are stored in steps of {:.3} s, frames come every {:.4} s",
                self.resolution_s, self.period_s
            ))
        } else {
            None
        }
    }

    /// Why single steps say nothing of the loop, if the stamps are of packets.
    pub fn of_receipt(&self) -> Option<String> {
        let receipt = self.receipt.as_ref()?;
        Some(format!("stamps are of receipt, quantum {} ms", short(1e3 * receipt.quantum_s)))
    }

    /// Median step in seconds; `NaN` without steps.
    pub fn median_s(&self) -> f64 {
        *self.median.get_or_init(|| {
            let mut lengths: Vec<f64> = self.steps.iter().map(|step| step.length_s).collect();
            median_in_place(&mut lengths)
        })
    }

    /// Last stamp minus first, over the steps, in seconds.
    pub fn elapsed_s(&self) -> f64 {
        self.steps.iter().map(|step| step.length_s).sum()
    }

    /// Whether any step runs backward.
    pub fn runs_backward(&self) -> bool {
        self.steps.iter().any(|step| step.length_s < 0.0)
    }
}

/// Three digits, no zeros after the last that counts.
fn short(value: f64) -> String {
    let digits = (2 - value.abs().log10().floor() as i32).clamp(0, 6) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// The period of an episode's own schedule, and the pace behind stamps of receipt. An episode that
/// holds every second frame of its dataset has the dataset's period, and lost the others.
fn paced(stamps: &[f64], dataset_s: f64) -> (f64, Option<Receipt>) {
    /// An episode's period is so near to a multiple of the dataset's, as a share.
    const NEAR: f64 = 0.08;
    let Some(own) = schedule(stamps) else { return (dataset_s, None) };
    let times = (own.period_s / dataset_s).round();
    let multiple = times >= 2.0 && (own.period_s / dataset_s / times - 1.0).abs() < NEAR;
    if multiple && own.receipt.is_none() {
        (own.period_s / times, None)
    } else {
        (own.period_s, own.receipt)
    }
}

/// On stamps of receipt a long step is a packet; frames are lost only where the pace behind is later
/// from there on.
fn count_lost(steps: &mut [Step], receipt: &Receipt) {
    for step in &mut *steps {
        let lost = receipt.lost.iter().find(|(row, _)| *row == step.row);
        step.periods = lost.map_or(1.0, |(_, missing)| 1.0 + missing);
        step.late = false;
    }
}

/// Steps between finite stamps. A long step that the next ones make up for is a late frame, not a
/// lost one: the schedule recovers, so the stamps around it still count the right number of
/// periods. Stamps that stay late are lost frames.
fn steps(stamps: &[f64], period_s: f64) -> Vec<Step> {
    let mut steps = Vec::with_capacity(stamps.len().saturating_sub(1));
    let mut last: Option<(usize, f64)> = None;
    for (row, &stamp) in stamps.iter().enumerate().filter(|(_, t)| t.is_finite()) {
        if let Some((from, before)) = last {
            // A row without a stamp in between is a known frame, so it is not counted as lost.
            let known = (row - from) as f64;
            let length_s = stamp - before;
            // As `round` for all that is more than one period; that is a call on plain processors.
            let whole = |periods: f64| (periods + 0.5) as i64 as f64;
            let spanned = if period_s > 0.0 { whole(length_s / period_s) } else { known };
            let periods = spanned.max(known);
            steps.push(Step { row, length_s, periods: periods - (known - 1.0), late: false });
        }
        last = Some((row, stamp));
    }
    if period_s > 0.0 {
        share(&mut steps, period_s);
        let mut at = 0;
        while at < steps.len() {
            at = if steps[at].periods > 1.0 { settle(&mut steps, at, period_s) } else { at + 1 };
        }
    }
    steps
}

/// Of two steps in a row that are each about one and a half periods long, neither can be rounded by
/// itself: a frame was late, and the one after it was lost. Together they span whole periods. More
/// than two in a row are another rate.
fn share(steps: &mut [Step], period_s: f64) {
    let unclear = |step: &Step| (step.length_s / period_s - 1.5).abs() < 0.25;
    for at in 1..steps.len() {
        let alone = (at < 2 || !unclear(&steps[at - 2])) && !steps.get(at + 1).is_some_and(unclear);
        if unclear(&steps[at - 1]) && unclear(&steps[at]) && alone {
            let both = ((steps[at - 1].length_s + steps[at].length_s) / period_s).round();
            steps[at - 1].periods = 1.0;
            steps[at].periods = both - 1.0;
        }
    }
}

/// Decides whether the long step at `at` is merely late; gives the next step to look at.
fn settle(steps: &mut [Step], at: usize, period_s: f64) -> usize {
    const MOST_CATCHING_UP: usize = 6;
    let mut sum_s = steps[at].length_s;
    let mut caught_up = None;
    for after in 1..=MOST_CATCHING_UP.min(steps.len() - 1 - at) {
        let next = steps[at + after];
        if !(next.length_s > 0.0 && next.length_s < 0.75 * period_s) {
            break;
        }
        sum_s += next.length_s;
        if (sum_s - (after + 1) as f64 * period_s).abs() <= 0.25 * period_s {
            for step in &mut steps[at..=at + after] {
                step.periods = 1.0;
                step.late = true;
            }
            return at + after + 1;
        }
        // A frame that was late after one that was lost catches up as well, but by less.
        let spanned = (sum_s / period_s).round();
        if caught_up.is_none() && (sum_s - spanned * period_s).abs() <= 0.1 * period_s {
            caught_up = Some((after, spanned));
        }
    }
    if let Some((after, spanned)) = caught_up {
        let periods = spanned - after as f64;
        if periods >= 1.0 && periods < steps[at].periods {
            steps[at].periods = periods;
        }
    }
    at + 1
}

/// Whether the stamps lie on `t0 + i / f` for some `f`, as exactly as their storage allows.
///
/// A quick look from the first stamp to the last refuses almost every real clock within a few
/// rows; only what passes is fitted.
fn is_made(stamps: &[f64], clock: ClockStorage, resolution_s: f64) -> bool {
    let n = stamps.len();
    let (first, last) = (stamps[0], stamps[n - 1]);
    let even_s = (last - first) / (n - 1) as f64;
    if !(even_s.is_finite() && even_s > 0.0) {
        return false;
    }
    // Rounding to whole ticks moves a made stamp by at most half a tick; in floating point two
    // units in the last place cover the rounding of the stamp and of the product.
    let allowed_s = match clock {
        ClockStorage::Ticks { .. } => 0.55 * resolution_s,
        _ => 2.0 * resolution_s,
    }
    .max(1e-6);
    if allowed_s > 0.25 * even_s {
        return false;
    }
    let residual = |(i, t): (usize, &f64)| t - first - i as f64 * even_s;
    if !stamps.iter().enumerate().all(|at| residual(at).abs() <= 3.0 * allowed_s) {
        return false;
    }
    let middle = (n - 1) as f64 / 2.0;
    let mean = stamps.iter().enumerate().map(residual).sum::<f64>() / n as f64;
    let lever = |i: usize| i as f64 - middle;
    let moment: f64 = stamps.iter().enumerate().map(|at| lever(at.0) * residual(at)).sum();
    let slope = moment / (0..n).map(|i| lever(i) * lever(i)).sum::<f64>();
    let left = |at: (usize, &f64)| residual(at) - mean - slope * lever(at.0);
    stamps.iter().enumerate().all(|at| left(at).abs() <= allowed_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLOAT: ClockStorage = ClockStorage::Float { precision_bits: 53, scale_s: 1.0 };

    fn periods(stamps: &[f64]) -> Vec<f64> {
        steps(stamps, 1.0).iter().map(|s| s.periods).collect()
    }

    #[test]
    fn a_late_frame_is_not_a_lost_one() {
        assert_eq!(periods(&[0.0, 1.0, 2.7, 3.0, 4.0]), [1.0, 1.0, 1.0, 1.0]);
        assert_eq!(periods(&[0.0, 1.0, 3.6, 3.7, 4.1, 5.0]), [1.0; 5]);
        assert_eq!(periods(&[0.0, 1.0, 2.7, 3.7, 4.7]), [1.0, 2.0, 1.0, 1.0]);
        assert_eq!(periods(&[0.0, 1.0, 4.0, 5.0]), [1.0, 3.0, 1.0]);
    }

    #[test]
    fn a_late_frame_beside_a_lost_one_is_not_lost_as_well() {
        // Row 2 is lost, row 3 comes 0.6 late, row 4 is back in time.
        assert_eq!(periods(&[0.0, 1.0, 3.6, 4.0, 5.0]), [1.0, 2.0, 1.0, 1.0]);
        // Row 2 comes about half a period late, row 3 is lost.
        assert_eq!(periods(&[0.0, 1.0, 2.46, 3.94, 5.0]), [1.0, 1.0, 2.0, 1.0]);
        assert_eq!(periods(&[0.0, 1.0, 2.51, 4.03, 5.0]), [1.0, 1.0, 2.0, 1.0]);
        // Another rate altogether.
        assert_eq!(periods(&[0.0, 1.5, 3.0, 4.5, 6.0]), [2.0; 4]);
    }

    #[test]
    fn a_row_without_a_stamp_is_not_a_lost_frame() {
        assert_eq!(periods(&[0.0, f64::NAN, 2.0, 3.0]), [1.0, 1.0]);
        assert_eq!(periods(&[0.0, f64::NAN, 3.0]), [2.0]);
    }

    #[test]
    fn made_stamps_are_told_from_measured_ones() {
        let made: Vec<f64> = (0..300).map(|i| 1.7e9 + i as f64 / 30.0).collect();
        assert!(is_made(&made, FLOAT, FLOAT.resolution_s(1.7e9)));
        let single: Vec<f64> = (0..300).map(|i| f64::from((i as f64 / 30.0) as f32)).collect();
        let storage = ClockStorage::Float { precision_bits: 24, scale_s: 1.0 };
        assert!(is_made(&single, storage, storage.resolution_s(10.0)));
        let ticks: Vec<f64> = (0..300).map(|i| (i as f64 / 0.03).floor() * 1e-3).collect();
        assert!(is_made(&ticks, ClockStorage::Ticks { tick_s: 1e-3 }, 1e-3));
        // A real clock with 0.2 ms of jitter, on a fixed pattern, in doubles and whole milliseconds.
        let jitter = |i: usize| 2e-4 * ((i * 7919 % 101) as f64 / 50.5 - 1.0) * 1.7;
        let real: Vec<f64> = (0..300).map(|i| i as f64 / 30.0 + jitter(i)).collect();
        assert!(!is_made(&real, FLOAT, FLOAT.resolution_s(10.0)));
        let coarse: Vec<f64> = real.iter().map(|t| (t * 1e3).round() * 1e-3).collect();
        assert!(!is_made(&coarse, ClockStorage::Ticks { tick_s: 1e-3 }, 1e-3));
    }

    #[test]
    fn storage_resolution_is_that_of_the_stamp() {
        let single = ClockStorage::Float { precision_bits: 24, scale_s: 1.0 };
        assert_eq!(single.resolution_s(1.7e9), 128.0);
        assert_eq!(single.resolution_s(86_400.0), 0.007_812_5);
        assert_eq!(single.resolution_s(3_600.0), 0.000_244_140_625);
    }
}
