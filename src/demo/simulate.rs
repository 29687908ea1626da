//! The whole chain, one episode at a time.

use std::sync::Arc;

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::arm::{self, JointSpec, Part};
use super::columns;
use super::command::{self, Make};
use super::error::DemoError;
use super::fault::Fault;
use super::hand;
use super::leading;
use super::logger;
use super::plan::{Plan, Planner};
use super::planted::{Mark, Mine};
use super::readings::{self, Raw};
use super::recipe::Recipe;
use super::recording::{Answer, JointTruth, Recording, Truth};
use super::rows::{self, Rows};
use super::servo::Drive;

/// Seconds from the start of one episode to the start of the next on the logger's clock.
const EPISODE_EVERY_S: f64 = 60.0;
/// Noise of the leader's encoders, as a share of the follower's: no current flows there.
const LEADER_NOISE: f64 = 0.5;

/// A random number stream of one episode: faults do not change what the hand draws.
#[derive(Clone, Copy)]
enum Stream {
    Hand,
    Logger,
    Encoder,
    Fault,
}

/// Simulates the episodes of a recipe, in any order, each from its own random numbers.
#[derive(Debug, Clone)]
pub struct Simulator {
    pub(super) recipe: Recipe,
    specs: Vec<JointSpec>,
    names: Vec<String>,
    parts: Vec<Part>,
    makes: Vec<Make>,
    task: Arc<str>,
}

impl Simulator {
    /// Sets up the rig.
    ///
    /// # Errors
    /// If the recipe asks for what the rig cannot do.
    pub fn new(recipe: &Recipe) -> Result<Self, DemoError> {
        recipe.check()?;
        let specs = arm::joints(recipe.joints);
        let mut rng = ChaCha8Rng::seed_from_u64(recipe.seed);
        let mut factor = |size: f64| {
            (1.0 + size * rng.sample::<f64, _>(StandardNormal).clamp(-2.0, 2.0)).max(0.2)
        };
        let spread = recipe.servo.between_joints;
        let makes = specs
            .iter()
            .map(|_| Make { time_constant: factor(spread), backlash: factor(spread) })
            .collect();
        Ok(Self {
            recipe: recipe.clone(),
            names: specs.iter().map(|s| s.name.clone()).collect(),
            parts: arm::parts(recipe.joints / arm::arms(recipe.joints)),
            specs,
            makes,
            task: "move a seedling plug from the tray to a pot".into(),
        })
    }

    /// One episode.
    pub fn episode(&self, id: u64) -> Recording {
        let mine = Mine::of(&self.recipe.faults, &self.names, id);
        for (planted, fault, _) in mine.iter() {
            if let Fault::DuplicateEpisode { of } = *fault {
                let mut copy = self.episode(of);
                let end_s = copy.truth.moment_s.last().copied().unwrap_or(0.0);
                let mark = Mark { planted, spans_s: vec![[0.0, end_s]], count: 1 };
                copy.id = id;
                copy.truth.answers = vec![self.answer(&mark, &copy.truth.moment_s)];
                return copy;
            }
        }
        self.record(id, &mine)
    }

    fn stream(&self, id: u64, stream: Stream) -> ChaCha8Rng {
        let mut rng = ChaCha8Rng::seed_from_u64(self.recipe.seed);
        // Stream 0 is the session's.
        rng.set_stream(4 * id + stream as u64 + 1);
        rng
    }

