//! Columns and unit that are stated for one run, without a profile or over it.

use super::AppError;
use crate::model::AngleUnit;
use crate::source::Declared;

/// Columns and unit that are stated for one run: they go before those of the profile.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stated {
    /// Follower columns: one list or struct column, or scalar columns (`prefix_*`) in joint order.
    pub state: Vec<String>,
    /// Leader columns, likewise.
    pub action: Vec<String>,
    /// Time column.
    pub time: Option<String>,
    /// Episode column.
    pub episode: Option<String>,
    /// Unit of the joint values: `rad`, `deg`, `counts:4096`, `normalized:-100:100`.
    pub unit: Option<String>,
}

impl Stated {
    /// Puts them over what is declared.
    pub(super) fn over(&self, declared: &mut Declared) -> Result<(), AppError> {
        if !self.state.is_empty() {
            declared.state.clone_from(&self.state);
        }
        if !self.action.is_empty() {
            declared.action.clone_from(&self.action);
        }
        if self.episode.is_some() {
            declared.episode.clone_from(&self.episode);
        }
        if self.time.is_some() && self.time != declared.time {
            declared.time.clone_from(&self.time);
            // The profile's unit is that of its own column.
            declared.time_unit = None;
        }
        if let Some(text) = &self.unit {
            declared.unit = Some(unit(text, declared)?);
        }
        Ok(())
    }
}

/// The unit that is named; what it needs besides may come from the profile.
fn unit(text: &str, declared: &Declared) -> Result<AngleUnit, AppError> {
    let wrong = |what: String, hint: &str| Err(AppError::input(what).with_hint(hint));
    let (word, rest) = text.split_once(':').map_or((text, None), |(word, rest)| (word, Some(rest)));
    let positive = |text: &str| text.parse().ok().filter(|n: &f64| n.is_finite() && *n > 0.0);
    match word.trim().to_lowercase().as_str() {
        "rad" | "radian" | "radians" if rest.is_none() => Ok(AngleUnit::Radian),
        "deg" | "degree" | "degrees" if rest.is_none() => Ok(AngleUnit::Degree),
        "counts" => match rest.map_or(declared.counts_per_turn, positive) {
            Some(per_turn) => Ok(AngleUnit::Counts { per_turn }),
            None => wrong(
                format!("--unit {text}: how many counts are one turn is not known"),
                "write them behind the unit, such as --unit counts:4096",
            ),
        },
        "normalized" => {
            let known = match declared.unit {
                Some(unit @ AngleUnit::Normalized { .. }) => Some(unit),
                _ => None,
            };
            match rest.map_or(known, range) {
                Some(unit) => Ok(unit),
                None => wrong(
                    format!(
                        "--unit {text}: the stored values at both ends of the travel are not known"
                    ),
                    "write them behind the unit, such as --unit normalized:-1:1",
                ),
            }
        }
        _ => wrong(
            format!("--unit {text}: there is no such unit"),
            "one of: rad, deg, counts:4096 (to a turn), normalized:-1:1 (stored ends of travel)",
        ),
    }
}

fn range(text: &str) -> Option<AngleUnit> {
    let (low, high) = text.split_once(':')?;
    let (low, high): (f64, f64) = (low.trim().parse().ok()?, high.trim().parse().ok()?);
    let good = low.is_finite() && high.is_finite() && low < high;
    good.then_some(AngleUnit::Normalized { low, high })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, declared: &Declared) -> Result<AngleUnit, String> {
        unit(text, declared).map_err(|error| error.to_string())
    }

    #[test]
    fn units_are_read_and_take_from_the_profile_what_they_need() {
        let none = Declared::default();
        assert_eq!(read("deg", &none), Ok(AngleUnit::Degree));
        assert_eq!(read("Radians", &none), Ok(AngleUnit::Radian));
        assert_eq!(read("counts:4096", &none), Ok(AngleUnit::Counts { per_turn: 4096.0 }));
        let normalized = AngleUnit::Normalized { low: -100.0, high: 100.0 };
        assert_eq!(read("normalized:-100:100", &none), Ok(normalized));
        let profile = Declared {
            counts_per_turn: Some(1024.0),
            unit: Some(normalized),
            ..Declared::default()
        };
        assert_eq!(read("counts", &profile), Ok(AngleUnit::Counts { per_turn: 1024.0 }));
        assert_eq!(read("normalized", &profile), Ok(normalized));
        for wrong in ["counts", "counts:0", "normalized", "normalized:1:-1", "rad:3", "grad", ""] {
            assert!(read(wrong, &none).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_is_stated_goes_before_the_profile_and_nothing_else_does() -> Result<(), AppError> {
        let mut declared = Declared {
            state: vec!["a".to_owned()],
            action: vec!["b".to_owned()],
            time: Some("t".to_owned()),
            time_unit: Some(crate::source::TimeUnit::Milli),
            ..Declared::default()
        };
        let stated = Stated { state: vec!["c".to_owned()], ..Stated::default() };
        stated.over(&mut declared)?;
        assert_eq!((declared.state[0].as_str(), declared.action[0].as_str()), ("c", "b"));
        assert!(declared.time_unit.is_some());
        Stated { time: Some("u".to_owned()), ..Stated::default() }.over(&mut declared)?;
        assert_eq!((declared.time.as_deref(), declared.time_unit), (Some("u"), None));
        Ok(())
    }
}
