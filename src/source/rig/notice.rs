//! What a person must know of the rig that was put together.

use std::fmt::{self, Display, Formatter};

use crate::model::{Actions, KnownBy};

/// Names shown before a list is cut.
const SHOWN: usize = 24;

/// One thing to know of the rig.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::source) enum Notice {
    /// Joints whose limits come from a URDF file.
    LimitsFrom { file: String, joints: Names },
    /// Joints that a URDF file does not have.
    NotIn { file: String, joints: Names },
    /// Joints that are linear in a URDF file and not in the dataset.
    Linear { file: String, joints: Names },
    /// What the actions are, where they are no plain positions.
    Actions { actions: Actions, period_s: f64 },
    /// Normalised joints whose travel is assumed.
    AssumedTravel { joints: Vec<String> },
    /// Numbers of one side without a partner on the other.
    Unpaired { state: Vec<String>, action: Vec<String> },
    /// Formats of the files, where there are several: how many of each.
    Mixed { formats: Vec<(&'static str, usize)> },
    /// A column that came asynchronously and was held to the frames: how, by the first file.
    Aligned { column: String, how: String, file: String },
    /// What was guessed of a unit, and the line that decides.
    Guessed { what: String, line: String },
}

impl Display for Notice {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::LimitsFrom { file, joints } => write!(f, "limits from {file}: {joints}"),
            Self::NotIn { file, joints } => {
                write!(f, "{file} has no joint of this name: {joints}")
            }
            Self::Linear { file, joints } => write!(
                f,
                "{file} calls these linear, so their limits are not used (linear = true in the \
                 profile if the table holds metres): {joints}"
            ),
            Self::Actions { actions, period_s } => {
                f.write_str(&actions.kind.words(*period_s))?;
                match &actions.by {
                    KnownBy::Assumed => Ok(()),
                    KnownBy::Declared => f.write_str(" (declared)"),
                    KnownBy::Recognised(why) => write!(f, " (recognised: {why})"),
                    KnownBy::Undecided(why) => write!(
                        f,
                        " ({why}): say it in the profile, [action] kind = \"position\", \"next\", \
                         \"delta\", \"velocity\", \"held\", \"chunked\" or \"other\""
                    ),
                }
            }
            Self::AssumedTravel { joints } => write!(
                f,
                "normalised values without lower and upper count as 180 deg of travel (360 mm if \
                 linear), so that limits in degrees are shares of it: {}",
                joints.join(", ")
            ),
            Self::Unpaired { state, action } => {
                let side = |names: &[String], whose: &str| {
                    (!names.is_empty()).then(|| format!("{} of the {whose}", Names(names.to_vec())))
                };
                let sides = [side(state, "state"), side(action, "action")];
                let sides: Vec<String> = sides.into_iter().flatten().collect();
                write!(
                    f,
                    "without a partner, so not compared: {}; pairs are made by name (list both \
                     under [columns] in the same order if they belong together)",
                    sides.join("; ")
                )
            }
            Self::Mixed { formats } => {
                let each: Vec<String> =
                    formats.iter().map(|(format, files)| format!("{files} {format}")).collect();
                write!(f, "the files are of several formats: {}", each.join(", "))
            }
            Self::Aligned { column, how, file } => write!(f, "{column}: {how} (in {file})"),
            Self::Guessed { what, line } => write!(f, "{what}; to decide: {line}"),
        }
    }
}

/// Names of joints; a long list is shown in part.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::source) struct Names(pub Vec<String>);

impl Display for Names {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let shown = &self.0[..self.0.len().min(SHOWN)];
        f.write_str(&shown.join(", "))?;
        match self.0.len() - shown.len() {
            0 => Ok(()),
            more => write!(f, " and {more} more"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_list_is_cut() {
        let names = |count: usize| Names((0..count).map(|n| format!("j{n}")).collect()).to_string();
        assert_eq!(names(2), "j0, j1");
        assert!(names(26).ends_with("j22, j23 and 2 more"), "{}", names(26));
    }
}
