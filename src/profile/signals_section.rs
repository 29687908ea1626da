//! `[state]` and `[action]`: what the dimensions of each side are.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::action_section;
use super::error::ProfileError;
use super::place::Place;
use super::suggest::hint;
use crate::model::{ActionKind, Rig, RotationForm, SignalKind, Take};
use crate::source::{Declared, DeclaredSignals};

/// `[state]` or `[action]`.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct SignalsSection {
    /// What the action is to the state.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<Spanned<String>>,
    /// Column that says when the input device is coupled.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clutch: Option<Spanned<String>>,
    /// Column that says who or what commands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mode: Option<Spanned<String>>,
    /// Names of the coordinates of places.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub positions: Vec<Vec<String>>,
    /// Numbers that store a rotation together.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rotations: Vec<RotationSection>,
    /// Kinds by the names of dimensions.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub kinds: BTreeMap<String, Spanned<String>>,
}

/// One rotation.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RotationSection {
    /// How it is stored.
    pub form: Spanned<String>,
    /// Names of its numbers, in the order of the form.
    pub of: Spanned<Vec<String>>,
}

/// Enters both sections.
pub(super) fn signals(
    (state, action): (Option<SignalsSection>, Option<SignalsSection>),
    place: &Place<'_>,
    declared: &mut Declared,
) -> Result<(), ProfileError> {
    let (state, action) = (state.unwrap_or_default(), action.unwrap_or_default());
    let said = [("kind", &state.kind), ("clutch", &state.clutch), ("mode", &state.mode)];
    if let Some((word, Some(value))) = said.into_iter().find(|(_, value)| value.is_some()) {
        let what = format!("{word} is said of the action, not of the state");
        return Err(place.wrong(value.span(), what, format!("put {word} under [action]")));
    }
    let text = |value: &Option<Spanned<String>>| value.as_ref().map(|v| v.get_ref().clone());
    let kind = action.kind.as_ref().map(|kind| action_section::kind(kind, place));
    declared.action_kind = kind.transpose()?;
    (declared.clutch, declared.mode) = (text(&action.clutch), text(&action.mode));
    declared.state_signals = side(state, place)?;
    declared.action_signals = side(action, place)?;
    Ok(())
}

fn side(section: SignalsSection, place: &Place<'_>) -> Result<DeclaredSignals, ProfileError> {
    let mut declared = DeclaredSignals { places: section.positions, ..DeclaredSignals::default() };
    for (name, word) in section.kinds {
        let typed = word.get_ref().as_str();
        let Some(kind) = SignalKind::named(typed) else {
            let known: Vec<&str> = SignalKind::ALL.iter().map(|kind| kind.word()).collect();
            let what = format!("\"{name}\": there is no kind \"{typed}\"");
            return Err(place.wrong(word.span(), what, hint(typed, &known)));
        };
        declared.kinds.push((name, kind));
    }
    for rotation in section.rotations {
        let typed = rotation.form.get_ref().as_str();
        let Some(form) = RotationForm::named(typed) else {
            let known = RotationForm::ALL.map(RotationForm::word);
            let what = format!("there is no form of rotations \"{typed}\"");
            return Err(place.wrong(rotation.form.span(), what, hint(typed, &known)));
        };
        let of = rotation.of.get_ref();
        if of.len() != form.width() {
            let what =
                format!("a rotation as {typed} is {} numbers, here {}", form.width(), of.len());
            return Err(place.wrong(rotation.of.span(), what, ""));
        }
        declared.rotations.push((form, of.clone()));
    }
    Ok(declared)
}

/// What was understood of both sides, as declared. What the flags of joints say already is left out.
pub(super) fn understood(rig: &Rig) -> (DeclaredSignals, DeclaredSignals) {
    let (mut state, mut action) = (DeclaredSignals::default(), DeclaredSignals::default());
    let by_flags = |kind: SignalKind| {
        matches!(kind, SignalKind::Revolute | SignalKind::Prismatic | SignalKind::GripperContinuous)
    };
    for joint in &rig.joints {
        let kind = joint.kind();
        if !by_flags(kind) && kind != SignalKind::Orientation {
            state.kinds.push((joint.name.clone(), kind));
        }
    }
    let Some(stored) = &rig.stored else { return (state, action) };
    for entry in &stored.entries {
        let sides = [
            (&entry.state, &stored.state, &mut state),
            (&entry.action, &stored.action, &mut action),
        ];
        for (take, names, declared) in sides {
            if let Take::Rotation { from, form, .. } = take {
                let of = from.iter().filter_map(|at| names.get(*at).cloned()).collect();
                declared.rotations.push((*form, of));
            }
        }
    }
    (state, action)
}

