//! Small images as inline SVG: how a measurement is distributed over the episodes, and where its
//! worst value lies. Nothing in them comes from a name in the data.

use crate::judge::{Course, Shown, scaled};
use crate::model::Severity;
use crate::report::image::Image;

/// Bars from nothing to twice the limit; one more for what lies beyond.
const BARS: usize = 20;
const WIDTH: f64 = 220.0;
const HEIGHT: f64 = 46.0;
/// Where the bars end, and the line with the mark is.
const FOOT: f64 = 34.0;
const LINE: f64 = 40.0;
const STEP: f64 = WIDTH / (BARS + 1) as f64;

/// A histogram on the scale of the limit, and below it a line with a mark at the worst value.
pub(super) fn distribution(one: &Course, said: &str) -> String {
    let Shown { metric, value, limit, severity, .. } = one.worst;
    let mut counts = [0u32; BARS + 1];
    for &value in one.values.iter().filter(|v| v.is_finite()) {
        // What lies at its limit is within it, though the ledger keeps seven digits only.
        let at = scaled(metric.bound, f64::from(value), limit) * (1.0 - 1e-6) * (BARS / 2) as f64;
        counts[(at.ceil() as usize).saturating_sub(1).min(BARS)] += 1;
    }
    let most = f64::from(counts.iter().copied().max().unwrap_or(1).max(1));
    let mut image = Image::new(None, said, (WIDTH, HEIGHT));
    for (bar, &count) in counts.iter().enumerate().filter(|(_, count)| **count > 0) {
        // A root, so that the few bad ones next to thousands of good ones are still seen.
        let height = (f64::from(count) / most).sqrt() * (FOOT - 4.0);
        let kind = if bar < BARS / 2 { "bar" } else { "beyond" };
        let (x, y) = (bar as f64 * STEP + 0.5, FOOT - height);
        let width = STEP - 1.0;
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
    let middle = format!("{:.1}", STEP * (BARS / 2) as f64);
    image.shape(
        "line",
        &[("class", &"edge"), ("x1", &0), ("x2", &WIDTH), ("y1", &LINE), ("y2", &LINE)],
    );
    image.shape(
        "line",
        &[("class", &"limit"), ("x1", &middle), ("x2", &middle), ("y1", &0), ("y2", &HEIGHT)],
    );
    mark(&mut image, scaled(metric.bound, value, limit), severity);
    image.end()
}

/// The mark on the line: its shape is its status, and an arrow lies beyond the image.
fn mark(image: &mut Image, ratio: f64, severity: Option<Severity>) {
    let end = WIDTH - STEP / 2.0;
    let x = (ratio * STEP * (BARS / 2) as f64).clamp(4.0, end);
    let class = match severity {
        None => "pass",
        Some(Severity::Warn) => "warn",
        Some(Severity::Fail) => "fail",
    };
    let shape = match severity {
        _ if ratio > 2.0 => format!("M{:.1} {:.1}l7 5l-7 5z", end - 3.0, LINE - 5.0),
        None => format!("M{:.1} {LINE}l4 -4l4 4l-4 4z", x - 4.0),
        Some(Severity::Warn) => format!("M{x:.1} {:.1}l4.5 8h-9z", LINE - 4.5),
        Some(Severity::Fail) => format!("M{:.1} {:.1}h8v8h-8z", x - 4.0, LINE - 4.0),
    };
    image.shape("path", &[("class", &format_args!("mark {class}")), ("d", &shape)]);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::find;
    use crate::model::Limit;

    /// The image of shares that warn above 0.1 and fail above 0.2, and of the worst of them.
    fn drawn(values: &[f32]) -> String {
        let Some(entry) = find("dropped-frames") else { return String::new() };
        let check = entry.spec();
        let value = f64::from(values.iter().copied().fold(0.0, f32::max));
        let severity = (value > 0.1001).then_some(Severity::Warn);
        let worst = Shown { metric: check.metrics[0], joint: None, value, limit: 0.1, severity };
        let limits = Limit::new(Some(0.1), None);
        let (values, median) = (values.to_vec(), 0.0);
        distribution(&Course { check, worst, limits, values, median }, "x")
    }

    #[test]
    fn the_limit_separates_the_bars() {
        let svg = drawn(&[0.1, 0.05, 0.0, f32::NAN]);
        assert!(!svg.contains("beyond") && svg.matches("<rect").count() == 3, "{svg}");
        let svg = drawn(&[0.11, 7.0]);
        assert!(svg.matches("beyond").count() == 2, "{svg}");
    }

    #[test]
    fn the_worst_is_a_mark_on_a_line_and_no_bar_is_filled_up_to_it() {
        // 220 wide, 21 bars: the limit at 104.8, half of it at 52.4.
        let svg = drawn(&[0.05]);
        assert!(svg.contains("class=\"mark pass\" d=\"M48.4 40l4 -4l4 4l-4 4z\""), "{svg}");
        let svg = drawn(&[0.15]);
        assert!(svg.contains("class=\"mark warn\" d=\"M157.1 "), "{svg}");
        let svg = drawn(&[0.5]);
        assert!(svg.contains("l7 5l-7 5z"), "{svg}");
        assert!(svg.contains("x1=\"104.8\" x2=\"104.8\""), "{svg}");
    }
}
