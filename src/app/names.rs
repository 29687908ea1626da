//! What people call a check: its id or title, its family, or the beginning of one of these.

use crate::app::AppError;
use crate::catalogue::specs;
use crate::model::{CheckSpec, Family};
use crate::profile::{begins, near};

/// Most names that are proposed.
const MOST: usize = 6;

/// Every check that exists, in the order in which a person reads them.
pub fn all() -> Vec<&'static CheckSpec> {
    specs().collect()
}

/// What a name stands for.
#[derive(Debug, Clone, Copy)]
pub enum Named {
    /// One check.
    Check(&'static CheckSpec),
    /// All checks of a family.
    Family(Family),
}

impl Named {
    /// Its checks, in the order in which a person reads them.
    pub fn checks(self) -> Vec<&'static CheckSpec> {
        match self {
            Self::Check(check) => vec![check],
            Self::Family(family) => all().into_iter().filter(|c| c.family == family).collect(),
        }
    }
}

/// The checks of one name: a single check, or those of a family.
///
/// # Errors
/// If there is none, or the name may be several; the hint names those.
pub fn named(typed: &str) -> Result<Vec<&'static CheckSpec>, AppError> {
    Ok(resolved(typed)?.checks())
}

/// What one name stands for.
///
/// # Errors
/// If it stands for nothing, or may be several names; the hint names those.
pub fn resolved(typed: &str) -> Result<Named, AppError> {
    let name = plain(typed);
    let all = all();
    if name.is_empty() {
        let what = "no check is named";
        return Err(AppError::input(what).with_hint("`teleassay explain` lists the checks"));
    }
    if let Some(check) = all.iter().find(|check| check.id == name) {
        return Ok(Named::Check(check));
    }
    let families = families(&all);
    if let Some(family) = families.iter().find(|family| family.name() == name) {
        return Ok(Named::Family(*family));
    }
    let mut checks: Vec<_> = all.iter().copied().filter(|c| c.id.starts_with(&name)).collect();
    let groups: Vec<_> = families.iter().filter(|f| f.name().starts_with(&name)).collect();
    if checks.len() == 1 && groups.is_empty() {
        // `lag` is the beginning of one id and the last word of another: either may be meant.
        let inner = |id: &str| id.split('-').skip(1).any(|word| word.starts_with(&name));
        checks.extend(all.iter().copied().filter(|check| inner(check.id)));
    }
    match (checks.as_slice(), groups.as_slice()) {
        ([check], []) => Ok(Named::Check(check)),
        ([], [family]) => Ok(Named::Family(**family)),
        ([], []) => {
            let error = AppError::input(format!("there is no check \"{}\"", typed.trim()));
            Err(error.with_hint(proposed(&name, &all, &families)))
        }
        _ => {
            let ids = checks.iter().map(|check| check.id.to_owned());
            let names = groups.iter().map(|family| format!("{family} (the family)"));
            let names: Vec<String> = names.chain(ids).collect();
            let what = format!("\"{}\" may be several names", typed.trim());
            Err(AppError::input(what).with_hint(format!("one of: {}", names.join(", "))))
        }
    }
}

/// The checks of words that a person typed one after the other: all of them one title, or each a
/// name of its own.
///
/// # Errors
/// As for a single name.
pub fn named_by_words(words: &[String]) -> Result<Vec<&'static CheckSpec>, AppError> {
    let title = named(&words.join(" "));
    if words.len() < 2 || title.is_ok() {
        return title;
    }
    let mut found: Vec<&'static CheckSpec> = Vec::new();
    for word in words {
        // Where the words are no names either, they were meant as a title.
        let Ok(checks) = named(word) else { return title };
        found.extend(checks);
    }
    Ok(found)
}

/// In lower case, words joined as in an id.
fn plain(text: &str) -> String {
    let text = text.to_lowercase();
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join("-")
}

