//! Annotations of a workflow.

use std::io;

use teleassay::report;

use super::outcome::{Stage, faulty, healthy};
use super::snapshot;

fn lines(stage: &Stage) -> io::Result<Vec<String>> {
    let mut out = Vec::new();
    report::github(&stage.view(), &mut out)?;
    let text = String::from_utf8(out).map_err(io::Error::other)?;
    Ok(text.lines().map(str::to_owned).collect())
}

fn of(lines: &[String], kind: &str) -> usize {
    lines.iter().filter(|line| line.starts_with(&format!("::{kind} "))).count()
}

#[test]
fn errors_warnings_and_a_closing_line() -> io::Result<()> {
    snapshot("github", &lines(&faulty())?.join("\n"));
    let lines = lines(&healthy())?;
    assert_eq!(
        lines,
        [
            "::notice title=teleassay::Timing, tracking and motion: ok. Signals, limits and mapping were not assessed: left out by --only, --skip or the profile."
        ]
    );
    Ok(())
}

#[test]
fn ten_of_each_kind_and_the_rest_is_counted() -> io::Result<()> {
    let mut stage = faulty();
    let (fails, warns) = (stage.outcome.cards[7].clone(), stage.outcome.cards[21].clone());
    stage.outcome.cards = [vec![fails; 30], vec![warns; 12]].concat();
    let lines = lines(&stage)?;
    assert_eq!((of(&lines, "error"), of(&lines, "warning"), of(&lines, "notice")), (10, 10, 1));
    let last = lines.last().map_or("", String::as_str);
    // One error is the unread file, one warning the finding of the session.
    assert!(last.contains("Not shown here: 21 errors and 3 warnings;"), "{last}");
    Ok(())
}

#[test]
fn nothing_from_the_data_ends_a_line_or_begins_a_command() -> io::Result<()> {
    let mut stage = faulty();
    let hostile = "\r\n::error::x%0A\u{1b}[2J,title=y:z\n::stop-commands::t";
    stage.rig.joints[3].name = hostile.to_owned();
    for card in &mut stage.outcome.cards {
        card.key.id = format!("{hostile}{}", card.key.id);
    }
    let lines = lines(&stage)?;
    let all = of(&lines, "error") + of(&lines, "warning") + of(&lines, "notice");
    assert_eq!(all, lines.len(), "{lines:#?}");
    for line in &lines {
        assert!(!line.chars().any(char::is_control), "{line}");
        let (head, _) = line[2..].split_once("::").ok_or_else(|| io::Error::other("no message"))?;
        let (_, title) = head.split_once(" title=").ok_or_else(|| io::Error::other("no title"))?;
        assert!(!title.contains([',', ':']), "{line}");
    }
    let seventh = lines.iter().find(|line| line.contains("episode") && line.contains("t7::"));
    let seventh = seventh.map_or("", String::as_str);
    let escaped = "%0D%0A%3A%3Aerror%3A%3Ax%250A?[2J%2Ctitle=y%3Az%0A%3A%3Astop-commands%3A%3At7::";
    assert!(seventh.contains(escaped), "{seventh}");
    Ok(())
}