/// A side as it is written; none where nothing is declared.
pub(super) fn section(
    declared: &DeclaredSignals,
    (kind, clutch, mode): (Option<ActionKind>, Option<&String>, Option<&String>),
) -> Option<SignalsSection> {
    let text = |value: Option<&String>| value.map(|value| spanned(value.clone()));
    let rotation = |(form, of): &(RotationForm, Vec<String>)| RotationSection {
        form: spanned(form.word().to_owned()),
        of: spanned(of.clone()),
    };
    let word =
        |(name, kind): &(String, SignalKind)| (name.clone(), spanned(kind.word().to_owned()));
    let kind = kind.and_then(action_section::word).map(|word| spanned(word.to_owned()));
    let any = !declared.is_empty() || kind.is_some() || clutch.or(mode).is_some();
    any.then(|| SignalsSection {
        kind,
        clutch: text(clutch),
        mode: text(mode),
        positions: declared.places.clone(),
        rotations: declared.rotations.iter().map(rotation).collect(),
        kinds: declared.kinds.iter().map(word).collect(),
    })
}

fn spanned<T>(value: T) -> Spanned<T> {
    Spanned::new(0..0, value)
}

#[cfg(test)]
mod tests {
    use crate::model::{ActionKind, RotationForm, SignalKind};
    use crate::profile::{Profile, ProfileError};

    fn read(text: &str) -> Result<Profile, ProfileError> {
        Profile::parse(text, "teleassay.toml", &[])
    }

    const WHOLE: &str = r#"
[state]
positions = [["x", "y", "z"]]
rotations = [{ form = "wxyz", of = ["qw", "qx", "qy", "qz"] }]
kinds = { jaw = "discrete_gripper" }
[action]
kind = "velocity"
clutch = "pedal"
"#;

    #[test]
    fn both_sides_are_read_and_written_back() -> Result<(), ProfileError> {
        let profile = read(WHOLE)?;
        let declared = &profile.declared;
        assert_eq!(declared.state_signals.kinds, [("jaw".into(), SignalKind::GripperDiscrete)]);
        assert_eq!(declared.state_signals.rotations[0].0, RotationForm::Wxyz);
        assert!(matches!(declared.action_kind, Some(ActionKind::Velocity)));
        assert_eq!(declared.clutch.as_deref(), Some("pedal"));
        assert_eq!(read(&profile.to_toml(&[]))?.declared, profile.declared);
        Ok(())
    }

    #[test]
    fn an_unknown_word_gets_the_near_one() {
        let wrong =
            |text: &str| read(text).err().map(|e| (e.to_string(), e.hint().map(str::to_owned)));
        let (what, hint) = wrong("[state]\nkinds = { jaw = \"orientatoin\" }").unwrap_or_default();
        assert!(what.contains("line 2") && what.contains("no kind \"orientatoin\""), "{what}");
        assert_eq!(hint.as_deref(), Some("did you mean \"orientation\"?"));
        let (what, hint) =
            wrong("[state]\nrotations = [{ form = \"xyzv\", of = [] }]").unwrap_or_default();
        assert!(what.contains("no form"), "{what}");
        assert_eq!(hint.as_deref(), Some("did you mean \"xyzw\"?"));
        let (what, _) =
            wrong("[action]\nrotations = [{ form = \"xyzw\", of = [\"a\"] }]").unwrap_or_default();
        assert!(what.contains("is 4 numbers, here 1"), "{what}");
        let (what, hint) = wrong("[state]\nclutch = \"pedal\"").unwrap_or_default();
        assert!(what.contains("said of the action"), "{what}");
        assert_eq!(hint.as_deref(), Some("put clutch under [action]"));
        let (what, hint) = wrong("[action]\nclutsh = \"pedal\"").unwrap_or_default();
        assert!(what.contains("unknown field"), "{what}");
        assert_eq!(hint.as_deref(), Some("did you mean \"clutch\"?"));
    }
}
