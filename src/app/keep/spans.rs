//! Spans to leave out that a person states: `17:0-1.5`, or a list that an audit wrote.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;

use serde_json::Value;

use crate::app::AppError;
use crate::app::keep::list::read;
use crate::profile::nearest;

/// What is left out of one episode.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Span {
    /// Seconds from the episode's start.
    Seconds(f64, f64),
    /// Frames.
    Frames(Range<u64>),
}

/// The spans of each episode, by its id.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Spans(pub BTreeMap<String, Vec<Span>>);

const FORM: &str =
    "write ID:FROM-TO in seconds from the episode's start, such as 17:0-1.5 or 17:12.3-";

impl Spans {
    /// Reads spans, and files with spans.
    pub fn read(typed: &[String]) -> Result<Self, AppError> {
        let mut spans = Self::default();
        for text in typed {
            let path = Path::new(text);
            if path.is_file() {
                spans.of_file(path)?;
            } else {
                let (id, span) = one(text)?;
                spans.0.entry(id).or_default().push(span);
            }
        }
        Ok(spans)
    }

    /// Refuses ids that are not among these.
    pub fn check(&self, ids: &[&str]) -> Result<(), AppError> {
        let known: std::collections::HashSet<&str> = ids.iter().copied().collect();
        let Some(id) = self.0.keys().find(|id| !known.contains(id.as_str())) else { return Ok(()) };
        let near = nearest(id, ids.iter().copied());
        let hint = near.map_or_else(|| FORM.to_owned(), |near| format!("did you mean \"{near}\"?"));
        Err(AppError::input(format!("--trim: there is no episode or file \"{id}\""))
            .with_hint(hint))
    }

    /// A list as `--out-keep-list FILE.json` writes it.
    fn of_file(&mut self, path: &Path) -> Result<(), AppError> {
        let bytes = read(path)?;
        let Ok(document) = serde_json::from_slice::<Value>(&bytes) else {
            let what = format!("{}: is no JSON document", path.display());
            let hint = "name a list of `teleassay audit PATH --out-keep-list FILE.json`, or spans";
            return Err(AppError::input(what).with_hint(hint));
        };
        for episode in document["episodes"].as_array().into_iter().flatten() {
            let Some(id) = episode["episode"].as_str() else { continue };
            for span in episode["trim"].as_array().into_iter().flatten() {
                let end = |at: usize| span["frames"][at].as_u64();
                if let (Some(start), Some(end)) = (end(0), end(1)) {
                    self.0.entry(id.to_owned()).or_default().push(Span::Frames(start..end));
                }
            }
        }
        Ok(())
    }
}

fn one(text: &str) -> Result<(String, Span), AppError> {
    let wrong = || AppError::input(format!("--trim {text}: is no span")).with_hint(FORM);
    let (id, span) = text.rsplit_once(':').ok_or_else(wrong)?;
    let (from, to) = span.split_once('-').ok_or_else(wrong)?;
    let seconds = |text: &str, open: f64| -> Result<f64, AppError> {
        let text = text.trim().trim_end_matches('s').trim_end();
        if text.is_empty() {
            return Ok(open);
        }
        text.parse().ok().filter(|s: &f64| s.is_finite() && *s >= 0.0).ok_or_else(wrong)
    };
    let (from, to) = (seconds(from, f64::NEG_INFINITY)?, seconds(to, f64::INFINITY)?);
    if id.is_empty() || from >= to || (from.is_infinite() && to.is_infinite()) {
        return Err(wrong());
    }
    Ok((id.to_owned(), Span::Seconds(from, to)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_read_and_nonsense_is_refused() -> Result<(), AppError> {
        let of = |text: &str| Spans::read(&[text.to_owned()]);
        let seconds = |from, to| vec![Span::Seconds(from, to)];
        assert_eq!(of("17:0-1.5")?.0["17"], seconds(0.0, 1.5));
        assert_eq!(of("day:1/17:12.3 s-")?.0["day:1/17"], seconds(12.3, f64::INFINITY));
        assert_eq!(of("17:-2")?.0["17"], seconds(f64::NEG_INFINITY, 2.0));
        for wrong in ["17", "17:3", "17:-", "17:3-2", ":1-2", "17:a-b", "17:1-nan"] {
            assert!(of(wrong).is_err(), "{wrong}");
        }
        assert!(of("17:0-1")?.check(&["18"]).is_err());
        Ok(())
    }

    #[test]
    fn a_list_of_an_audit_says_what_to_trim() -> Result<(), Box<dyn std::error::Error>> {
        let file = tempfile::NamedTempFile::new()?;
        let text = r#"{"episodes": [{"episode": "3", "trim": [{"frames": [0, 52], "time_s": [0, 1.7]}]}]}"#;
        std::fs::write(file.path(), text)?;
        let spans = Spans::read(&[file.path().display().to_string()])?;
        assert_eq!(spans.0["3"], [Span::Frames(0..52)]);
        Ok(())
    }
}
