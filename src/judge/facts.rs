//! A lag that every episode has and all joints share is a fact of the rig: reported once, for the
//! session, and not as a warning of each episode.
//!
//! A controller that looks ahead by 150 ms, or an action that is one frame older by design, says
//! nothing of a single episode, and of no single joint. A policy can learn it. What stays with its
//! episode or joint: a lag that is larger than the session's, a joint that is later than the
//! others, a lag that is not the same in all episodes, and whatever is beyond its fail limit.

use super::limits::Limits;
use super::suppress::{by_neighbour, explained, of_neighbours};
use crate::model::{
    Bound, CheckSpec, Finding, JointId, Ledger, Metric, Pool, Scorecard, SessionFinding, Severity,
    Suppressed, Unit, Verdict, Why,
};
use crate::num::quantile::{median_in_place, quantiles_in_place};

/// What lies within this ratio is the same lag (engineering judgement, no source).
const ALIKE: f64 = 1.25;
/// ... or within so many seconds: less than a frame of any usual rate.
const CLOSE_S: f64 = 0.020;
/// Where the session itself is not beyond the limit, an episode that is so little above the others is not
/// either: noise about a limit.
const NOISE: f64 = 1.1;
/// Fewest episodes that show a constant, and fewest joints that make an arm.
const ENOUGH: usize = 6;
const JOINTS: usize = 3;

/// A lag of the whole rig.
pub(super) struct Shared {
    check: &'static CheckSpec,
    metric: &'static Metric,
    /// Median over the joints of their medians, below the fail limit.
    value: f64,
    joints: Vec<JointId>,
    /// Joints that were read.
    read: usize,
}

impl Shared {
    fn is(&self, check: &CheckSpec, metric: &Metric, joint: Option<JointId>) -> bool {
        let one = joint.is_some_and(|joint| self.joints.contains(&joint));
        one && self.check.is(check) && self.metric.is(metric)
    }
}

/// What is read of one lag, joint by joint: the median, and whether it is constant.
type Joints = Vec<(JointId, f64, bool)>;

/// Every lag that is constant over the session and the same on most of the joints.
pub(super) fn shared(ledger: &Ledger, limits: &Limits) -> Vec<Shared> {
    let mut all: Vec<(Shared, Joints)> = Vec::new();
    for (check, metric, joint, values) in ledger.columns() {
        let lag = metric.unit == Unit::Second
            && matches!(metric.pool, Some(Pool::Own))
            && matches!(metric.bound, Bound::Above(_));
        let Some(joint) = joint.filter(|_| lag) else { continue };
        let mut read: Vec<f64> =
            values.iter().filter(|v| v.is_finite()).map(|v| f64::from(*v)).collect();
        if read.len() < ENOUGH {
            continue;
        }
        let [low, high] = quantiles_in_place(&mut read, [0.1, 0.9]);
        let of_joint = (joint, median_in_place(&mut read), alike(low, high));
        let known = all.iter_mut().find(|(one, _)| one.check.is(check) && one.metric.is(metric));
        if let Some((_, joints)) = known {
            joints.push(of_joint);
        } else {
            let one = Shared { check, metric, value: 0.0, joints: Vec::new(), read: 0 };
            all.push((one, vec![of_joint]));
        }
    }
    let close = |(one, joints): (Shared, Joints)| {
        let mut medians: Vec<f64> = joints.iter().map(|(_, median, _)| *median).collect();
        let value = median_in_place(&mut medians);
        let near = |median: f64| alike(median.min(value), median.max(value));
        let same = joints.iter().filter(|(_, median, constant)| *constant && near(*median));
        let same: Vec<JointId> = same.map(|(joint, ..)| *joint).collect();
        let whole = same.len() >= JOINTS && 2 * same.len() > joints.len();
        let fail = limits.get(one.check, one.metric).fail;
        let below = fail.is_none_or(|fail| value < fail);
        (whole && below).then_some(Shared { value, joints: same, read: joints.len(), ..one })
    };
    all.into_iter().filter_map(close).collect()
}

fn alike(low: f64, high: f64) -> bool {
    high - low <= CLOSE_S || (low > 0.0 && high <= ALIKE * low)
}

/// Puts what the session says of each of these joints into one finding of them all, and gives those of the
/// joints. Where one of them is beyond its fail limit, each stays as it is.
pub(super) fn merge(found: &mut Vec<SessionFinding>, shared: &[Shared]) -> Vec<Suppressed> {
    let mut gone = Vec::new();
    for lag in shared {
        let is = |f: &SessionFinding| lag.is(f.check, f.metric, f.joint);
        let warns = |f: &SessionFinding| f.severity == Severity::Warn && f.stretch.is_none();
        let of_all = found.iter().filter(|f| is(f));
        if !of_all.clone().all(warns) {
            continue;
        }
        let off = |f: &SessionFinding| (f.value - lag.value).abs();
        let Some(kept) = of_all.min_by(|a, b| off(a).total_cmp(&off(b))).cloned() else { continue };
        let at = found.iter().position(is).unwrap_or_default();
        let joints = found.extract_if(.., |f| is(f));
        gone.extend(joints.map(|f| explained(&f, Why::Alike, (lag.check, None))));
        let (same, read) = (lag.joints.len(), lag.read);
        let note = if same == read {
            format!("all {read} joints alike")
        } else {
            format!("{same} of {read} joints alike")
        };
        found.insert(at.min(found.len()), SessionFinding { joint: None, note, ..kept });
    }
    gone
}