    fn record(&self, id: u64, mine: &Mine<'_>) -> Recording {
        let recipe = &self.recipe;
        let mut marks = Vec::new();
        let mut hand_rng = self.stream(id, Stream::Hand);
        let plans = self.plans(mine, &mut hand_rng, &mut marks);
        let end_s = end_s(&plans, mine);
        let mut logger_rng = self.stream(id, Stream::Logger);
        let moments = logger::cycles(recipe, mine, end_s, &mut logger_rng, &mut marks);

        let mut encoder_rng = self.stream(id, Stream::Encoder);
        let per_arm = self.parts.len();
        let mut leader = Vec::with_capacity(recipe.joints);
        for plan in &plans {
            leader.extend(hand::leader(plan, &moments, per_arm, &recipe.operator, &mut hand_rng));
        }
        let period_s = recipe.period_s();
        leading::plant(&mut leader, &moments, period_s, mine, &plans, &mut marks);
        for joint in &mut leader {
            self.encode(joint, LEADER_NOISE, &mut encoder_rng);
        }
        readings::freeze_leader(&mut leader, &moments, mine, &plans[0], &mut marks);

        mark_the_drives(mine, &plans, per_arm, end_s, &mut marks);
        let drives = self.drives(mine, &plans, &marks);
        let mut follower = Vec::with_capacity(recipe.joints);
        for (joint, drive) in drives.iter().enumerate() {
            let target = command::targets(recipe, &self.specs, joint, &leader, mine);
            let mut measured = drive.follow(&moments, &target);
            self.encode(&mut measured, 1.0, &mut encoder_rng);
            follower.push(measured);
        }
        let mut fault_rng = self.stream(id, Stream::Fault);
        let mut raw = Raw {
            moment_s: &moments,
            leader: &mut leader,
            follower: &mut follower,
            joints: &self.names,
            count: recipe.count_rad(),
        };
        readings::plant(&mut raw, mine, &plans[0], &mut fault_rng, &mut marks);
        columns::plant(&mut raw, mine, &mut marks);

        let start_s = recipe.logger.clock_start_s + EPISODE_EVERY_S * id as f64;
        let mut rows = Rows {
            cycle: (0..moments.len()).collect(),
            // The clock counts whole nanoseconds.
            stamp_s: moments.iter().map(|t| ((start_s + t) * 1e9).round() / 1e9).collect(),
        };
        rows::plant(&mut rows, &moments, recipe.period_s(), mine, &mut fault_rng, &mut marks);
        let written = |columns: Vec<Vec<f64>>| -> Vec<Vec<f64>> {
            let pick = |column: Vec<f64>| rows.cycle.iter().map(|c| column[*c]).collect();
            if rows.cycle.len() == moments.len() && rows.cycle.is_sorted_by(|a, b| a < b) {
                columns
            } else {
                columns.into_iter().map(pick).collect()
            }
        };
        let moment_s: Vec<f64> = rows.cycle.iter().map(|c| moments[*c]).collect();
        Recording {
            id,
            task: self.task.clone(),
            leader: written(leader),
            follower: written(follower),
            time_s: rows.stamp_s.clone(),
            truth: Truth {
                joints: self.truths(&drives),
                answers: marks.iter().map(|m| self.answer(m, &moment_s)).collect(),
                moment_s,
            },
        }
    }

    /// One plan an arm; what affects the whole rig is noted once.
    fn plans(&self, mine: &Mine<'_>, rng: &mut ChaCha8Rng, marks: &mut Vec<Mark>) -> Vec<Plan> {
        let per_arm = self.parts.len();
        let mut plans = Vec::with_capacity(2);
        for arm in 0..self.specs.len() / per_arm {
            let first = arm * per_arm;
            let ours = |at: Option<usize>| at.is_none_or(|j| (first..first + per_arm).contains(&j));
            let mut own = mine.clone();
            own.faults.retain(|(_, _, at)| ours(*at));
            let stops: Vec<(f64, f64)> = self
                .specs
                .iter()
                .map(|s| (s.lower_deg.to_radians(), s.upper_deg.to_radians()))
                .collect();
            let mut noted = Vec::new();
            let planner = Planner::new(&self.recipe.operator, &self.parts, rng);
            plans.push(planner.plan(&own, &stops, &mut noted));
            noted.retain(|new| marks.iter().all(|old| old.planted != new.planted));
            marks.append(&mut noted);
        }
        plans
    }

