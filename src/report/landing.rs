//! Lines for the person at the rig while episodes land: verdict, cause, next step.

use super::number::Human;
use super::status::Status;
use super::text::{clean, count};
use super::words::{capital, session_extent};
use crate::model::{
    Bound, CheckSpec, Counts, Finding, JointId, Rig, Scorecard, SessionFinding, Severity, Verdict,
};

/// An episode that was judged: `ep 7  x FAIL  reading held, elbow 1.20 s (limit 0.15 s)  -> check
/// ...`.
///
/// `assessed` says whether any check could read something: what nobody looked at has not passed.
pub fn landed(id: &str, card: &Scorecard, rig: &Rig, again: bool, assessed: bool) -> String {
    let status: Status = card.verdict.into();
    let id = clean(id);
    let again = if again { "again: " } else { "" };
    if !assessed {
        let status = Status::NotAssessed.column();
        return format!("ep {id:<4} {status}  {again}no check had the data that it needs");
    }
    let Some(first) = card.findings.first() else {
        let extent = format!("{:.1} s, {}", card.duration_s, count(card.frames as u64, "frame"));
        return format!("ep {id:<4} {}  {again}{extent}", status.column());
    };
    let more = card.findings.len() - 1;
    let more = if more > 0 {
        format!(" and {}", count(more as u64, "more finding"))
    } else {
        String::new()
    };
    format!(
        "ep {id:<4} {}  {again}{}{more}  -> {}",
        status.column(),
        cause(first, rig),
        next_step(first)
    )
}

/// What is wrong, where, how much: `reading held, elbow 1.20 s (limit 0.15 s)`.
fn cause(finding: &Finding, rig: &Rig) -> String {
    let linear = finding.joint.and_then(|j| rig.joints.get(j as usize)).is_some_and(|j| j.linear);
    let size = if finding.limit == 0.0 { finding.value } else { finding.limit };
    let human = Human::of(finding.metric, linear, size);
    let joint = finding.joint.map_or(String::new(), |j| format!(", {}", clean(rig.joint_name(j))));
    let at = match finding.spans.as_slice().len() {
        0 | 1 => "",
        _ => ", several times",
    };
    let (value, limit) = (human.quantity(finding.value), human.quantity(finding.limit));
    let word = if matches!(finding.metric.bound, Bound::Below(_)) { "min" } else { "limit" };
    format!("{}{joint} {value} ({word} {limit}){at}", finding.check.title())
}

/// What to do on the rig, in the words of the check: the first thing, since this is read in
/// passing.
fn first_remedy(check: &CheckSpec) -> &'static str {
    check.remedy.split(';').next().unwrap_or(check.remedy)
}

/// What to do on the rig, and with the episode.
fn next_step(finding: &Finding) -> String {
    let remedy = first_remedy(finding.check);
    match (finding.severity, finding.metric.recovery) {
        (Severity::Fail, None) => format!("{remedy}; record it again"),
        (_, Some(how)) if !how.starts_with("as it is") => format!("{remedy}; or {how}"),
        _ => remedy.to_owned(),
    }
}

/// A fault of the rig that is certain: `STOP: fix the rig first: elbow neutral offset 4.02 deg
/// ...`.
pub fn stop(finding: &SessionFinding, rig: &Rig) -> String {
    let painted = Status::Fail.painted().replace(Status::Fail.word(), "STOP");
    format!(
        "{painted}: fix the rig first: {}  -> {}",
        fault(finding, rig),
        first_remedy(finding.check)
    )
}

/// Something of the session that is certain: `! warn  all episodes so far: tracking lag 160 ms
/// ...`.
pub fn session_notice(finding: &SessionFinding, rig: &Rig) -> String {
    let status = Status::from(finding.severity).painted();
    format!("{status}  the session: {}  -> {}", fault(finding, rig), first_remedy(finding.check))
}

fn fault(finding: &SessionFinding, rig: &Rig) -> String {
    let finding = SessionFinding { stretch: None, ..finding.clone() };
    let joint = finding.joint.map_or(String::new(), |j| format!("{} ", clean(rig.joint_name(j))));
    let note =
        if finding.note.is_empty() { String::new() } else { format!(", {}", clean(&finding.note)) };
    let extent = session_extent(&finding, &[], rig);
    format!("{joint}{} {extent}{note}", finding.check.title())
}

/// What was reported of the session and has not shown in the last episodes.
pub fn cleared(check: &CheckSpec, joint: Option<JointId>, rig: &Rig) -> String {
    let joint = joint.map_or(String::new(), |j| format!("{} ", clean(rig.joint_name(j))));
    let title = check.title();
    format!("{}  the session: no {joint}{title} in the last 5 episodes", Status::Ok.word())
}

