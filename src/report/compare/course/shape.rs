//! The machine-readable course, version 1: frozen once released.
//!
//! SI units throughout. Each session after the first is compared with the first, in documents of the
//! shape of two; `course` puts their answers side by side.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::super::shape::{self as pair, SideShape};
use super::verdict::verdict;
use super::view::Courses;
use super::words::{state, title};
use crate::compare::{Answer, CourseLine, Point, Scale};
use crate::model::Severity;
use crate::report::schema::AspectId;
use crate::report::shape::Tool;
use crate::report::text::clean;

/// What `schema` says in this version.
pub const VERSION: &str = "teleassay/course/1";

/// The whole document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(
    title = "teleassay course, version 1",
    description = "More than two sessions in their order, each compared with the first. Values are SI \
                   (rad, m, s). P-values are adjusted for the comparisons of all sessions together.",
    extend("$id" = "urn:teleassay:course:1"),
    deny_unknown_fields
)]
pub struct Document {
    /// [`VERSION`].
    #[schemars(description = "Which shape this is", extend("const" = VERSION))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// All sessions in their order.
    pub sessions: Vec<SideShape>,
    /// Severity of the worst difference of all sessions.
    pub worst: Option<Severity>,
    /// What differs, and since when.
    pub message: String,
    /// Each aspect over all sessions, worst first.
    pub course: Vec<CourseShape>,
    /// Each session after the first, compared with the first.
    pub comparisons: Vec<pair::Document>,
}

/// An aspect over all sessions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "course", deny_unknown_fields)]
pub struct CourseShape {
    /// What is compared.
    #[schemars(with = "AspectId")]
    pub aspect: String,
    /// What kind of aspect it is.
    #[schemars(extend("enum" = ["rig", "behaviour", "statistics"]))]
    pub group: String,
    /// The joint.
    pub joint: Option<String>,
    /// How changes are written.
    #[schemars(extend("enum" = ["difference", "ratio", "share"]))]
    pub scale: String,
    /// Unit of the values and of a difference.
    #[schemars(extend("enum" = ["rad", "m", "s", "Hz", "ratio", "rad/s", "sigma"]))]
    pub unit: String,
    /// Median of each session. Of workspace, start pose and clip the change, which the first has not.
    pub values: Vec<Option<f64>>,
    /// Change of each session against the first; the first has none.
    pub changes: Vec<Option<f64>>,
    /// Answer of each session; the first has none, and one that has nothing to compare.
    pub answers: Vec<Option<AnswerShape>>,
    /// Severity of the worst difference.
    pub worst: Option<Severity>,
    /// The first session from which on every later one differs: its place in `sessions`, from 0.
    pub since: Option<u64>,
    /// All sessions that differ: their places in `sessions`, from 0.
    pub differs: Vec<u64>,
    /// In words.
    pub message: String,
}

/// The answer of one session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[schemars(rename = "answer")]
#[serde(rename_all = "kebab-case")]
pub enum AnswerShape {
    /// The interval lies within the equivalence margin.
    Same,
    /// A significant change beyond it.
    Different,
    /// Neither of the two.
    NotEnoughData,
}

impl From<Answer> for AnswerShape {
    fn from(answer: Answer) -> Self {
        match answer {
            Answer::Same => Self::Same,
            Answer::Different(_) => Self::Different,
            Answer::Inconclusive => Self::NotEnoughData,
        }
    }
}

impl Document {
    /// Of a course.
    pub fn of(view: &Courses<'_>) -> Self {
        let names = view.names();
        Self {
            schema: VERSION.to_owned(),
            tool: Tool {
                name: env!("CARGO_PKG_NAME").to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
            },
            sessions: view.sides().map(pair::side).collect(),
            worst: view.lines.iter().filter_map(CourseLine::worst).max(),
            message: verdict(view).text,
            course: view.lines.iter().map(|line| course(line, &names)).collect(),
            comparisons: view.pairs.iter().map(pair::Document::of).collect(),
        }
    }
}

fn course(line: &CourseLine, names: &[String]) -> CourseShape {
    let change = |point: &Point| {
        let scaled = |change: f64| match line.aspect.scale() {
            Scale::Ratio => change.exp(),
            Scale::Difference | Scale::Share => change,
        };
        pair::finite(point.change.map(scaled))
    };
    let since_when = line.since();
    let differs = since_when.apart.iter().copied();
    let differs = differs.chain(since_when.from.into_iter().flat_map(|at| at..line.points.len()));
    CourseShape {
        aspect: line.aspect.id().to_owned(),
        group: pair::group(line.aspect).to_owned(),
        joint: line.joint.clone(),
        scale: pair::scale(line.aspect).to_owned(),
        unit: pair::unit(line.aspect, line.linear).to_owned(),
        values: line.points.iter().map(|point| pair::finite(point.value)).collect(),
        changes: line.points.iter().map(change).collect(),
        answers: line.points.iter().map(|point| point.answer.map(AnswerShape::from)).collect(),
        worst: line.worst(),
        since: since_when.from.map(|at| at as u64),
        differs: differs.map(|at| at as u64).collect(),
        message: message(line, names),
    }
}

/// `offset elbow: differs since wednesday`
fn message(line: &CourseLine, names: &[String]) -> String {
    clean(&format!("{}: {}", title(line), state(line, names)))
}
