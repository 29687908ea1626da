//! The manual of the checks.

use std::io;
use std::path::Path;

use teleassay::catalogue;
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
        "when it reports, the likely cause",
        "on the rig",
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
    catalogue::of_episodes().map(|check| check.spec).chain(ALL).try_for_each(is_whole)
}

/// The manual in the repository is what the code says now.
#[test]
fn the_catalogue_is_what_the_code_says() -> io::Result<()> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/check/CATALOGUE.md");
    let kept = std::fs::read_to_string(&path)?;
    let checks: Vec<&CheckSpec> = catalogue::specs().collect();
    let mut made = Vec::new();
    report::manual(&checks, &Limits::default(), &mut made)?;
    let made = String::from_utf8(made).map_err(io::Error::other)?;
    let other = made.lines().zip(kept.lines()).find(|(made, kept)| made != kept);
    assert!(
        made == kept,
        "src/check/CATALOGUE.md is not what the checks say of themselves (first difference: \
         {other:?}). Make it again: cargo run --release -- explain --all > src/check/CATALOGUE.md"
    );
    for check in checks {
        let page = made.split("\n## ").find(|page| page.starts_with(check.id)).unwrap_or_default();
        for part in
            ["**What.**", "**Why.**", "**How.**", "**Traps.**", "**On the rig.**", "**Source.**"]
        {
            assert!(page.contains(part), "{}: {part}", check.id);
        }
    }
    Ok(())
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
