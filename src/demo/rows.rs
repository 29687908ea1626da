//! Faults of the logger: rows lost, rows twice, stamps that lie.

use rand_chacha::ChaCha8Rng;

use super::fault::Fault;
use super::pick::{apart, share_of};
use super::planted::{Mark, Mine};

/// The rows that were written: which cycle each is of, and its stamp.
pub(super) struct Rows {
    pub cycle: Vec<usize>,
    pub stamp_s: Vec<f64>,
}

/// Plants all faults of rows and stamps, in the order of the recipe.
pub(super) fn plant(
    rows: &mut Rows,
    moment_s: &[f64],
    period_s: f64,
    mine: &Mine<'_>,
    rng: &mut ChaCha8Rng,
    marks: &mut Vec<Mark>,
) {
    for (planted, fault, _) in mine.iter() {
        let frames = rows.cycle.len();
        let (spans_s, count) = match *fault {
            Fault::DroppedFrames { share, burst } => {
                let burst = burst.clamp(1, frames / 4);
                let bursts = (share_of(frames, share) / burst).max(1);
                // Four frames kept between two bursts, and at either end.
                let starts = (4..frames.saturating_sub(burst + 4)).collect();
                let starts = apart(starts, bursts, burst + 4, rng);
                let spans = around(rows, moment_s, &starts, burst);
                (spans, lose(rows, &starts, burst))
            }
            Fault::LongGap { seconds } => {
                let burst = ((seconds / period_s).round() as usize).clamp(1, frames / 2);
                let starts = apart((4..frames - burst - 4).collect(), 1, 1, rng);
                let spans = around(rows, moment_s, &starts, burst);
                (spans, lose(rows, &starts, burst))
            }
            Fault::RepeatedFrames { share } => {
                let places = apart((0..frames).collect(), share_of(frames, share), 2, rng);
                let moment = |row: &usize| moment_s[rows.cycle[*row]];
                let spans = places.iter().map(|row| [moment(row), moment(row)]).collect();
                repeat(rows, &places);
                (spans, places.len())
            }
            Fault::ClockBackward { seconds } => {
                let from = frames / 2;
                rows.stamp_s[from..].iter_mut().for_each(|t| *t -= seconds);
                let cycle = rows.cycle[from];
                (vec![[moment_s[cycle - 1], moment_s[cycle]]], 1)
            }
            Fault::SyntheticStamps => {
                let start = rows.stamp_s[0];
                for (row, stamp) in rows.stamp_s.iter_mut().enumerate() {
                    *stamp = start + row as f64 * period_s;
                }
                (vec![whole(moment_s)], frames)
            }
            Fault::CoarseStamps { origin_s } => {
                let start = rows.stamp_s[0];
                for stamp in &mut rows.stamp_s {
                    *stamp = f64::from((*stamp - start + origin_s) as f32);
                }
                (vec![whole(moment_s)], frames)
            }
            _ => continue,
        };
        marks.push(Mark { planted, spans_s, count });
    }
}

fn whole(moment_s: &[f64]) -> [f64; 2] {
    [moment_s[0], moment_s[moment_s.len() - 1]]
}

/// From the last row before each burst to the first row after.
fn around(rows: &Rows, moment_s: &[f64], starts: &[usize], burst: usize) -> Vec<[f64; 2]> {
    let moment = |row: usize| moment_s[rows.cycle[row]];
    starts.iter().map(|start| [moment(start - 1), moment(start + burst)]).collect()
}

/// Takes out `burst` rows from each start; says how many.
fn lose(rows: &mut Rows, starts: &[usize], burst: usize) -> usize {
    let before = rows.cycle.len();
    let mut kept = vec![true; before];
    for &start in starts {
        kept[start..start + burst].fill(false);
    }
    let pick = |row: &usize| kept[*row];
    rows.stamp_s = (0..before).filter(pick).map(|r| rows.stamp_s[r]).collect();
    rows.cycle = (0..before).filter(pick).map(|r| rows.cycle[r]).collect();
    before - rows.cycle.len()
}

/// Writes each of these rows once more.
fn repeat(rows: &mut Rows, places: &[usize]) {
    let mut order: Vec<usize> = (0..rows.cycle.len()).chain(places.iter().copied()).collect();
    order.sort_unstable();
    rows.stamp_s = order.iter().map(|r| rows.stamp_s[*r]).collect();
    rows.cycle = order.iter().map(|r| rows.cycle[*r]).collect();
}
