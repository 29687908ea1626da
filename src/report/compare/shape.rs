//! The machine-readable comparison, version 1: frozen once released.
//!
//! SI units throughout. A change is B minus A, or B over A where `scale` says ratio. The same input
//! gives the same bytes. Described by the schema that is derived from it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::compared::{Compared, ComparedSide};
use super::sentence;
use super::words::{message, step};
use crate::compare::{Answer, Aspect, AspectUnit, Group, Row, Scale, Verdict};
use crate::model::{Severity, path_text};
use crate::report::schema::AspectId;
use crate::report::shape::{InputFile, Tool, UnreadFile};

/// What `schema` says in this version.
pub const VERSION: &str = "teleassay/comparison/1";

/// The whole document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(
    title = "teleassay comparison, version 1",
    description = "Values are SI (rad, m, s). The unit of evidence is the episode. A change is B \
                   minus A, or B over A where scale says ratio.",
    extend("$id" = "urn:teleassay:comparison:1"),
    rename = "comparison",
    deny_unknown_fields
)]
pub struct Document {
    /// [`VERSION`].
    #[schemars(description = "Which shape this is", extend("const" = VERSION))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// What B is compared with.
    pub a: SideShape,
    /// What is compared.
    pub b: SideShape,
    /// Recordings that are in both, by content.
    pub shared_recordings: u64,
    /// Tasks.
    pub tasks: TasksShape,
    /// Can both be trained on together.
    pub advice: AdviceShape,
    /// What must be equal.
    pub equal: Vec<EqualShape>,
    /// Every comparison.
    pub aspects: Vec<AspectShape>,
}

/// One recording session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "side", deny_unknown_fields)]
pub struct SideShape {
    /// What it is called.
    pub name: String,
    /// Episodes.
    pub episodes: u64,
    /// Sum over the episodes.
    #[schemars(range(min = 0))]
    pub duration_s: f64,
    /// Joints in the order of the table.
    pub joints: Vec<String>,
    /// Files that were read.
    pub inputs: Vec<InputFile>,
    /// Files that could not be read.
    pub unread: Vec<UnreadFile>,
    /// Tables whose columns are not those of the other files.
    pub different_columns: Vec<UnreadFile>,
}

/// Tasks; all empty where a side names none. Behaviour is compared within common tasks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "tasks", deny_unknown_fields)]
pub struct TasksShape {
    /// In both.
    pub common: Vec<String>,
    /// Of A alone.
    pub only_a: Vec<String>,
    /// Of B alone.
    pub only_b: Vec<String>,
}

/// Whether both can be trained on together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "advice", deny_unknown_fields)]
pub struct AdviceShape {
    /// Whether both can be trained on together.
    #[schemars(extend("enum" = ["merge", "correct", "keep-apart", "cannot-tell"]))]
    pub verdict: String,
    /// Severity of the worst difference of all aspects.
    pub worst: Option<Severity>,
    /// In words.
    pub message: String,
    /// Largest cost of merging as it is, in standard deviations of the action's dimension in A.
    pub cost: Option<f64>,
    /// What to do, or why not.
    pub steps: Vec<StepShape>,
}

/// What takes a difference on the rig away, or why nothing does.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "step", deny_unknown_fields)]
pub struct StepShape {
    /// What it takes away.
    #[schemars(with = "AspectId")]
    pub aspect: String,
    /// The joint.
    pub joint: Option<String>,
    /// In words.
    pub message: String,
}

/// Something that must be equal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "equal", deny_unknown_fields)]
pub struct EqualShape {
    /// Which.
    pub what: String,
    /// In A.
    pub a: String,
    /// In B.
    pub b: String,
    /// Whether both are known and not the same.
    pub differs: bool,
}

/// One comparison.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "aspect", deny_unknown_fields)]
pub struct AspectShape {
    /// What is compared.
    #[schemars(with = "AspectId")]
    pub aspect: String,
    /// What kind of aspect it is.
    #[schemars(extend("enum" = ["rig", "behaviour", "statistics"]))]
    pub group: String,
    /// The joint.
    pub joint: Option<String>,
    /// How the change is written.
    #[schemars(extend("enum" = ["difference", "ratio", "share"]))]
    pub scale: String,
    /// Unit of `a`, `b` and of a difference.
    #[schemars(extend("enum" = ["rad", "m", "s", "Hz", "ratio", "rad/s", "sigma"]))]
    pub unit: String,
    /// What stands for A: a median, or a share of poses.
    pub a: Option<f64>,
    /// The same for B.
    pub b: Option<f64>,
    /// The change.
    pub change: Option<f64>,
    /// Low and high end at 95 %, of this comparison alone.
    pub interval: Option<[f64; 2]>,
    /// P-value of the change.
    pub p_value: Option<f64>,
    /// The same, adjusted for all comparisons together (Holm).
    pub p_adjusted: Option<f64>,
    /// From which change on it matters, in the scale of `change`.
    pub warn: f64,
    /// From which change on it matters much.
    pub fail: f64,
    /// Episodes of A and B that it rests on.
    pub episodes: [u64; 2],
    /// The answer.
    #[schemars(extend("enum" = ["same", "different", "not-enough-data"]))]
    pub answer: String,
    /// How bad, if different.
    pub severity: Option<Severity>,
    /// Episodes to a side that would probably settle it.
    pub needs_episodes: Option<u64>,
    /// What merging as it is costs, in standard deviations of the action's dimension in A.
    pub cost: Option<f64>,
    /// What a reader should know of it.
    pub notes: Vec<String>,
    /// In words.
    pub message: String,
}

