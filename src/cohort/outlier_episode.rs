//! Which episodes are unlike the others of the session? Something else was done there, or
//! something broke that no single measurement shows on its own.
//!
//! One odd episode costs a look; trained on unseen, it teaches another task.
//!
//! How: every measurement that a check offers to the cohort is a feature, one per joint. Features
//! that are missing in more than a quarter of the episodes or hardly vary are left out. A skewed
//! positive feature is taken on a log scale; what depends on the episode's length is taken out by a
//! robust line on log-length; each feature is centred on its median and divided by its robust
//! scale, of which no less is believed than nobody minds (a quarter of a degree, half a percent of
//! a gain), and values beyond 2.5 sigma grow only like a logarithm. Many or correlated features are
//! reduced to at most six components, the last of which is the distance from all the others. The
//! three quarters of the episodes with the smallest scatter (FAST-MCD) say what is usual, so a group of
//! odd episodes cannot hide one another. Distances are from there.
//!
//! One feature alone makes an outlier if it is farther out than a Student's t with 4 degrees of
//! freedom would ever be in a session of this size (some twenty robust sigmas, and a sigma is never
//! taken below a degree), with nothing drawn in.
//!
//! The reading is the squared distance as a multiple of the cut-off: above 1 is an outlier. The
//! cut-off lets about one healthy session in twenty flag any episode at all, whatever its size.
//! It is chi-squared at 0.05/n, widened for small sessions and for tails heavier than normal as
//! simulations of healthy sessions showed.
//!
//! Traps: an outlier is not a bad episode; look before dropping it. A session of two halves (two
//! tasks, two paces) may see its smaller half flagged: audit them apart. A disturbance common to
//! most features, if its size has heavy tails, is an outlier here even if it happens often (in
//! simulation half a percent of episodes), and in sessions of 20 to 40 episodes with many skewed
//! features of great size one session in seven has a false alarm instead of one in twenty. Fewer
//! than 10 episodes, or 5 per component, are not assessed: the distances of n episodes are bounded
//! by (n - 1)^2 / n, and so few cannot tell odd from ordinary.

use rand::SeedableRng;
use rand::seq::index::sample;
use rand_chacha::ChaCha8Rng;

use crate::check::{Check, CohortSheet, Params};
use crate::model::{
    CheckSpec, Family, JointId, Ledger, Metric, Param, Reading, SpanList, Unit, count,
};
use crate::num::covariance::{Points, ScatterError};
use crate::num::mcd::FastMcd;

mod cutoff;
mod feature;
mod space;
#[cfg(test)]
mod tests;

use cutoff::{cutoff, far_cutoff};
use feature::Feature;
use space::Space;

static DISTANCE: Metric = Metric::of_episode(
    "outlier_distance",
    Unit::Ratio,
    "squared robust distance from the session's usual, as a multiple of the cut-off",
)
.above(Some(1.0), None);

static COMPONENTS: Param = Param {
    id: "components",
    summary: "most components that the features are reduced to",
    unit: Unit::Count,
    default: 6.0,
};

static FIT_EPISODES: Param = Param {
    id: "fit_episodes",
    summary: "most episodes that say what is usual; of more, a random sample of this many does",
    unit: Unit::Count,
    default: 1_000.0,
};

static SPEC: CheckSpec = CheckSpec {
    id: "outlier-episode",
    family: Family::Session,
    applies_to: crate::model::SignalKind::ALL,
    needs: crate::model::Relation::Nothing,
    advisory: true,
    source: include_str!("outlier_episode.rs"),
    cause: "something else was done, or something broke during this episode",
    remedy: "compare the episode with an ordinary one; drop it or record it again if it is not \
             the task",
    reference: "Rousseeuw & Van Driessen 1999, Technometrics 41(3), 212-223; Hardin & Rocke 2005, \
                JCGS 14(4), 928-946; cut-off calibrated by simulation",
    metrics: &[&DISTANCE],
    params: &[&COMPONENTS, &FIT_EPISODES],
};