/// Moves warnings of the cards that say of one episode what the rig has in all of them to those that
/// are explained.
pub(super) fn fold(cards: &mut [Scorecard], found: &[SessionFinding], shared: &[Shared]) {
    let told = |lag: &Shared| {
        found.iter().any(|f| f.joint.is_none() && f.check.is(lag.check) && f.metric.is(lag.metric))
    };
    let most: Vec<(&Shared, f64)> =
        shared.iter().map(|lag| (lag, lag.value * if told(lag) { ALIKE } else { NOISE })).collect();
    if most.is_empty() {
        return;
    }
    let of_rig = |finding: &Finding| {
        let lag = |(lag, most): &&(&Shared, f64)| {
            lag.is(finding.check, finding.metric, finding.joint) && finding.value <= *most
        };
        let warns = finding.severity == Severity::Warn;
        most.iter().find(lag).map(|(lag, _)| *lag).filter(|_| warns)
    };
    for card in cards {
        explain(card, &|finding| {
            let lag = of_rig(finding)?;
            let why = if told(lag) { Why::Session } else { Why::Usual };
            Some(Suppressed::new(finding, why, (lag.check, None)))
        });
    }
}

/// The same for what is of the mechanics and advisory, such as sag and backlash: what all episodes have
/// alike on a joint is no warning of each, unless one of them is worse by a quarter. Within the limit it is
/// usual; beyond it the session says it once.
pub(super) fn fold_mechanics(cards: &mut [Scorecard], found: &[SessionFinding], ledger: &Ledger) {
    let usual: Vec<(&CheckSpec, &Metric, Option<JointId>, f64)> = ledger
        .columns()
        .filter(|(check, metric, ..)| check.advisory && matches!(metric.pool, Some(Pool::Own)))
        .filter_map(|(check, metric, joint, values)| {
            let mut read: Vec<f32> = values.iter().copied().filter(|v| v.is_finite()).collect();
            let enough = read.len() >= ENOUGH && 2 * read.len() > values.len();
            enough.then(|| (check, metric, joint, median_in_place(&mut read)))
        })
        .collect();
    for card in cards {
        explain(card, &|finding| {
            let (check, _, joint, value) = usual.iter().find(|(check, metric, joint, _)| {
                let measured = check.is(finding.check) && metric.is(finding.metric);
                measured && *joint == finding.joint
            })?;
            let said = found.iter().any(|f| f.check.is(check) && f.joint == *joint);
            let why = if said { Why::Session } else { Why::Usual };
            let alike = finding.value <= ALIKE * value;
            alike.then(|| Suppressed::new(finding, why, (finding.check, finding.joint)))
        });
    }
}

/// Moves findings that something on another joint of their episode explains, but for those that the session
/// tells of.
pub(super) fn fold_neighbours(cards: &mut [Scorecard], found: &[SessionFinding]) {
    for card in cards {
        let causes = of_neighbours(&card.findings);
        if causes.is_empty() {
            continue;
        }
        explain(card, &|finding| {
            let told = |f: &SessionFinding| f.check.is(finding.check) && f.joint == finding.joint;
            let by = by_neighbour(finding, &causes).filter(|_| !found.iter().any(told))?;
            Some(Suppressed::new(finding, Why::Follows, by))
        });
    }
}

/// Moves findings of a card that something explains to those that are explained.
pub(super) fn explain(card: &mut Scorecard, by: &dyn Fn(&Finding) -> Option<Suppressed>) {
    let why: Vec<Option<Suppressed>> = card.findings.iter().map(by).collect();
    if why.iter().all(Option::is_none) {
        return;
    }
    let mut own = why.iter().map(Option::is_none);
    card.findings.retain(|_| own.next().unwrap_or(true));
    let mut own = why.iter().map(Option::is_none);
    card.span_times_s.retain(|_| own.next().unwrap_or(true));
    // No more room than is needed: a session may have very many of these.
    let gone: Vec<Suppressed> = why.into_iter().flatten().collect();
    card.suppressed.reserve_exact(gone.len());
    card.suppressed.extend(gone);
    card.findings.shrink_to_fit();
    card.span_times_s.shrink_to_fit();
    card.verdict = Verdict::of(&card.findings);
}

#[cfg(test)]
mod tests;