impl Document {
    /// Of a comparison.
    pub fn of(view: &Compared<'_>) -> Self {
        let comparison = view.comparison;
        let names = |tasks: &[std::sync::Arc<str>]| tasks.iter().map(ToString::to_string).collect();
        let advice = &comparison.advice;
        Self {
            schema: VERSION.to_owned(),
            tool: Tool {
                name: env!("CARGO_PKG_NAME").to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
            },
            a: side(&view.a),
            b: side(&view.b),
            shared_recordings: comparison.shared as u64,
            tasks: TasksShape {
                common: comparison.tasks.common.iter().flatten().map(ToString::to_string).collect(),
                only_a: names(&comparison.tasks.only_a),
                only_b: names(&comparison.tasks.only_b),
            },
            advice: AdviceShape {
                verdict: verdict(advice.verdict).to_owned(),
                worst: comparison.worst(),
                message: sentence::sentence(view).text,
                cost: finite(advice.cost),
                steps: advice
                    .steps
                    .iter()
                    .map(|one| StepShape {
                        aspect: one.aspect.id().to_owned(),
                        joint: joint(view, one.joint),
                        message: step(view, one),
                    })
                    .collect(),
            },
            equal: comparison
                .schema
                .iter()
                .map(|point| EqualShape {
                    what: point.what.to_owned(),
                    a: point.a.clone(),
                    b: point.b.clone(),
                    differs: point.differs,
                })
                .collect(),
            aspects: comparison.rows.iter().map(|row| aspect(view, row)).collect(),
        }
    }
}

pub(super) fn side(of: &ComparedSide<'_>) -> SideShape {
    let input = of.inputs.iter();
    let unread = |differs: bool| {
        let files = of.unread.iter().filter(|file| file.differs() == differs);
        let files = files
            .map(|file| UnreadFile { path: path_text(&file.path), reason: file.reason.clone() });
        files.collect()
    };
    SideShape {
        name: of.side.name.clone(),
        episodes: of.side.ledger.rows() as u64,
        duration_s: of.side.ledger.duration_s().iter().filter(|s| s.is_finite()).sum(),
        joints: of.side.rig.joints.iter().map(|joint| joint.name.clone()).collect(),
        inputs: input
            .map(|i| InputFile {
                path: path_text(&i.path),
                bytes: i.bytes,
                rows: i.rows,
                sha256: i.sha256.clone(),
            })
            .collect(),
        unread: unread(false),
        different_columns: unread(true),
    }
}

fn joint(view: &Compared<'_>, joint: Option<usize>) -> Option<String> {
    joint.map(|_| view.joint(joint).to_owned())
}

/// JSON has no NaN and no infinity.
pub(super) fn finite(value: Option<f64>) -> Option<f64> {
    value.filter(|value| value.is_finite())
}

fn aspect(view: &Compared<'_>, row: &Row) -> AspectShape {
    let scaled = |change: f64| match row.aspect.scale() {
        Scale::Ratio => change.exp(),
        Scale::Difference | Scale::Share => change,
    };
    let (low, high) = row.interval.unzip();
    let ends = finite(low.map(scaled)).zip(finite(high.map(scaled)));
    AspectShape {
        aspect: row.aspect.id().to_owned(),
        group: group(row.aspect).to_owned(),
        joint: joint(view, row.joint),
        scale: scale(row.aspect).to_owned(),
        unit: unit(row.aspect, view.linear(row)).to_owned(),
        a: finite(row.values.map(|values| values.0)),
        b: finite(row.values.map(|values| values.1)),
        change: finite(row.change.map(scaled)),
        interval: ends.map(|(low, high)| [low, high]),
        p_value: finite(row.p_value),
        p_adjusted: finite(row.p_adjusted),
        warn: scaled(row.limits.warn),
        fail: scaled(row.limits.fail),
        episodes: [row.episodes.0 as u64, row.episodes.1 as u64],
        answer: match row.answer {
            Answer::Same => "same",
            Answer::Different(_) => "different",
            Answer::Inconclusive => "not-enough-data",
        }
        .to_owned(),
        severity: row.severity(),
        needs_episodes: row.needs.map(|needs| needs as u64),
        cost: finite(row.cost),
        notes: row.notes.clone(),
        message: message(view, row),
    }
}

const fn verdict(of: Verdict) -> &'static str {
    match of {
        Verdict::Merge => "merge",
        Verdict::Correct => "correct",
        Verdict::KeepApart => "keep-apart",
        Verdict::CannotTell => "cannot-tell",
    }
}

pub(super) const fn group(aspect: Aspect) -> &'static str {
    match aspect.group() {
        Group::Rig => "rig",
        Group::Behaviour => "behaviour",
        Group::Statistics => "statistics",
    }
}

pub(super) const fn scale(aspect: Aspect) -> &'static str {
    match aspect.scale() {
        Scale::Difference => "difference",
        Scale::Ratio => "ratio",
        Scale::Share => "share",
    }
}

pub(super) const fn unit(aspect: Aspect, linear: bool) -> &'static str {
    match aspect.unit() {
        AspectUnit::Angle if linear => "m",
        AspectUnit::Angle => "rad",
        AspectUnit::Time => "s",
        AspectUnit::Rate => "Hz",
        AspectUnit::Ratio => "ratio",
        AspectUnit::Speed => "rad/s",
        AspectUnit::Sigma => "sigma",
    }
}
