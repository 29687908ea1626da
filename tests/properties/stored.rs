//! A measurements file says what the audit said, however it is cut and whatever the limits.

use std::error::Error;
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use proptest::prelude::*;
use teleassay::catalogue::of_episodes;
use teleassay::engine::{self, Plan, Workers};
use teleassay::judge::Limits;
use teleassay::model::{Bound, Episode, Limit, Outcome, Rig, Skipped};
use teleassay::store::{self, About, Writer};

use super::{fail, recipe, simulated};
use crate::support::memory::Memory;

fn plan(limits: Limits) -> Plan {
    Plan { keep_readings: true, limits, ..Plan::default() }
}

/// Audits episodes under the usual limits and writes what was measured.
fn write(path: &Path, rig: &Arc<Rig>, episodes: &[Episode]) -> Result<(), Box<dyn Error>> {
    let mut own = episodes.to_vec();
    for (index, episode) in own.iter_mut().enumerate() {
        episode.key.index = (index as u64).into();
    }
    let plan = Plan::default();
    let about = About {
        rig: Arc::clone(rig),
        roles: Vec::new(),
        inputs: Vec::new(),
        checks: plan.checks.iter().map(|check| check.spec()).collect(),
        params: plan.params.clone(),
        skipped: Skipped::default(),
        roots: Vec::new(),
    };
    let writer = Writer::new(Box::new(File::create(path)?), about)?;
    let workers = Workers::start(Some(1))?;
    engine::audit_into(writer, &Memory::new(rig, &own, 2), &plan, &workers, &mut |_| {})?;
    Ok(())
}

/// Everything an outcome says.
fn said(outcome: &Outcome) -> String {
    let Outcome { session, cards, ledger, .. } = outcome;
    let columns: Vec<_> = ledger
        .columns()
        .map(|(check, metric, joint, v)| (check.id, metric.id, joint, v.to_vec()))
        .collect();
    let cards: Vec<_> = cards
        .iter()
        .map(|card| {
            let readings = card.readings.iter().map(|r| (r.metric.id, r.joint, r.value));
            let findings = card.findings.iter().map(|f| {
                let at = (f.check.id, f.metric.id, f.joint, f.severity);
                (at, f.value, f.limit, f.spans.clone(), f.note.clone())
            });
            let not_assessed =
                card.not_assessed.iter().map(|h| (h.check.id, h.joint, h.reason.clone()));
            let suppressed = card.suppressed.iter().map(|s| (s.check.id, s.joint, s.by.id, s.why));
            (
                (card.key.clone(), card.frames, card.start_s, card.duration_s, card.verdict),
                (readings.collect::<Vec<_>>(), findings.collect::<Vec<_>>()),
                (
                    not_assessed.collect::<Vec<_>>(),
                    suppressed.collect::<Vec<_>>(),
                    card.span_times_s.clone(),
                ),
            )
        })
        .collect();
    let of_session =
        session.findings.iter().map(|f| (f.check.id, f.metric.id, f.joint, f.value, f.of));
    let not_assessed =
        session.not_assessed.iter().map(|h| (h.check.id, h.joint, &h.reason, h.episodes));
    format!(
        "{cards:#?} {:#?} {:#?} {:?} {columns:?}",
        of_session.collect::<Vec<_>>(),
        not_assessed.collect::<Vec<_>>(),
        (session.episodes, session.frames, session.duration_s, session.usable_s, session.verdict),
    )
}

/// Limits drawn from a seed: a third as they are, the others a hundred times narrower to wider.
fn limits(seed: u64) -> Limits {
    let mut limits = Limits::default();
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    for check in of_episodes() {
        let spec = check.spec();
        for metric in spec.metrics {
            let (Bound::Above(limit) | Bound::Below(limit)) = metric.bound else { continue };
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let factor = 10f64.powf((state >> 40) as f64 / f64::from(1 << 23) * 2.0 - 2.0);
            let set = |value: Option<f64>| value.map(|value| value * factor);
            if state >> 62 != 0 {
                let limit = Limit::new(set(limit.warn), set(limit.fail));
                limits.set(spec, metric, limit);
            }
        }
    }
    limits
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn parts_judged_together_are_the_whole_under_any_limits(
        seed in 0u64..1000,
        cuts in proptest::collection::btree_set(1usize..12, 0..8),
    ) {
        let recipe = teleassay::demo::Recipe { episodes: 12, ..recipe(seed, 30.0) };
        let (rig, episodes) = simulated(&recipe).map_err(fail)?;
        let dir = tempfile::tempdir().map_err(fail)?;
        let ends: Vec<usize> = cuts.into_iter().chain([episodes.len()]).collect();
        let (mut start, mut paths) = (0, Vec::new());
        for end in ends {
            let path = dir.path().join(format!("{start}.parquet"));
            write(&path, &rig, &episodes[start..end]).map_err(fail)?;
            paths.push(path);
            start = end;
        }
        let plan = plan(limits(seed));
        let workers = Workers::start(Some(2)).map_err(fail)?;
        let whole = engine::audit(&Memory::new(&rig, &episodes, 5), &plan, &workers, &mut |_| {});
        let stored = store::read(&paths).map_err(fail)?;
        let judged = engine::rejudge(&stored, &plan, &workers, &mut |_| {}).map_err(fail)?;
        prop_assert!(whole.cards.iter().any(|card| !card.findings.is_empty()));
        prop_assert_eq!(said(&judged), said(&whole));
        for row in 0..whole.ledger.rows() {
            prop_assert_eq!(judged.ledger.motion(row), whole.ledger.motion(row));
            prop_assert!(whole.ledger.motion(row).is_some());
        }
    }
}
