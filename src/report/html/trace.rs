//! One episode's samples, packed: 16-bit levels, differences, byte planes, deflate, base64. About
//! a seventh of what they would take as numbers in text.

use std::io::{self, Write};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::DeflateEncoder;

use crate::model::{CardPlace, Episode, Scorecard};

/// Frames up to which every one is kept, of an episode among others and of one alone in its page.
const WHOLE: usize = 1_500;
const WHOLE_ALONE: usize = 100_000;
/// Stretches that a longer episode is cut into; of each the minimum and the maximum are kept.
const STRETCHES: usize = 750;
/// Frames kept whole on either side of a flagged span of a long episode.
const AROUND: usize = 60;
/// Most frames of a flagged span kept whole.
const OF_A_SPAN: usize = 600;
/// Steps longer than this many periods are gaps: nothing was recorded, so no line is drawn.
const GAP: f64 = 3.5;
/// Largest level; one beyond it stands for a missing value.
const LEVELS: f64 = 65_534.0;

/// One episode's samples, ready to be written into a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Place of its card in the report.
    pub place: CardPlace,
    /// What the script must know to unpack: samples, and each signal's ends in a person's units.
    shape: String,
    packed: String,
}

/// Frames of which one sample is made, or two: the minimum and the maximum.
type Stretch = std::ops::Range<usize>;

impl Trace {
    /// Packs the episode of the card at this place; the card says where it must not be thinned.
    ///
    /// # Errors
    /// If the packer refuses, which would be a fault of this program.
    pub fn of(episode: &Episode, card: &Scorecard, place: CardPlace) -> io::Result<Self> {
        Self::packed(episode, card, place, WHOLE)
    }

    /// The same for a page of its own, of which it is the first episode.
    pub(super) fn alone(episode: &Episode, card: &Scorecard) -> io::Result<Self> {
        Self::packed(episode, card, CardPlace::default(), WHOLE_ALONE)
    }

    fn packed(
        episode: &Episode,
        card: &Scorecard,
        place: CardPlace,
        whole: usize,
    ) -> io::Result<Self> {
        let frames = episode.frames();
        let stretches = stretches(frames, card, whole);
        let samples: usize = stretches.iter().map(|s| s.len().min(2)).sum();
        let mut bytes = Vec::new();
        let mut ends = Vec::new();
        let period_s = episode.rig.period_s;
        let period_s = if period_s > 0.0 { period_s } else { 1.0 };
        let stamps = &episode.time_s;
        // Stamps that are missing or run backward would fold the drawing.
        let sound = stamps.iter().all(|t| t.is_finite()) && stamps.is_sorted();
        let start_s = stamps.first().copied().unwrap_or(0.0);
        let at_s = |frame: usize| {
            if sound { stamps[frame] - start_s } else { frame as f64 * period_s }
        };
        let time_s: Vec<f64> = stretches
            .iter()
            .flat_map(|s| [s.start, s.start + s.len() / 2].into_iter().take(s.len().min(2)))
            .map(|frame| at_s(frame.min(frames - 1)))
            .collect();
        ends.push(pack(&time_s, &mut bytes));
        for channels in std::iter::once(&episode.state).chain(&episode.action) {
            for joint in 0..channels.joints() {
                let linear = episode.rig.joints.get(joint).is_some_and(|j| j.linear);
                let factor = if linear { 1e3 } else { 180.0 / std::f64::consts::PI };
                let values = thinned(channels.joint(joint), &stretches, factor);
                ends.push(pack(&values, &mut bytes));
            }
        }
        let mut deflated = DeflateEncoder::new(Vec::new(), Compression::new(6));
        deflated.write_all(&bytes)?;
        let longest = stretches.iter().map(Stretch::len).max().unwrap_or(1);
        let mut shape = serde_json::json!({ "n": samples, "ends": ends });
        shape["gap"] = (GAP * period_s * longest as f64).into();
        if !sound {
            shape["even"] = period_s.into();
        }
        let packed = STANDARD.encode(deflated.finish()?);
        Ok(Self { place, shape: shape.to_string(), packed })
    }

