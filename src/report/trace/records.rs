//! The drawing as records, one a line, in SI units.

use std::io::{self, Write};

use super::axis::Axis;
use super::marks::marks;
use super::traced::Traced;
use crate::report::plain::line;

/// Writes what is drawn as records, fields separated by tabs: the episode, its marks, and every
/// frame of every joint with the letters of the marks that it bears.
///
/// # Errors
/// If the output cannot be written.
pub fn trace_records(traced: &Traced<'_>, out: &mut dyn Write) -> io::Result<()> {
    let axis = Axis::of(traced);
    let marks = marks(traced, &axis);
    let (card, rig) = (traced.card, &traced.episode.rig);
    let (frames, duration_s) = (card.frames.to_string(), card.duration_s.to_string());
    line(out, &["episode", &card.key.id, card.verdict.word(), &frames, &duration_s])?;
    for mark in &marks {
        let finding = mark.finding;
        let joint = finding.joint.map_or("", |joint| rig.joint_name(joint));
        for ((from_s, to_s), frames) in mark.spans_s.iter().zip(&mark.frames) {
            let (letter, frames) = (mark.letter.to_string(), format!("{}-{}", frames.0, frames.1));
            let ends = [from_s.to_string(), to_s.to_string()];
            let (check, metric) = (finding.check.id, finding.metric.id);
            line(out, &["mark", &letter, check, metric, joint, &ends[0], &ends[1], &frames])?;
        }
    }
    for joint in &traced.joints {
        let name = rig.joint_name(*joint as u16);
        let follower = traced.episode.state.joint(*joint);
        let action = traced.episode.action.as_ref().filter(|action| *joint < action.joints());
        for frame in axis.frames.clone() {
            let number = |value: Option<f32>| {
                value.filter(|v| v.is_finite()).map_or_else(String::new, |v| v.to_string())
            };
            let mut letters = String::new();
            for mark in marks.iter().filter(|mark| mark.concerns(*joint)) {
                let inside = |f: &(u32, u32)| (f.0..=f.1).contains(&(frame as u32));
                if mark.frames.iter().any(inside) {
                    letters.push(mark.letter);
                }
            }
            let leader = number(action.and_then(|a| a.joint(*joint).get(frame).copied()));
            let follower = number(follower.get(frame).copied());
            let (at, time_s) = (frame.to_string(), axis.at_s[frame].to_string());
            line(out, &["frame", &at, &time_s, name, &leader, &follower, &letters])?;
        }
    }
    Ok(())
}