fn families(all: &[&'static CheckSpec]) -> Vec<Family> {
    let mut families: Vec<Family> = all.iter().map(|check| check.family).collect();
    families.sort_unstable();
    families.dedup();
    families
}

/// Names near to what was typed: with a slip of the finger, else with a word of it, else the checks
/// that measure it.
fn proposed(name: &str, all: &[&'static CheckSpec], families: &[Family]) -> String {
    let ids = all.iter().map(|check| check.id);
    let names = || ids.clone().chain(families.iter().map(|family| family.name()));
    let slips = near(name, names());
    if !slips.is_empty() {
        return format!("did you mean {}?", quoted(&slips));
    }
    // A slip in the beginning of a name.
    let slips: Vec<&str> = names().filter(|id| begins(name, id)).collect();
    if !slips.is_empty() {
        return format!("did you mean {}?", quoted(&slips));
    }
    let shares = |id: &&str| {
        let own = || name.split('-').filter(|word| word.len() > 2);
        id.split('-').any(|word| own().any(|typed| word.starts_with(typed)))
    };
    let similar: Vec<&str> = ids.filter(shares).take(MOST).collect();
    if !similar.is_empty() {
        return format!("did you mean {}?", quoted(&similar));
    }
    let metric = name.replace('-', "_");
    let measures = all.iter().filter(|check| check.metrics.iter().any(|m| m.id == metric));
    let measures: Vec<&str> = measures.map(|check| check.id).collect();
    match measures.as_slice() {
        [] => "`teleassay explain` lists the checks".to_owned(),
        some => format!("{metric} is a measurement of {}", quoted(some)),
    }
}

fn quoted(names: &[&str]) -> String {
    let names: Vec<String> = names.iter().take(MOST).map(|name| format!("\"{name}\"")).collect();
    names.join(" or ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ids(typed: &str) -> Vec<&'static str> {
        named(typed).map_or_else(|_| Vec::new(), |checks| checks.iter().map(|c| c.id).collect())
    }

    fn refused(typed: &str) -> (String, String) {
        let Err(error) = named(typed) else { panic!("{typed} is a name") };
        (error.to_string(), error.hint().unwrap_or_default().to_owned())
    }

    #[test]
    fn a_check_goes_by_its_id_its_title_and_an_unambiguous_beginning() {
        for typed in ["gain-mismatch", "gain mismatch", "Gain Mismatch", "GAIN_MISMATCH", "gain"] {
            assert_eq!(ids(typed), ["gain-mismatch"], "{typed}");
        }
        // The family has the name that is also the beginning of three checks.
        let tracking = ids("tracking");
        assert!(tracking.len() > 5 && tracking.contains(&"gain-mismatch"), "{tracking:?}");
        assert_eq!(ids("Cameras").len(), 2);
    }

    #[test]
    fn every_id_and_every_title_names_its_check() {
        for check in all() {
            assert_eq!(ids(check.id), [check.id]);
            assert_eq!(ids(&check.title().to_uppercase()), [check.id]);
        }
    }

    #[test]
    fn several_are_named_and_near_ones_proposed() {
        let (what, hint) = refused("track");
        assert!(what.contains("may be several names"), "{what}");
        assert!(hint.contains("tracking (the family), tracking-lag"), "{hint}");
        assert_eq!(refused("tracking-lg").1, "did you mean \"tracking-lag\"?");
        let (what, hint) = refused("lag");
        assert!(what.contains("several"), "{what}");
        assert_eq!(hint, "one of: lag-variation, tracking-lag");
        assert!(refused("trak").1.contains("\"tracking-lag\""));
        assert!(refused("servo lag").1.contains("\"tracking-lag\""), "{hint}");
        assert!(refused("longest_gap").1.contains("measurement of \"dropped-frames\""));
        assert!(refused("weather").1.contains("lists the checks"));
        assert!(refused(" , ").0.contains("no check is named"));
    }

    #[test]
    fn words_are_one_title_or_several_names() {
        let of = |words: &[&str]| {
            let words: Vec<String> = words.iter().map(|&word| word.to_owned()).collect();
            named_by_words(&words).map(|checks| checks.iter().map(|c| c.id).collect::<Vec<_>>())
        };
        assert_eq!(of(&["gain", "mismatch"]).ok(), Some(vec!["gain-mismatch"]));
        let two = vec!["gain-mismatch", "dead-joint"];
        assert_eq!(of(&["gain-mismatch", "dead-joint"]).ok(), Some(two));
        let Err(error) = of(&["gain", "mismatsch"]) else { panic!("no such check") };
        assert_eq!(error.hint(), Some("did you mean \"gain-mismatch\"?"));
    }
}
