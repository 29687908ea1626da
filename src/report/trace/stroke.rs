//! What a line covers in each column of a plot.

use super::axis::Axis;

/// The minimum and maximum that the line takes in each of so many columns; nothing where it
/// is broken. Every frame's value lies in its column's range, so no peak is lost.
pub(super) fn stroke(axis: &Axis, values: &[f64], columns: usize) -> Vec<Option<(f64, f64)>> {
    let mut covered: Vec<Option<(f64, f64)>> = vec![None; columns];
    let mut cover = |column: usize, value: f64| {
        let range = covered[column].get_or_insert((value, value));
        *range = (range.0.min(value), range.1.max(value));
    };
    let (first, last) = axis.ends_s;
    let border = |column: usize| first + (last - first) * column as f64 / columns as f64;
    for frame in axis.frames.clone() {
        let Some(value) = values.get(frame).copied().filter(|v| v.is_finite()) else { continue };
        let at = axis.at_s[frame];
        let column = axis.column(at, columns);
        cover(column, value);
        let next = frame + 1;
        if next >= axis.frames.end || !axis.goes_on(frame) {
            continue;
        }
        let Some(then) = values.get(next).copied().filter(|v| v.is_finite()) else { continue };
        let end = axis.at_s[next];
        for crossed in column + 1..=axis.column(end, columns) {
            // On the border the line belongs to both sides.
            let share = ((border(crossed) - at) / (end - at)).clamp(0.0, 1.0);
            let there = value + share * (then - value);
            cover(crossed - 1, there);
            cover(crossed, there);
        }
    }
    covered
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axis(frames: usize) -> Axis {
        let at_s: Vec<f64> = (0..frames).map(|frame| frame as f64 * 0.1).collect();
        let ends_s = (0.0, at_s[frames - 1]);
        Axis { at_s, frames: 0..frames, ends_s, by_frame: false, gap_s: 0.35 }
    }

    #[test]
    fn a_peak_of_one_frame_among_ten_thousand_is_kept() {
        let mut values = vec![0.0; 10_000];
        values[7_777] = 5.0;
        let covered = stroke(&axis(10_000), &values, 60);
        assert_eq!(covered.iter().filter(|c| c.is_some_and(|c| c.1 == 5.0)).count(), 1);
        assert_eq!(covered[46], Some((0.0, 5.0)));
    }

    #[test]
    fn few_frames_are_joined_by_a_line() {
        let covered = stroke(&axis(2), &[0.0, 10.0], 10);
        for (column, range) in covered.iter().enumerate() {
            let (low, high) = range.unwrap_or((f64::NAN, f64::NAN));
            let end = if column == 9 { 10.0 } else { column as f64 + 1.0 };
            assert!((low - column as f64).abs() < 1e-9 && (high - end).abs() < 1e-9, "{column}");
        }
    }

    #[test]
    fn nothing_is_drawn_where_nothing_was_recorded() {
        let mut holed = axis(10);
        holed.at_s[5..].iter_mut().for_each(|t| *t += 1.0);
        holed.ends_s.1 = holed.at_s[9];
        let covered = stroke(&holed, &[1.0; 10], 19);
        assert_eq!(covered.iter().filter(|c| c.is_none()).count(), 10, "{covered:?}");
        let mut values = [1.0; 10];
        values[4] = f64::NAN;
        assert!(stroke(&axis(10), &values, 40)[17].is_none());
    }
}
