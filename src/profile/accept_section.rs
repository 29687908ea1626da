//! `[severity]` and `[[accept]]`: what a person rules about checks and about single findings.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use toml::Spanned;

use super::check_section::known_check;
use super::error::ProfileError;
use super::file::{AcceptSection, Key};
use super::place::Place;
use super::suggest::nearest;
use crate::judge::Limits;
use crate::model::{Acceptance, CheckSpec, Severity};

/// How bad whatever these checks find is.
pub(super) fn severities(
    section: &BTreeMap<Key, Spanned<String>>,
    place: &Place<'_>,
    checks: &[&'static CheckSpec],
    limits: &mut Limits,
) -> Result<(), ProfileError> {
    for (key, given) in section {
        let check = known_check(key, place, checks)?;
        let all = [Severity::Warn, Severity::Fail];
        let text = given.get_ref().as_str();
        let Some(severity) = all.into_iter().find(|severity| severity.word() == text) else {
            let what = format!("{}: \"{text}\" is neither \"warn\" nor \"fail\"", check.id);
            let way = nearest(text, all.iter().map(|severity| severity.word())).map_or_else(
                || format!("to leave the check out: [checks] skip = [\"{}\"]", check.id),
                |near| format!("did you mean \"{near}\"?"),
            );
            return Err(place.wrong(given.span(), what, way));
        };
        limits.rule(check, severity);
    }
    Ok(())
}

/// Findings that are accepted.
pub(super) fn accepted(
    section: &[AcceptSection],
    place: &Place<'_>,
    checks: &[&'static CheckSpec],
) -> Result<Vec<Acceptance>, ProfileError> {
    section.iter().map(|one| acceptance(one, place, checks)).collect()
}

fn acceptance(
    section: &AcceptSection,
    place: &Place<'_>,
    checks: &[&'static CheckSpec],
) -> Result<Acceptance, ProfileError> {
    let check = known_check(&section.check, place, checks)?;
    let reason = section.reason.get_ref().trim().to_owned();
    if reason.is_empty() {
        let what = "a finding is accepted for a reason, and this one is empty";
        return Err(place.wrong(section.reason.span(), what.to_owned(), "say why in a few words"));
    }
    for id in &section.episodes {
        if let Err(error) = globset::Glob::new(id.get_ref()) {
            let what = format!("\"{}\" is no pattern ({})", id.get_ref(), error.kind());
            return Err(place.wrong(id.span(), what, "name ids, with * for any text in them"));
        }
    }
    let day = |given: &Spanned<String>| {
        NaiveDate::parse_from_str(given.get_ref(), "%Y-%m-%d").map_err(|_| {
            let what = format!("\"{}\" is no day", given.get_ref());
            place.wrong(given.span(), what, "write it as \"2026-12-31\" (ISO 8601)")
        })
    };
    Ok(Acceptance {
        check,
        joint: section.joint.clone(),
        episodes: section.episodes.iter().map(|id| id.get_ref().clone()).collect(),
        reason,
        until: section.until.as_ref().map(day).transpose()?,
    })
}
