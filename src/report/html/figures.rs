//! Small images as inline SVG: how a measurement is spread over the episodes, and how it goes
//! over the session. Nothing in them comes from a name in the data.

use crate::judge::scaled;
use crate::model::Metric;
use crate::report::image::Image;
use crate::report::number::significant;

/// Bars from nothing to twice the limit; one more for what lies beyond.
const BARS: usize = 20;
const WIDTH: f64 = 220.0;
const HEIGHT: f64 = 36.0;

/// Width and height of the image over the session, and the most dots in it.
const LONG: f64 = 900.0;
const HIGH: f64 = 110.0;
const DOTS: usize = 1_200;

/// A histogram on the scale of the limit.
pub(super) fn spread(metric: &Metric, values: &[f32], limit: f64, said: &str) -> String {
    let mut counts = [0u32; BARS + 1];
    for &value in values.iter().filter(|v| v.is_finite()) {
        // What lies at its limit is within it, though the ledger keeps seven digits only.
        let at = scaled(metric.bound, f64::from(value), limit) * (1.0 - 1e-6) * (BARS / 2) as f64;
        counts[(at.ceil() as usize).saturating_sub(1).min(BARS)] += 1;
    }
    let most = f64::from(counts.iter().copied().max().unwrap_or(1).max(1));
    let step = WIDTH / (BARS + 1) as f64;
    let mut image = Image::new(None, said, (WIDTH, HEIGHT));
    for (bar, &count) in counts.iter().enumerate().filter(|(_, count)| **count > 0) {
        // A root, so that the few bad ones next to thousands of good ones are still seen.
        let height = (f64::from(count) / most).sqrt() * (HEIGHT - 4.0);
        let kind = if bar < BARS / 2 { "bar" } else { "beyond" };
        let (x, y) = (bar as f64 * step + 0.5, HEIGHT - height);
        let width = step - 1.0;
        image.shape(
            "rect",
            &[
                ("class", &kind),
                ("x", &format_args!("{x:.1}")),
                ("y", &format_args!("{y:.1}")),
                ("width", &format_args!("{width:.1}")),
                ("height", &format_args!("{height:.1}")),
            ],
        );
    }
    let middle = format!("{:.1}", step * (BARS / 2) as f64);
    image.shape(
        "line",
        &[("class", &"limit"), ("x1", &middle), ("x2", &middle), ("y1", &0), ("y2", &HEIGHT)],
    );
    image.end()
}

/// The episodes' readings in their order, with the limit as a line. Of many episodes, the minimum
/// and the maximum of each stretch stand for all.
pub(super) fn course(values: &[f32], limit: Option<f64>, factor: f64, said: &str) -> String {
    let finite = || values.iter().filter(|v| v.is_finite()).map(|&v| f64::from(v) * factor);
    let limit = limit.map(|limit| limit * factor);
    let low = finite().fold(0.0f64, f64::min);
    let high = finite().fold(limit.unwrap_or(0.0), f64::max);
    let high = if high > low { high } else { low + 1.0 };
    let y = |value: f64| HIGH - 4.0 - (value - low) / (high - low) * (HIGH - 14.0);
    let x =
        |at: usize| 50.0 + (LONG - 56.0) * at as f64 / values.len().max(2).saturating_sub(1) as f64;
    let mut image = Image::new(None, said, (LONG, HIGH));
    level(&mut image, "axis", y(low));
    for (value, at) in [(low, y(low)), (high, y(high) + 8.0)] {
        let at = format!("{at:.1}");
        image.text(&[("x", &44), ("y", &at), ("text-anchor", &"end")], &significant(value));
    }
    let stretch = values.len().div_ceil(DOTS / 2).max(1);
    for (nth, part) in values.chunks(stretch).enumerate() {
        let by = |a: &(usize, &f32), b: &(usize, &f32)| a.1.total_cmp(b.1);
        let finite = || part.iter().enumerate().filter(|(_, v)| v.is_finite());
        let (min, max) = (finite().min_by(by), finite().max_by(by));
        let same = min.map(|l| l.0) == max.map(|g| g.0);
        for (at, value) in min.into_iter().chain(max.filter(|_| !same)) {
            let (x, y) = (x(nth * stretch + at), y(f64::from(*value) * factor));
            let (x, y) = (format!("{x:.1}"), format!("{y:.1}"));
            image.shape("circle", &[("class", &"dot"), ("cx", &x), ("cy", &y), ("r", &2)]);
        }
    }
    if let Some(limit) = limit {
        level(&mut image, "limit", y(limit));
    }
    image.end()
}

/// A line over the whole width.
fn level(image: &mut Image, class: &str, y: f64) {
    let y = format!("{y:.1}");
    image.shape("line", &[("class", &class), ("x1", &50), ("x2", &LONG), ("y1", &y), ("y2", &y)]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Unit;

    static SHARE: Metric =
        Metric::of_episode("share", Unit::Share, "a share").above(Some(0.1), None);

    #[test]
    fn the_limit_separates_the_bars() {
        let svg = spread(&SHARE, &[0.1, 0.05, 0.0, f32::NAN], 0.1, "x");
        assert!(!svg.contains("beyond") && svg.matches("<rect").count() == 3, "{svg}");
        let svg = spread(&SHARE, &[0.11, 7.0], 0.1, "x");
        assert!(svg.matches("beyond").count() == 2, "{svg}");
    }

    #[test]
    fn many_episodes_make_few_dots_and_the_odd_one_stays() {
        let mut values = vec![1.0f32; 50_000];
        values[31_111] = 5.0;
        let svg = course(&values, Some(2.0), 1.0, "x");
        let dots = svg.matches("<circle").count();
        assert!((500..=DOTS + 2).contains(&dots), "{dots}");
        // The largest stands at the top of the image.
        assert!(svg.contains("cy=\"10.0\""), "{svg}");
        assert!(course(&[], None, 1.0, "x").ends_with("</svg>"));
    }
}