    fn drives(&self, mine: &Mine<'_>, plans: &[Plan], marks: &[Mark]) -> Vec<Drive> {
        let per_arm = self.parts.len();
        (0..self.specs.len())
            .map(|joint| {
                let plan = &plans[joint / per_arm];
                let (spec, make) = (&self.specs[joint], self.makes[joint]);
                command::drive(&self.recipe, spec, make, joint, mine, plan, marks)
            })
            .collect()
    }

    /// Turns angles into what an encoder says of them.
    fn encode(&self, angles: &mut [f64], noise: f64, rng: &mut ChaCha8Rng) {
        let count = self.recipe.count_rad();
        let noise = noise * self.recipe.servo.noise_counts;
        for angle in angles {
            *angle =
                (*angle / count + noise * rng.sample::<f64, _>(StandardNormal)).round() * count;
        }
    }

    fn truths(&self, drives: &[Drive]) -> Vec<JointTruth> {
        let hold_s = 0.5 * self.recipe.rig().period_s;
        let names = self.names.iter();
        names
            .zip(drives)
            .map(|(name, drive)| JointTruth {
                joint: name.clone(),
                dead_time_s: drive.dead_time_s,
                time_constant_s: drive.time_constant_s,
                hold_s,
                trail_s: drive.trail_s(2.0 * hold_s),
                lag_s: drive.dead_time_s + drive.time_constant_s + hold_s,
                backlash_rad: drive.backlash,
                stops_rad: [drive.stops.0, drive.stops.1],
            })
            .collect()
    }

    /// Finds the recorded frames of what was planted.
    fn answer(&self, mark: &Mark, moment_s: &[f64]) -> Answer {
        let planted = &self.recipe.faults[mark.planted];
        let frames = |[start_s, end_s]: &[f64; 2]| {
            let start = moment_s.partition_point(|t| t < start_s);
            [start, moment_s.partition_point(|t| t <= end_s).max(start)]
        };
        Answer {
            check: planted.fault.check(),
            fault: planted.fault.clone(),
            joint: planted.joint.clone(),
            count: mark.count,
            frames: mark.spans_s.iter().map(frames).collect(),
            time_s: mark.spans_s.clone(),
            may_also: planted.fault.may_also(),
        }
    }
}

/// When the recording ends: with the slower arm, or in the first arm's motion.
fn end_s(plans: &[Plan], mine: &Mine<'_>) -> f64 {
    let cut =
        mine.iter().any(|(_, fault, _)| matches!(fault, Fault::CutShort | Fault::Aborted { .. }));
    let ends = plans.iter().map(|p| p.end_s);
    if cut { plans[0].end_s } else { ends.fold(0.0, f64::max) }
}

/// Notes the faults that sit in the follower's drives.
fn mark_the_drives(
    mine: &Mine<'_>,
    plans: &[Plan],
    per_arm: usize,
    end_s: f64,
    marks: &mut Vec<Mark>,
) {
    for (planted, fault, joint) in mine.iter() {
        let span = match *fault {
            Fault::LagAll { .. }
            | Fault::LagJoint { .. }
            | Fault::DeadJoint
            | Fault::NeutralOffset { .. }
            | Fault::GainMismatch { .. }
            | Fault::LagDrift { .. }
            | Fault::Backlash { .. }
            | Fault::LoadSurges { .. }
            | Fault::Hunting { .. }
            | Fault::TrackingError { .. } => [0.0, end_s],
            Fault::TrackingLoss { seconds } => {
                let plan = &plans[joint.map_or(0, |j| j / per_arm)];
                command::lost_span(plan, joint.map(|j| j % per_arm), seconds)
                    .unwrap_or([0.0, end_s])
            }
            _ => continue,
        };
        marks.push(Mark { planted, spans_s: vec![span], count: 1 });
    }
}