/// Episodes needed to a component.
const PER_COMPONENT: usize = 5;
/// Episodes to each component beyond the fewest: with fewer, the distances of healthy episodes
/// have such long tails that nothing else stands out.
const WELL_FED: usize = 10;
/// Share of the episodes that says what is usual: up to a quarter may be odd.
const SHARE: f64 = 0.75;
/// Random starts: with a quarter odd, one in seven of six components has none of the odd.
const STARTS: usize = 200;
/// Fewest components that make a cohort worth judging.
const FEWEST: usize = 2;
/// A feature beyond this many (drawn-in) sigmas drives an outlier.
const DRIVING: f64 = 3.0;
/// Most features named as driving an outlier.
const NAMED: usize = 3;
/// Seed of the random sample of episodes.
const SEED: u64 = 12;

/// The check; the head of this file is its manual.
pub static CHECK: Check = Check::of_session(&SPEC, measure);

fn measure(ledger: &Ledger, params: &Params, sheet: &mut CohortSheet<'_>) {
    let most = params.get(&SPEC, &COMPONENTS).max(FEWEST as f64) as usize;
    let fit_rows = params.get(&SPEC, &FIT_EPISODES).max(10.0) as usize;
    match Cohort::learn(ledger, most, fit_rows) {
        Ok(cohort) => cohort.write(sheet),
        Err(reason) => sheet.not_assessed(&SPEC, reason),
    }
}

/// One column of the ledger: its metric, its joint, its values.
type Column<'a> = (&'static Metric, Option<JointId>, &'a [f32]);

/// The session's features, and how far each episode lies from what is usual.
struct Cohort<'a> {
    columns: Vec<Column<'a>>,
    features: Vec<Feature>,
    log_length: Vec<f64>,
    /// Squared distance over cut-off, by row.
    distances: Vec<f64>,
}

impl<'a> Cohort<'a> {
    fn learn(ledger: &'a Ledger, most: usize, fit_rows: usize) -> Result<Self, String> {
        let episodes = ledger.rows();
        if episodes < FEWEST * PER_COMPONENT {
            let smallest = FEWEST * PER_COMPONENT;
            return Err(format!("{}, needs at least {smallest}", count(episodes, "episode")));
        }
        let columns: Vec<Column<'a>> =
            ledger.columns().filter(|c| c.1.cohort).map(|c| (c.1, c.2, c.3)).collect();
        let log_length: Vec<f64> =
            ledger.frames().iter().map(|&f| f64::from(f.max(1)).ln()).collect();
        let rows = rows_of_fit(episodes, fit_rows);
        let learn = |(i, c): (usize, &Column<'a>)| {
            Feature::learn(i, c.2, &rows, &log_length, least_scale(c.0.unit))
        };
        let features: Vec<Feature> = columns.iter().enumerate().filter_map(learn).collect();
        let mut cohort = Self { columns, features, log_length, distances: Vec::new() };
        if cohort.features.len() < FEWEST {
            return Err(cohort.too_few_features());
        }
        cohort.distances = cohort.relative_distances(&rows, most, episodes)?;
        Ok(cohort)
    }

    /// Squared distances over the cut-off, of every episode.
    fn relative_distances(
        &self,
        rows: &[usize],
        most: usize,
        episodes: usize,
    ) -> Result<Vec<f64>, String> {
        let most = most.min(rows.len() / WELL_FED).max(FEWEST);
        let mut scores = Vec::with_capacity(rows.len() * self.features.len());
        for &row in rows {
            self.scores(row, &mut scores);
        }
        let space = Space::learn(&scores, self.features.len(), most);
        let components = space.components();
        if components < FEWEST {
            return Err("all features say the same, needs at least two that differ".to_owned());
        }
        let mut fit = Vec::with_capacity(rows.len() * components);
        for scores in scores.chunks_exact(self.features.len()) {
            space.project(scores, &mut fit);
        }
        let unusable = |error: ScatterError| format!("no usual episode to measure from: {error}");
        let points = Points::new(&fit, components).map_err(unusable)?;
        let mcd = FastMcd { share: SHARE, starts: STARTS, ..FastMcd::default() }
            .fit(points)
            .map_err(unusable)?;
        let limit = cutoff(episodes, rows.len(), components, self.features.len());
        let (mut scores, mut point) = (Vec::new(), Vec::new());
        let mut scratch = vec![0.0; components];
        let far_limit = far_cutoff(episodes, self.features.len());
        let distance = |row: usize| {
            scores.clear();
            point.clear();
            self.scores(row, &mut scores);
            space.project(&scores, &mut point);
            let alone = self.farthest(row) / far_limit;
            (mcd.ruler.squared(&point, &mut scratch) / limit).max(alone * alone)
        };
        Ok((0..episodes).map(distance).collect())
    }

