//! What a clean copy can mend, as the options of `keep` to paste: only what is exact for this data.

use super::text::quote;
use super::view::View;
use crate::judge::{Cause, Mend};
use crate::model::{AngleUnit, CardPlace, Extra, JointId, Severity, Take};
use crate::source::{Role, RoleChoice};

/// The options that mend a cause; empty where the data alone cannot.
pub(super) fn options_of(view: &View<'_>, cause: &Cause) -> Vec<String> {
    cause.mends.iter().filter_map(|mend| option(view, *mend)).collect()
}

/// The options that mend all that can be, each once.
pub(super) fn options(view: &View<'_>) -> Vec<String> {
    view.digest.mends.iter().filter_map(|mend| option(view, *mend)).collect()
}

/// What is done with what is recorded, with the options behind it.
pub(super) fn with_options(data: String, options: &[String]) -> String {
    match (data.is_empty(), options.is_empty()) {
        (_, true) => data,
        (true, false) => format!("keep {}", options.join(" ")),
        (false, false) => format!("{data} (keep {})", options.join(" ")),
    }
}

/// Whether a clean copy is worth making: there is something to leave out or to mend, and something is
/// left.
pub(super) fn worth_it(view: &View<'_>) -> bool {
    let cards = view.outcome.cards.len();
    let usable = CardPlace::all(cards).filter(|place| view.usable(*place)).count();
    let mended = view
        .digest
        .causes
        .iter()
        .any(|cause| cause.severity == Severity::Fail && !options_of(view, cause).is_empty());
    let needed = usable < cards || !options(view).is_empty();
    needed && (usable > 0 || mended)
}

/// The command that writes a clean copy; none where that is not worth it, or the data is not at hand.
pub(super) fn command(view: &View<'_>) -> Option<String> {
    if !worth_it(view) {
        return None;
    }
    let mut command = view.keep?.to_owned();
    for option in options(view) {
        command.push(' ');
        command.push_str(&option);
    }
    Some(command)
}

fn option(view: &View<'_>, mend: Mend) -> Option<String> {
    let name = |joint: JointId| {
        let name = view.joint(Some(joint));
        let alike = view.rig.joints.iter().filter(|other| other.name == name).count();
        (alike == 1).then_some(name)
    };
    let repair = |text: String| format!("--mend {}", quote(&text));
    Some(match mend {
        Mend::TrimIdle => "--trim-idle".to_owned(),
        Mend::Split => "--split".to_owned(),
        Mend::DropDoubled => "--drop-doubled".to_owned(),
        Mend::ExchangeSides => {
            let (state, action) = (columns(view, Role::State)?, columns(view, Role::Action)?);
            let alike = state.columns.len() == action.columns.len() && state.shape == action.shape;
            let plain = alike && view.rig.stored.is_none() && !sensors(view);
            plain.then(|| repair("exchange-sides".to_owned()))?
        }
        Mend::ExchangeJoints(a, b) => {
            // Both sides name their joints where each joint is a column of its own.
            let named = [Role::State, Role::Action].into_iter().all(|role| {
                columns(view, role).is_some_and(|c| {
                    c.columns.len() == view.rig.joints.len() && c.columns.len() > 1
                })
            });
            let text = format!("exchange-joints:{},{}", name(a)?, name(b)?);
            let plain = stored(view, a) && stored(view, b) && !sensors(view);
            (named && plain).then(|| repair(text))?
        }
        Mend::Unwrap(joint) => {
            let angles = !matches!(view.rig.unit, AngleUnit::Normalized { .. });
            let angle = angles && !view.linear(Some(joint)) && stored(view, joint);
            angle.then_some(())?;
            repair(format!("unwrap:{}", name(joint)?))
        }
        Mend::Unit(joint) => {
            // Which side is not in the unit of the table is known only where that is declared.
            (view.rig.unit_declared && stored(view, joint)).then_some(())?;
            repair(format!("unit:{}", name(joint)?))
        }
    })
}

fn columns<'a>(view: &View<'a>, role: Role) -> Option<&'a RoleChoice> {
    view.roles.iter().find(|choice| choice.role == role)
}

/// Whether a joint is one number on each side that has it.
fn stored(view: &View<'_>, joint: JointId) -> bool {
    let Some(stored) = &view.rig.stored else { return true };
    let one = |take: &Take| matches!(take, Take::One { .. });
    let mut entries = stored.entries.iter();
    entries.any(|entry| entry.joint == joint && one(&entry.state) && one(&entry.action))
}

/// Whether the table has sensors of the joints, which an exchange would leave behind.
fn sensors(view: &View<'_>) -> bool {
    let of_joints = [Extra::Velocity, Extra::Effort, Extra::Voltage, Extra::Temperature];
    of_joints.iter().any(|kind| view.rig.extras.contains(kind))
}
