//! The answer first: can both be trained on together?

use super::compared::Compared;
use super::words::places;
use crate::compare::{Answer, Aspect, Group, Row, Verdict};
use crate::report::files::not_audited;
use crate::report::sentence::Sentence;
use crate::report::status::Status;

/// The answer in a sentence or two.
pub(super) fn sentence(view: &Compared<'_>) -> Sentence {
    let comparison = view.comparison;
    let rows = |group: Group| comparison.rows.iter().filter(move |r| r.aspect.group() == group);
    let differ = |group: Group| -> Vec<&Row> {
        rows(group).filter(|row| row.severity().is_some()).collect()
    };
    let on_rig = differ(Group::Rig);
    let (status, mut text) = match comparison.advice.verdict {
        _ if comparison.identical() => {
            let text = "Both sides hold the same recordings: together they count each twice.";
            return Sentence::new(Status::Warn, text.to_owned());
        }
        Verdict::Merge => {
            (Status::Ok, "Yes, train on both together: nothing on the rig differs.".to_owned())
        }
        Verdict::Correct => {
            (Status::Warn, format!("After a correction: {} on the rig.", differs(view, &on_rig)))
        }
        Verdict::KeepApart => {
            (Status::Fail, format!("No, keep them apart: {} on the rig.", differs(view, &on_rig)))
        }
        Verdict::CannotTell => {
            let measured: Vec<&Row> = rows(Group::Rig)
                .filter(|row| row.measured() && row.aspect != Aspect::Schema)
                .collect();
            let open = measured.iter().filter(|row| row.answer == Answer::Inconclusive).count();
            let text = match measured.len() {
                0 => "Cannot tell: nothing on the rig could be measured on both.".to_owned(),
                all => format!(
                    "Cannot tell yet: nothing on the rig is known to differ, but {open} of {all} \
                     measurements need more episodes."
                ),
            };
            (Status::NotAssessed, text)
        }
    };
    let behaviour = differ(Group::Behaviour);
    if !behaviour.is_empty() {
        text = format!("{text} What was done differs in {}.", places(view, &behaviour, 3));
    }
    let files = [view.a.unread, view.b.unread].concat();
    let Some(files) = not_audited(&files) else { return Sentence::new(status, text) };
    // What was not read was not compared: that is never a plain yes.
    let status = if status == Status::Ok { Status::NotAssessed } else { status };
    Sentence::new(status, format!("{text} But {files}."))
}

fn differs(view: &Compared<'_>, rows: &[&Row]) -> String {
    let verb = if rows.len() == 1 { "differs" } else { "differ" };
    format!("{} {verb}", places(view, rows, 3))
}
