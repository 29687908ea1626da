//! Findings that a person accepts, with a reason: kept, and no part of a verdict.

use chrono::NaiveDate;

use super::metric::CheckSpec;

/// What a person accepts.
#[derive(Debug, Clone)]
pub struct Acceptance {
    /// The check whose findings are accepted.
    pub check: &'static CheckSpec,
    /// The joint by name; by default all.
    pub joint: Option<String>,
    /// Ids of episodes, `*` for any text in them; by default all, and the session.
    pub episodes: Vec<String>,
    /// Why.
    pub reason: String,
    /// The last day on which it holds.
    pub until: Option<NaiveDate>,
}

impl PartialEq for Acceptance {
    fn eq(&self, other: &Self) -> bool {
        let rest =
            |one: &Self| (one.joint.clone(), one.episodes.clone(), one.reason.clone(), one.until);
        self.check.is(other.check) && rest(self) == rest(other)
    }
}

impl Acceptance {
    /// What is accepted, in words.
    pub fn what(&self) -> String {
        let mut text = self.check.title();
        if let Some(joint) = &self.joint {
            text.push_str(", ");
            text.push_str(joint);
        }
        if !self.episodes.is_empty() {
            text.push_str(" in ");
            text.push_str(&self.episodes.join(", "));
        }
        text
    }
}

/// What came of an acceptance.
#[derive(Debug, Clone, PartialEq)]
pub struct Accepted {
    /// What the person said.
    pub said: Acceptance,
    /// Findings of episodes and of the session that it took in.
    pub findings: u64,
    /// Whether its last day is past: it took in none then.
    pub past: bool,
}

impl Accepted {
    /// What was taken in and why, in words; none where it took in nothing.
    pub fn words(&self) -> Option<String> {
        let findings = match self.findings {
            0 => return None,
            1 => "1 finding".to_owned(),
            many => format!("{many} findings"),
        };
        let until = self.said.until.map_or_else(String::new, |day| format!(" (until {day})"));
        Some(format!("{findings} of {}: {}{until}", self.said.what(), self.said.reason))
    }

    /// Why it should be looked at again; none where it did its work.
    pub fn trouble(&self) -> Option<String> {
        let what = self.said.what();
        match self.said.until {
            Some(until) if self.past => Some(format!(
                "accepted until {until}, which is past: {what}; look again, or remove it"
            )),
            _ if self.findings == 0 => {
                Some(format!("nothing to accept: {what}; remove it from the profile"))
            }
            _ => None,
        }
    }
}