/// A verdict that is another one with the rig of more episodes.
pub fn rejudged(id: &str, before: Verdict, now: Verdict) -> String {
    let word = |verdict: Verdict| Status::from(verdict).word();
    let now = Status::from(now).painted();
    format!("ep {:<4} {now}  (was {}) with the rig of more episodes", clean(id), word(before))
}

/// The tally: `8 episodes: 6 ok, 1 warn, 1 FAIL`.
pub fn tally(counts: Counts) -> String {
    let Counts { pass, warn, fail } = counts;
    format!("{}: {pass} ok, {warn} warn, {fail} FAIL", count(pass + warn + fail, "episode"))
}

/// How the rig is understood otherwise.
pub fn other_rig(how: &str, episodes: usize) -> String {
    let how = capital(&clean(how));
    format!(
        "{how}: so {} show it; what was judged before is judged again",
        count(episodes as u64, "episode")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::find;
    use crate::model::{EpisodeKey, Joint, RowRange, SpanList};
    use crate::num::interval::Interval;

    fn rig() -> Rig {
        Rig { joints: vec![Joint::named("waist"), Joint::named("elbow")], ..Rig::default() }
    }

    fn card(findings: Vec<Finding>) -> Scorecard {
        let rows = RowRange { input: 0, start: 0, end: 418 };
        let (task, labels) = (None, Vec::new());
        Scorecard {
            key: EpisodeKey { id: "7".into(), index: 0.into(), task, rows, labels },
            frames: 418,
            start_s: 0.0,
            duration_s: 13.9,
            readings: Vec::new(),
            not_assessed: Vec::new(),
            verdict: Verdict::of(&findings),
            findings,
            suppressed: Vec::new(),
            span_times_s: Vec::new(),
            trim: Vec::new(),
        }
    }

    fn finding(id: &str, metric: &str, value: f64, limit: f64) -> Option<Finding> {
        let check = find(id)?.spec();
        let metric = check.metrics.iter().find(|one| one.id == metric)?;
        let (severity, spans, note) = (Severity::Fail, SpanList::default(), String::new());
        Some(Finding { check, metric, severity, joint: Some(1), value, limit, spans, note })
    }

    #[test]
    fn a_line_says_verdict_cause_and_next_step() {
        assert_eq!(
            landed("7", &card(vec![]), &rig(), false, true),
            "ep 7    . ok    13.9 s, 418 frames"
        );
        let held: Vec<Finding> = finding("tracking-lag", "lag", 0.363, 0.3).into_iter().collect();
        assert_eq!(held.len(), 1);
        let line = landed("7", &card(held), &rig(), true, true);
        let line = anstream::adapter::strip_str(&line).to_string();
        assert!(
            line.starts_with("ep 7    x FAIL  again: tracking lag, elbow 363 ms (limit 300 ms)"),
            "{line}"
        );
        assert!(
            line.contains("  -> set the USB latency timer to 1 ms") && !line.contains(';'),
            "{line}"
        );
        // What nobody could look at has not passed.
        let nobody = landed("7", &card(vec![]), &rig(), false, false);
        assert!(nobody.contains("- n/a") && !nobody.contains("ok"), "{nobody}");
    }

    #[test]
    fn a_stop_names_joint_size_and_what_to_do() {
        let Some(of) = finding("neutral-offset", "offset", 0.0698, 0.035) else {
            panic!("no check")
        };
        let Finding { check, metric, severity, joint, value, limit, .. } = of;
        let interval = Some(Interval { low: 0.069, high: 0.07, confidence: 0.9375 });
        let (read, episodes, of) = (5, 5, 5);
        let found = SessionFinding {
            check,
            metric,
            severity,
            joint,
            value,
            interval,
            read,
            limit,
            at_limit: false,
            episodes,
            of,
            stretch: None,
            note: String::new(),
        };
        let line = anstream::adapter::strip_str(&stop(&found, &rig())).to_string();
        assert!(
            line.starts_with(
                "STOP: fix the rig first: elbow neutral offset 4.00 deg (3.95 to 4.01"
            ),
            "{line}"
        );
        assert!(
            line.contains("in 5 of 5 episodes  -> put both sides into the same jig pose"),
            "{line}"
        );
        let gone = cleared(check, joint, &rig());
        assert!(gone.ends_with("no elbow neutral offset in the last 5 episodes"), "{gone}");
        assert_eq!(tally(Counts { pass: 6, warn: 1, fail: 1 }), "8 episodes: 6 ok, 1 warn, 1 FAIL");
    }
}
