//! Which families of checks were assessed: a verdict says nothing of what nobody looked at.

use super::text::list;
use super::view::View;
use crate::catalogue;
use crate::model::{CheckSpec, Family, SessionNotAssessed};

/// Families that every recording with a leader can be assessed in. Cameras and bases are optional,
/// and checks of the session need many episodes.
const CORE: [Family; 6] = [
    Family::Timing,
    Family::Signal,
    Family::Limits,
    Family::Mapping,
    Family::Tracking,
    Family::Motion,
];

/// Why checks that were not asked for are not assessed.
const LEFT_OUT: &str = "left out by --only, --skip or the profile";

/// The families that were assessed, and those that were not, with the reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Assessed {
    assessed: Vec<Family>,
    missing: Vec<(Family, String)>,
}

impl Assessed {
    /// What of an outcome was assessed.
    pub fn of(view: &View<'_>) -> Self {
        let mut of = Self { assessed: Vec::new(), missing: Vec::new() };
        for family in CORE {
            if catalogue_of(family).any(|check| run(view, check) && assessed(view, check)) {
                of.assessed.push(family);
            } else {
                of.missing.push((family, reason(view, family)));
            }
        }
        of
    }

    /// Whether every family was assessed.
    pub fn whole(&self) -> bool {
        self.missing.is_empty()
    }

    /// What was found sound: `Timing and signals: ok.`
    pub fn sound(&self) -> String {
        if self.assessed.is_empty() {
            return "No fault found.".to_owned();
        }
        format!("{}: ok.", capital(&list(self.assessed.iter().map(|family| word(*family)))))
    }

    /// What was not: `Tracking was not assessed: no leader column.` None where all was.
    pub fn not_assessed(&self) -> Option<String> {
        let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
        for (family, reason) in &self.missing {
            match groups.iter_mut().find(|(known, _)| known == reason) {
                Some((_, families)) => families.push(word(*family)),
                None => groups.push((reason, vec![word(*family)])),
            }
        }
        let one = |(reason, families): &(&str, Vec<&str>)| {
            let be = if families.len() > 1 || families[0].ends_with('s') { "were" } else { "was" };
            let names = capital(&list(families.iter().copied()));
            format!("{names} {be} not assessed: {reason}.")
        };
        (!groups.is_empty()).then(|| groups.iter().map(one).collect::<Vec<_>>().join(" "))
    }
}

fn catalogue_of(family: Family) -> impl Iterator<Item = &'static CheckSpec> {
    let specs = catalogue::ALL.iter().map(|check| check.spec());
    specs.filter(move |spec| spec.family == family)
}

fn run(view: &View<'_>, check: &CheckSpec) -> bool {
    view.checks.iter().any(|run| run.is(check))
}

/// Whether something was looked at, in one episode at least.
fn assessed(view: &View<'_>, check: &CheckSpec) -> bool {
    let session = &view.outcome.session;
    let whole = |gap: &&SessionNotAssessed| gap.joint.is_none() && gap.episodes >= session.episodes;
    let gap = session.not_assessed.iter().filter(whole).any(|gap| gap.check.is(check));
    let absent = session.left_out.iter().any(|left| left.check.is(check));
    view.measured(check) || !(gap || absent)
}

/// The reason that most of its checks give.
fn reason(view: &View<'_>, family: Family) -> String {
    let session = &view.outcome.session;
    let of = |check: &CheckSpec| check.family == family;
    let gaps = session.not_assessed.iter().filter(|gap| of(gap.check)).map(|gap| &*gap.reason);
    let absent = session.left_out.iter().filter(|left| of(left.check)).map(|left| left.reason);
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for reason in gaps.chain(absent) {
        match counts.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, times)) => *times += 1,
            None => counts.push((reason, 1)),
        }
    }
    // The first of those that are named as often.
    let most = counts.iter().rev().max_by_key(|(_, times)| *times);
    match most {
        Some((reason, _)) => (*reason).to_owned(),
        None if catalogue_of(family).any(|check| run(view, check)) => "nothing to measure".into(),
        None => LEFT_OUT.to_owned(),
    }
}

/// The family in a sentence.
const fn word(family: Family) -> &'static str {
    match family {
        Family::Signal => "signals",
        family => family.name(),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nobody_looked_at_is_named_with_its_reason() {
        let leader = "no leader column".to_owned();
        let of = Assessed {
            assessed: vec![Family::Timing, Family::Signal, Family::Motion],
            missing: vec![
                (Family::Mapping, leader.clone()),
                (Family::Tracking, leader),
                (Family::Limits, LEFT_OUT.to_owned()),
            ],
        };
        assert_eq!(of.sound(), "Timing, signals and motion: ok.");
        let want = "Mapping and tracking were not assessed: no leader column. Limits were not \
                    assessed: left out by --only, --skip or the profile.";
        assert_eq!(of.not_assessed().as_deref(), Some(want));
        assert!(!of.whole());
    }
}