    /// Bytes it takes in the page, nearly.
    pub fn size(&self) -> usize {
        self.packed.len() + self.shape.len() + 100
    }

    /// Writes it as an inert script: nothing runs it, and nothing in it can end it early.
    pub(super) fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let Self { place, shape, packed } = self;
        let shape = shape.replace('"', "&quot;");
        writeln!(
            out,
            "<script type=\"application/octet-stream\" data-episode=\"{place}\" \
             data-shape=\"{shape}\">{packed}</script>"
        )
    }
}

/// Cuts an episode: single frames where it is short or flagged, longer stretches elsewhere.
fn stretches(frames: usize, card: &Scorecard, whole: usize) -> Vec<Stretch> {
    if frames <= whole {
        return (0..frames).map(|frame| frame..frame + 1).collect();
    }
    let step = frames.div_ceil(STRETCHES);
    let mut whole = vec![false; frames];
    for span in card.findings.iter().flat_map(|finding| finding.spans.as_slice()) {
        let start = (span.start as usize).saturating_sub(AROUND).min(frames);
        let end = (span.end as usize).min(span.start as usize + OF_A_SPAN) + AROUND;
        whole[start..end.clamp(start, frames)].fill(true);
    }
    let mut cut = Vec::new();
    let mut at = 0;
    while at < frames {
        let most = if whole[at] { 1 } else { step };
        let end = (at + 1..(at + most).min(frames)).find(|&f| whole[f]);
        let end = end.unwrap_or((at + most).min(frames));
        cut.push(at..end);
        at = end;
    }
    cut
}

/// The values of each stretch's sample or two, in the order in which they came.
fn thinned(values: &[f32], stretches: &[Stretch], factor: f64) -> Vec<f64> {
    let mut kept = Vec::new();
    for stretch in stretches {
        let part = &values[stretch.clone()];
        if part.len() == 1 {
            kept.push(f64::from(part[0]) * factor);
            continue;
        }
        let by = |a: &(usize, &f32), b: &(usize, &f32)| a.1.total_cmp(b.1);
        let finite = || part.iter().enumerate().filter(|(_, v)| v.is_finite());
        let (min, max) = (finite().min_by(by), finite().max_by(by));
        let (Some(min), Some(max)) = (min, max) else {
            kept.extend([f64::NAN; 2]);
            continue;
        };
        let (first, second) = if min.0 <= max.0 { (min, max) } else { (max, min) };
        kept.extend([f64::from(*first.1) * factor, f64::from(*second.1) * factor]);
    }
    kept
}