    /// Appends one episode's standard scores.
    fn scores(&self, row: usize, into: &mut Vec<f64>) {
        into.extend(self.features.iter().map(|feature| self.score(feature, row)));
    }

    fn score(&self, feature: &Feature, row: usize) -> f64 {
        let value = self.columns[feature.column].2.get(row).copied().unwrap_or(f32::NAN);
        feature.score(value, self.log_length[row])
    }

    /// How many wide scales the episode's farthest feature is from the usual.
    fn farthest(&self, row: usize) -> f64 {
        self.features.iter().map(|feature| self.far(feature, row)).fold(0.0, f64::max)
    }

    fn far(&self, feature: &Feature, row: usize) -> f64 {
        let value = self.columns[feature.column].2.get(row).copied().unwrap_or(f32::NAN);
        feature.far(value, self.log_length[row])
    }

    /// The features that set an episode apart, the furthest first, as `metric@joint`.
    fn drivers(&self, row: usize) -> String {
        // In order of how far they are with nothing drawn in, ties by the score itself.
        let score = |feature: &Feature| self.score(feature, row).abs().max(self.far(feature, row));
        let mut by_score: Vec<(f64, usize)> =
            self.features.iter().map(|feature| (score(feature), feature.column)).collect();
        by_score.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let driving = by_score.iter().take(NAMED).take_while(|s| s.0 >= DRIVING).count().max(1);
        let names = by_score.iter().take(driving).map(|&(_, column)| self.name(column));
        names.collect::<Vec<_>>().join(", ")
    }

    /// A column's `metric` or `metric@joint`.
    fn name(&self, column: usize) -> String {
        let (metric, joint, _) = self.columns[column];
        joint.map_or_else(|| metric.id.to_owned(), |joint| format!("{}@{joint}", metric.id))
    }

    /// Puts a reading on every episode, and says of the outliers what drives them.
    fn write(&self, sheet: &mut CohortSheet) {
        for (row, &value) in self.distances.iter().enumerate() {
            let note = if value > 1.0 { self.drivers(row) } else { String::new() };
            let spans = SpanList::default();
            let reading =
                Reading { check: &SPEC, metric: &DISTANCE, joint: None, value, spans, note: None };
            sheet.tell(row, reading, note);
        }
    }

    fn too_few_features(&self) -> String {
        let used = |column: usize| self.features.iter().any(|f| f.column == column);
        let dropped: Vec<String> =
            (0..self.columns.len()).filter(|&i| !used(i)).map(|i| self.name(i)).collect();
        let have = self.features.len();
        if dropped.is_empty() {
            return format!("measurements to compare: {have}, needs at least {FEWEST}");
        }
        let more = match dropped.len().saturating_sub(NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let dropped = dropped[..dropped.len().min(NAMED)].join(", ");
        format!(
            "measurements that vary from episode to episode: {have}, needs at least {FEWEST}; \
             left out {dropped}{more}"
        )
    }
}

/// The smallest standard deviation of a feature that matters: a degree, five degrees a second, a fiftieth
/// of a ratio; where the unit says nothing, none.
fn least_scale(unit: Unit) -> f64 {
    match unit {
        Unit::Radian => 1f64.to_radians(),
        Unit::RadianPerSecond => 5f64.to_radians(),
        Unit::Second => 0.005,
        Unit::Ratio | Unit::Share => 0.02,
        _ => 0.0,
    }
}

/// The episodes that say what is usual: all, or a random sample, ascending.
fn rows_of_fit(episodes: usize, most: usize) -> Vec<usize> {
    if episodes <= most {
        return (0..episodes).collect();
    }
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut rows = sample(&mut random, episodes, most).into_vec();
    rows.sort_unstable();
    rows
}
