//! Judges measurements files again, without the data.

use std::collections::HashMap;

use super::card::{Measured, judged};
use super::gather::Gathered;
use super::{Plan, Shard, Workers, of_card};
use crate::check::Check;
use crate::judge::{Baseline, Past, beyond, quiet};
use crate::model::{CheckSpec, EpisodeIndex, Finding, Ledger, Outcome, Progress};
use crate::store::{Batch, Evidence, StoreError, Stored, StoredEpisode, Want};

/// Blocks to a thread that are begun before those ahead of them are gathered.
const AHEAD: usize = 2;

/// Judges every episode of some measurements files under the plan's limits, and the session with its
/// own checks. Parameters of the checks on single episodes are those they were measured with.
///
/// # Errors
/// If a measurements file is damaged or gone, or holds an episode that another one holds as well.
pub fn rejudge(
    stored: &Stored,
    plan: &Plan,
    workers: &Workers,
    watch: &mut dyn FnMut(&Progress),
) -> Result<Outcome, StoreError> {
    Ok(judge_all(stored, &plan.of_rig(stored.rig()), workers, &|_| (), watch)?.0)
}

/// Judges measurements files as what an outcome is held against.
///
/// # Errors
/// As [`rejudge`].
pub fn baseline(stored: &Stored, plan: &Plan, workers: &Workers) -> Result<Baseline, StoreError> {
    let plan = Plan { keep_readings: false, ..plan.of_rig(stored.rig()) };
    let see = |episode: &StoredEpisode<'_>| Past {
        id: String::new(),
        content: episode.content,
        beyond: beyond(&episode.readings, &plan.limits),
    };
    let (outcome, mut episodes) = judge_all(stored, &plan, workers, &see, &mut |_| {})?;
    for (past, card) in episodes.iter_mut().zip(outcome.cards) {
        past.id = card.key.id;
        // What the checks across episodes found is on no sheet.
        past.beyond.extend(card.findings.iter().map(crate::judge::Beyond::from));
    }
    Ok(Baseline::new(episodes, &outcome.session.findings))
}

/// Judges every episode, and gives next to the outcome what `see` made of each, in the order of the
/// outcome's cards.
fn judge_all<T: Send>(
    stored: &Stored,
    plan: &Plan,
    workers: &Workers,
    see: &(dyn Fn(&StoredEpisode<'_>) -> T + Sync),
    watch: &mut dyn FnMut(&Progress),
) -> Result<(Outcome, Vec<T>), StoreError> {
    let without: HashMap<&str, &'static str> = plan
        .checks
        .iter()
        .filter_map(|check| Some((check.spec().id, stored.without(check.spec())?)))
        .collect();
    let left_out = |check: &Check| without.get(check.spec().id).copied();
    let specs = plan.checks.iter().map(|check| check.spec());
    let checks: Vec<&'static CheckSpec> = specs.filter(|c| !without.contains_key(c.id)).collect();
    let want = Want { checks: &checks, motion: plan.sketch };
    let mut gathered =
        Gathered::new(plan, stored.rig(), (stored.unread(), stored.skipped()), left_out);
    let mut progress = Progress { total_episodes: stored.episodes(), ..Progress::default() };
    watch(&progress);
    let mut seen: Vec<(EpisodeIndex, T)> = Vec::new();
    let job = |block| run(stored, plan, &want, see, block);
    workers.in_order(stored.blocks(), AHEAD * workers.threads(), job, |read| {
        let (shard, more) = read?;
        gathered.add(shard, &mut progress);
        seen.extend(more);
        watch(&progress);
        Ok::<(), StoreError>(())
    })?;
    let mut outcome = gathered.outcome(workers);
    stored.tell_apart(&mut outcome.cards)?;
    seen.sort_by_key(|(index, _)| *index);
    Ok((outcome, seen.into_iter().map(|(_, of)| of).collect()))
}

fn run<T>(
    stored: &Stored,
    plan: &Plan,
    want: &Want<'_>,
    see: &dyn Fn(&StoredEpisode<'_>) -> T,
    block: usize,
) -> Result<(Shard, Vec<(EpisodeIndex, T)>), StoreError> {
    let (mut cards, mut ledger, mut seen) = (Vec::new(), Ledger::default(), Vec::new());
    let mut contents = Vec::new();
    stored.read(block, want, &mut |batch| {
        let loud = measurements(batch, plan, &mut ledger);
        for (row, loud) in loud.into_iter().enumerate() {
            let episode = batch.episode(row, loud)?;
            seen.push((episode.key.index, see(&episode)));
            let measured = Measured {
                key: episode.key,
                frames: episode.frames,
                start_s: episode.start_s,
                duration_s: episode.duration_s,
                readings: episode.readings,
                not_assessed: episode.not_assessed,
            };
            let evidence = episode.evidence;
            let mut card = judged(measured, plan, &mut |finding| borne_out(finding, evidence));
            let place = ledger.rows();
            ledger.push(of_card(&card, episode.sketch.as_ref()), []);
            card.mute().for_each(|(check, joint)| ledger.forget(place, check, joint));
            if !plan.keep_readings {
                card.readings = Vec::new();
            }
            cards.push(card);
            contents.push(episode.content);
        }
        Ok(())
    })?;
    Ok((Shard { cards, ledger, contents, unread: Vec::new(), rows: None }, seen))
}

/// Enters all that was measured, and gives the episodes whose readings must be looked at one by one:
/// of nearly all nothing is to be said.
fn measurements(batch: &Batch<'_>, plan: &Plan, ledger: &mut Ledger) -> Vec<bool> {
    let mut loud = vec![plan.keep_readings; batch.episodes()];
    let (row, mut guess) = (ledger.rows(), 0);
    batch.each_measurement(&mut |measurement, values| {
        let (check, metric, joint) = measurement;
        let (low, high) = quiet(metric.bound, plan.limits.on(check, metric, joint));
        let beyond = values.iter().map(|value| *value < low || *value > high);
        loud.iter_mut().zip(beyond).for_each(|(loud, beyond)| *loud |= beyond);
        ledger.fill(measurement, row, values, guess);
        guess += 1;
    });
    loud
}

/// Adds spans and note to a finding, and gives the spans' times.
fn borne_out(finding: &mut Finding, evidence: Evidence<'_>) -> Vec<[f64; 2]> {
    let (spans, times, note) = evidence.of(finding.check, finding.metric, finding.joint);
    finding.spans = spans;
    if let Some(note) = note {
        note.clone_into(&mut finding.note);
    }
    times
}
