//! The last stage: the rig is known, and how stored numbers become its own.

use crate::model::Rig;
use crate::source::declared::Declared;
use crate::source::error::SourceError;
use crate::source::indexed::Indexed;
use crate::source::input::Input;
use crate::source::located::Passed;
use crate::source::rig::facts::Facts;
use crate::source::rig::joints::joints;
use crate::source::rig::{clock, probe};
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::extras::ExtraColumns;
use crate::source::roles::parts::TimeColumn;
use crate::source::shard::layout::{Layout, Scaling};
use crate::source::shard::plan::Plan;
use crate::source::shard::wanted::Wanted;

/// Everything that is known of a dataset before its rows are read.
#[derive(Debug)]
pub(in crate::source) struct Surveyed {
    pub rig: Rig,
    pub layout: Layout,
    pub extras: ExtraColumns,
    pub choices: Vec<RoleChoice>,
    pub plan: Plan,
    pub inputs: Vec<Input>,
    pub passed: Passed,
}

impl Surveyed {
    /// Learns the rig from a few episodes, unless it is known from other data.
    pub fn of(indexed: Indexed, declared: &Declared) -> Result<Self, SourceError> {
        let Indexed { columns, mut choices, widths, plan, inputs, passed } = indexed;
        let state = choices.iter().find(|choice| choice.role == Role::State);
        let shown = state.map_or(&[][..], |choice| &choice.columns);
        let joints = joints(&columns.state, shown, declared, &widths.state)?;
        if joints.is_empty() {
            return Err(nothing_in(shown, &inputs));
        }
        let known = declared.rig.as_deref();
        let wider = joints.len().max(widths.action.iter().sum());
        let stated = columns.time.as_ref().and_then(|time| time.per_second);
        let as_stored = Layout {
            joints: joints.len(),
            columns,
            widths,
            scaling: Scaling {
                factors: vec![1.0; wider],
                offsets: Vec::new(),
                per_second: stated.unwrap_or(1.0),
                rate_hz: declared.rate_hz.or(known.and_then(|rig| rig.rate_hz)).unwrap_or(1.0),
            },
            more: Wanted::default(),
        };
        let facts = match known {
            Some(known) => Facts::known(known, &joints, &as_stored)?,
            None => Facts::learnt(joints, declared, &as_stored, &plan, &inputs)?,
        };
        state_unit(&mut choices, as_stored.columns.time.as_ref(), facts.per_second);
        let scaling = facts.scaling(&as_stored.scaling);
        let layout = Layout { scaling, ..as_stored };

        let joints = &facts.rig.joints;
        let mut extras = ExtraColumns::find(&layout.columns, declared, joints, &mut choices);
        if !extras.is_empty()
            && let (Some(file), Some(input)) = (plan.files.first(), inputs.first())
            && let Ok(open) = file.table(&input.path, None)
        {
            let (factors, period_s) = (facts.factors(), facts.rig.period_s);
            let table = open.table.as_ref();
            probe::probe(&mut extras, table, file.rows, joints, &factors, period_s, &mut choices);
        }
        let labels = choices.iter().find(|choice| choice.role == Role::Label);
        let labels = labels.map(|choice| choice.columns.clone()).unwrap_or_default();
        let rig = Rig { extras: extras.kinds(), labels, ..facts.rig };
        Ok(Self { rig, layout, extras, choices, plan, inputs, passed })
    }
}

/// The error for columns that are empty in every row.
fn nothing_in(columns: &[String], inputs: &[Input]) -> SourceError {
    let reason = format!(
        "the follower's column \"{}\" is null or empty in every row",
        columns.join("\", \"")
    );
    let hint = Some("declare another one in the profile: [columns] state = [\"…\"]".to_owned());
    let path = inputs.first().map(|input| input.path.clone()).unwrap_or_default();
    SourceError::AllUnread { files: inputs.len(), path, reason, hint }
}

/// Says which unit the stamps have, and how that was decided.
fn state_unit(choices: &mut [RoleChoice], time: Option<&TimeColumn>, per_second: f64) {
    let Some(time) = time else { return };
    let unit = format!("; {}: {}", time.unit_why, clock::unit_word(per_second));
    for choice in choices.iter_mut().filter(|choice| choice.role == Role::Time) {
        choice.why.push_str(&unit);
    }
}
