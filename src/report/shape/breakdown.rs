//! Episodes by what they have in common.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::values::finite;
use crate::num::interval::of_share;
use crate::report::breakdown::{Breakdown, Group};
use crate::report::view::View;

/// Groups beyond which a breakdown is left out: the episodes' own rows say as much.
const MOST: usize = 200;

/// Episodes by one of the things that they may have in common.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "breakdown", deny_unknown_fields)]
pub struct BreakdownShape {
    /// What they are grouped by.
    pub by: String,
    /// The groups, in the order of the dataset.
    pub groups: Vec<GroupShape>,
}

/// Episodes that have something in common.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "group", deny_unknown_fields)]
pub struct GroupShape {
    /// What they have in common.
    pub name: String,
    /// Episodes that passed.
    pub pass: u64,
    /// Episodes whose worst finding is a warning.
    pub warn: u64,
    /// Episodes that failed.
    pub fail: u64,
    /// Seconds in all.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// Seconds of the episodes that can be trained on.
    #[schemars(range(min = 0))]
    pub usable_s: f64,
    /// Exact 95 % interval of the share of episodes that fail (Clopper-Pearson).
    pub failed_share: Option<[f64; 2]>,
    /// The check that leads in most of the episodes that did not pass; null where all passed.
    pub main_cause: Option<String>,
}

/// Every breakdown of an outcome that is worth its room.
pub(super) fn breakdowns(view: &View<'_>) -> Vec<BreakdownShape> {
    // A failure of polars would be one of this program; a document without this part is none.
    let all = Breakdown::new(view).and_then(|all| all.all(MOST)).unwrap_or_default();
    let shape = |(by, groups): (String, Vec<Group>)| BreakdownShape {
        by,
        groups: groups.into_iter().map(group).collect(),
    };
    all.into_iter().map(shape).collect()
}

fn group(group: Group) -> GroupShape {
    let share = of_share(group.fail, group.episodes(), 0.95);
    GroupShape {
        pass: group.pass,
        warn: group.warn,
        fail: group.fail,
        duration_s: finite(group.total_s),
        usable_s: finite(group.usable_s),
        failed_share: share.map(|share| [finite(share.low), finite(share.high)]),
        main_cause: group.main_cause.map(str::to_owned),
        name: group.name,
    }
}
