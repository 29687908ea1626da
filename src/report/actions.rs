//! The verdict where the actions carry no command: nothing else matters before that.

use super::status::Status;
use super::view::View;
use crate::check::mapping::action_kind::{CHECK, COPY_ROWS, NEXT_FACT, NEXT_SHARE, SAME_SHARE};
use crate::model::{ActionKind, SessionFinding, Verdict};
use crate::num::robust::median;

/// What is wrong with the actions as such; `None` where they are of use, or where that is not known.
pub(super) fn verdict(view: &View<'_>) -> Option<(Status, String)> {
    let session = &view.outcome.session;
    if view.rig.actions.kind == ActionKind::None && session.verdict != Verdict::Fail {
        let text = "Cannot be trained on as it is: there are no actions, so there is no command to \
                    learn. If a column holds them, name it in the profile: [columns] action = \
                    [\"...\"]";
        let status = match session.verdict {
            Verdict::Pass => Status::NotAssessed,
            verdict => verdict.into(),
        };
        return Some((status, text.to_owned()));
    }
    let of_actions = |f: &&SessionFinding| f.check.is(CHECK.spec());
    let finding = session.findings.iter().find(of_actions)?;
    let what = what(view, finding);
    let share = format!("{} of {} episodes", finding.episodes, finding.of);
    let text = if is_next(finding) {
        format!(
            "Look at the actions first: they are {what} in {share}, so they carry no command. If \
             that is meant, say so in the profile: [action] kind = \"next\"."
        )
    } else {
        format!(
            "Do not train on these actions: they are {what} in {share}, so they carry no command. \
             Record the leader, or the commands that were sent."
        )
    };
    Some((session.verdict.into(), text))
}

fn is_next(finding: &SessionFinding) -> bool {
    finding.metric.is(&NEXT_SHARE) || finding.metric.is(&NEXT_FACT)
}

/// Of what the actions are copies.
fn what(view: &View<'_>, finding: &SessionFinding) -> String {
    if is_next(finding) {
        return "the next observations (the state of the next row)".to_owned();
    }
    if finding.metric.is(&SAME_SHARE) {
        return "copies of the state of the same row".to_owned();
    }
    let mut columns = view.outcome.ledger.columns();
    let column = columns.find(|c| c.0.is(CHECK.spec()) && c.1.is(&COPY_ROWS));
    let rows = column.map_or(&[][..], |column| column.3);
    let rows: Vec<f64> =
        rows.iter().filter(|rows| rows.is_finite()).map(|rows| f64::from(*rows)).collect();
    if 2 * rows.len() < finding.episodes as usize {
        return "copies of states of changing age".to_owned();
    }
    match median(&rows).round() as i64 {
        0 => "copies of the state of the same row, rounded or with noise".to_owned(),
        -1 => "copies of the state 1 frame earlier".to_owned(),
        1 => "copies of the state 1 frame later".to_owned(),
        rows => format!("copies of the state {rows} frames later"),
    }
}