/// Appends a signal: differences of its levels, low bytes first, then high bytes. Gives its ends.
fn pack(values: &[f64], bytes: &mut Vec<u8>) -> [f64; 2] {
    let finite = || values.iter().copied().filter(|v| v.is_finite());
    let (low, high) = (finite().fold(f64::INFINITY, f64::min), finite().fold(f64::MIN, f64::max));
    let (low, high) = if low <= high { (low, high) } else { (0.0, 0.0) };
    let scale = if high > low { LEVELS / (high - low) } else { 0.0 };
    let mut before = 0u16;
    let differences: Vec<u16> = values
        .iter()
        .map(|value| {
            let level = ((value - low) * scale).round();
            let level = if level.is_finite() { level as u16 } else { u16::MAX };
            let difference = level.wrapping_sub(before);
            before = level;
            difference
        })
        .collect();
    bytes.extend(differences.iter().map(|d| d.to_le_bytes()[0]));
    bytes.extend(differences.iter().map(|d| d.to_le_bytes()[1]));
    [low, high]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Channels, EpisodeIndex, EpisodeKey, Extras, Joint, Rig, RowRange, Verdict};

    #[test]
    fn what_is_packed_comes_back_within_half_a_level() {
        let values: Vec<f64> = (0..400).map(|i| (f64::from(i) * 0.1).sin() * 40.0 - 3.0).collect();
        let mut values_with_gap = values.clone();
        values_with_gap[7] = f64::NAN;
        let mut bytes = Vec::new();
        let [low, high] = pack(&values_with_gap, &mut bytes);
        let mut level = 0u16;
        for (i, value) in values.iter().enumerate() {
            level = level.wrapping_add(u16::from_le_bytes([bytes[i], bytes[400 + i]]));
            if i == 7 {
                assert_eq!(level, u16::MAX);
                continue;
            }
            let back = low + (high - low) * f64::from(level) / LEVELS;
            assert!((back - value).abs() <= (high - low) / LEVELS * 0.51, "{i}");
        }
    }

    #[test]
    fn thinning_keeps_every_peak() {
        let mut values = vec![0.0f32; 6_000];
        values[3_333] = 9.0;
        values[17] = -4.0;
        let stretches: Vec<Stretch> = (0..750).map(|i| i * 8..(i + 1) * 8).collect();
        let kept = thinned(&values, &stretches, 2.0);
        assert_eq!(kept.len(), 1_500);
        assert_eq!(kept.iter().copied().fold(0.0, f64::max), 18.0);
        assert_eq!(kept.iter().copied().fold(0.0, f64::min), -8.0);
    }

    /// What the script gets of an episode of one joint at 10 Hz with these stamps.
    fn shape(time_s: Vec<f64>) -> Result<serde_json::Value, Box<dyn std::error::Error>> {
        let frames = time_s.len();
        let rows = RowRange { input: 0, start: 0, end: frames as u64 };
        let key = EpisodeKey {
            id: "17".to_owned(),
            index: EpisodeIndex::new(7),
            task: None,
            rows,
            labels: Vec::new(),
        };
        let rig = Rig { joints: vec![Joint::named("elbow")], period_s: 0.1, ..Rig::default() };
        let card = Scorecard {
            key: key.clone(),
            frames,
            start_s: 0.0,
            duration_s: 0.0,
            readings: Vec::new(),
            not_assessed: Vec::new(),
            findings: Vec::new(),
            suppressed: Vec::new(),
            trim: Vec::new(),
            span_times_s: Vec::new(),
            verdict: Verdict::Pass,
        };
        let episode = Episode {
            key,
            rig: rig.into(),
            time_s,
            state: Channels::new(vec![0.0; frames], frames, 1),
            action: None,
            ragged_rows: 0,
            extras: Extras::default(),
        };
        let trace = Trace::alone(&episode, &card)?;
        let third = Trace::of(&episode, &card, CardPlace::new(2))?;
        assert_eq!((trace.place.get(), third.place.get()), (0, 2));
        Ok(serde_json::from_str(&trace.shape)?)
    }

    #[test]
    fn stamps_that_run_backward_or_are_missing_are_drawn_at_even_steps()
    -> Result<(), Box<dyn std::error::Error>> {
        let sound = shape(vec![5.0, 5.1, 5.9, 6.0])?;
        assert!(sound.get("even").is_none(), "{sound}");
        assert_eq!((&sound["n"], &sound["ends"][0]), (&4.into(), &serde_json::json!([0.0, 1.0])));
        // Three and a half periods.
        assert!((sound["gap"].as_f64().unwrap_or(0.0) - 0.35).abs() < 1e-12, "{sound}");
        for stamps in [vec![5.0, 5.3, 5.1, 5.2], vec![5.0, f64::NAN, 5.2, 5.3]] {
            let shape = shape(stamps)?;
            assert_eq!(shape["even"], 0.1, "{shape}");
            let end = shape["ends"][0][1].as_f64().unwrap_or(0.0);
            assert!((end - 0.3).abs() < 1e-9, "{shape}");
        }
        // Long ones are thinned among others, and whole in a page of their own.
        let long = shape((0..20_000).map(|i| f64::from(i) * 0.1).collect())?;
        assert_eq!(long["n"], 20_000);
        Ok(())
    }
}
