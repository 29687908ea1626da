//! Repairs by name: what a person asks for.

use crate::app::AppError;
use crate::profile::nearest;

/// A side of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    State,
    Action,
}

impl Side {
    /// The side as it is written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::State => "state",
            Self::Action => "action",
        }
    }
}

/// A repair.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Mend {
    /// Leader and follower change columns.
    ExchangeSides,
    /// Two joints of the follower change columns.
    ExchangeJoints(String, String),
    /// Whole turns are added so that a joint has no jumps.
    Unwrap(String),
    /// The side of a joint that is not in the unit of the table is converted to it.
    Unit(String),
    /// Actions are taken from so many rows later.
    ShiftActions(i64),
    /// An offset that the person states is subtracted.
    Offset { side: Side, joint: String, value: String },
}

/// Names and forms of all.
const FORMS: [(&str, &str); 6] = [
    ("exchange-sides", "exchange-sides"),
    ("exchange-joints", "exchange-joints:waist,elbow"),
    ("unwrap", "unwrap:waist"),
    ("unit", "unit:elbow"),
    ("shift-actions", "shift-actions:1"),
    ("offset", "offset:state/elbow:4.2deg"),
];

impl Mend {
    /// Reads a repair as it is typed.
    pub fn read(text: &str) -> Result<Self, AppError> {
        let (name, rest) =
            text.split_once(':').map_or((text, None), |(name, rest)| (name, Some(rest)));
        let Some((_, form)) = FORMS.iter().find(|(known, _)| *known == name) else {
            let near = nearest(name, FORMS.iter().map(|(name, _)| *name));
            let hint = near.map_or_else(
                || format!("one of: {}", FORMS.map(|(_, form)| form).join("; ")),
                |near| format!("did you mean {near}?"),
            );
            let what = format!("--mend {text}: there is no such repair");
            return Err(AppError::input(what).with_hint(hint));
        };
        let wrong = || {
            AppError::input(format!("--mend {text}: is not complete"))
                .with_hint(format!("write it as: --mend {form}"))
        };
        let rest = rest.map(str::trim).filter(|rest| !rest.is_empty());
        if name == "exchange-sides" {
            return if rest.is_none() { Ok(Self::ExchangeSides) } else { Err(wrong()) };
        }
        let rest = rest.ok_or_else(wrong)?;
        Ok(match name {
            "exchange-joints" => {
                let (a, b) = rest.split_once(',').ok_or_else(wrong)?;
                let (a, b) = (a.trim(), b.trim());
                if a.is_empty() || b.is_empty() || a == b {
                    return Err(wrong());
                }
                Self::ExchangeJoints(a.to_owned(), b.to_owned())
            }
            "unwrap" => Self::Unwrap(rest.to_owned()),
            "unit" => Self::Unit(rest.to_owned()),
            "shift-actions" => {
                let rows = rest.parse().ok().filter(|rows: &i64| *rows != 0);
                Self::ShiftActions(rows.ok_or_else(wrong)?)
            }
            _ => {
                let (place, value) = rest.rsplit_once(':').ok_or_else(wrong)?;
                let (side, joint) = place.split_once('/').ok_or_else(wrong)?;
                let side = match side {
                    "state" => Side::State,
                    "action" => Side::Action,
                    _ => return Err(wrong()),
                };
                Self::Offset { side, joint: joint.to_owned(), value: value.to_owned() }
            }
        })
    }
}

/// A repair that is refused.
pub(super) fn refused(option: &str, why: &str, hint: &str) -> AppError {
    AppError::input(format!("--mend {option}: {why}")).with_hint(hint)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_form_is_read_and_nothing_else() -> Result<(), AppError> {
        for (name, form) in FORMS {
            assert!(form.starts_with(name));
            Mend::read(form)?;
        }
        let offset = Mend::Offset {
            side: Side::Action,
            joint: "left/elbow".to_owned(),
            value: "-2 deg".to_owned(),
        };
        assert_eq!(Mend::read("offset:action/left/elbow:-2 deg")?, offset);
        for wrong in [
            "unwrapp:waist",
            "unwrap",
            "unwrap:",
            "exchange-sides:waist",
            "exchange-joints:waist",
            "exchange-joints:waist,waist",
            "shift-actions:0",
            "shift-actions:1.5",
            "offset:elbow:3",
            "offset:leader/elbow:3",
            "",
        ] {
            let error = Mend::read(wrong).err();
            assert!(error.as_ref().is_some_and(|error| error.hint().is_some()), "{wrong}");
        }
        Ok(())
    }
}
