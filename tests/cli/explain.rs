//! The manual of the checks.

use std::io;

use teleassay::check::CHECKS;
use teleassay::judge::Limits;
use teleassay::model::CheckSpec;
use teleassay::report;

use super::snapshot;
use super::specs::{ALL, DROPPED};

fn explained(check: &CheckSpec) -> io::Result<String> {
    let mut out = Vec::new();
    report::explain(check, &Limits::default(), &mut out)?;
    String::from_utf8(out).map_err(io::Error::other)
}

/// Every section is there, none is empty, and the limits are named.
fn is_whole(check: &CheckSpec) -> io::Result<()> {
    let text = explained(check)?;
    let headings = [
        "what it looks at, and how",
        "measurements",
        "parameters",
        "when it speaks up, the likely cause",
        "on the bench",
        "reference",
    ];
    let mut from = 0;
    for heading in headings {
        let at = text[from..].find(&format!("\n{heading}"));
        let at = from + at.ok_or_else(|| io::Error::other(format!("{}: {heading}", check.id)))?;
        let body: Vec<&str> = text[at + 1..].lines().skip(1).collect();
        assert!(
            body.first().is_some_and(|line| !line.trim().is_empty()),
            "{}: {heading}",
            check.id
        );
        from = at + 1;
    }
    for metric in check.metrics {
        assert!(text.contains(metric.id), "{}: {}", check.id, metric.id);
    }
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{}: {line}", check.id);
    }
    Ok(())
}

#[test]
fn every_registered_check_explains_itself_in_full() -> io::Result<()> {
    CHECKS.iter().map(|check| check.spec()).chain(ALL).try_for_each(is_whole)
}

#[test]
fn the_list_is_by_family() -> io::Result<()> {
    let mut out = Vec::new();
    report::list(&ALL, &mut out)?;
    let text = String::from_utf8(out).map_err(io::Error::other)?;
    snapshot("explain-list", &text);
    snapshot("explain-check", &explained(&DROPPED)?);
    Ok(())
}
