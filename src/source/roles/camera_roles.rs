//! Columns of cameras: which image goes with each row, by its number or its stamp.

use std::sync::Arc;

use arrow::datatypes::DataType;

use crate::model::Extra;
use crate::source::declared::{Declared, DeclaredCamera};
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::parts::{DECLARED, per_second};
use crate::source::roles::shape::{Column, ColumnPath, Shape};
use crate::source::roles::unused::Unused;
use crate::source::roles::words::{TIME, Word, time_unit, words};

/// The role of their columns.
const CAMERAS: Role = Role::Extra(Extra::Cameras);
/// Words for a camera.
const CAMERA: &[&str] =
    &["camera", "cameras", "cam", "cams", "image", "images", "img", "webcam", "picture"];
/// Words for a counter of its images.
const COUNTER: &[&str] = &["frame", "frames", "index", "idx", "number", "seq", "sequence"];
/// Words that only name the quantity.
const QUANTITY: &[&str] = &["id", "no", "num", "s", "sec", "ms", "us", "ns"];

/// One camera's columns.
#[derive(Debug, Clone)]
pub(in crate::source) struct Camera {
    pub name: Arc<str>,
    pub rate_hz: Option<f64>,
    pub index: Option<ColumnPath>,
    pub stamp: Option<StampColumn>,
}

/// A stamp column of a camera.
#[derive(Debug, Clone)]
pub(in crate::source) struct StampColumn {
    pub path: ColumnPath,
    /// Stored type of a plain number; none for Timestamp and Duration types.
    pub number: Option<DataType>,
    /// Ticks a second where the type or the name says so.
    pub per_second: Option<f64>,
}

/// Whether a name is that of a camera's column.
pub(in crate::source) fn is_camera(name: &str) -> bool {
    words(name).iter().any(|word| word.among(CAMERA))
}

/// Finds the cameras; `taken` are columns that play another role.
pub(in crate::source) fn cameras(
    columns: &[Column],
    declared: &Declared,
    taken: &[String],
    choices: &mut Vec<RoleChoice>,
) -> Vec<Camera> {
    let mut found = if declared.cameras.is_empty() {
        by_name(columns, taken, choices)
    } else {
        as_declared(columns, declared, choices)
    };
    found.retain(|camera| camera.index.is_some() || camera.stamp.is_some());
    for camera in &found {
        let paths = camera.index.iter().chain(camera.stamp.as_ref().map(|s| &s.path));
        let names: Vec<String> = paths.map(|path| path.join(".")).collect();
        let shape = match (&camera.index, &camera.stamp) {
            (Some(_), Some(_)) => "frame number, stamp",
            (Some(_), None) => "frame number",
            _ => "stamp",
        };
        let why = if declared.cameras.is_empty() {
            format!("the names say camera \"{}\"", camera.name)
        } else {
            DECLARED.to_string()
        };
        choices.push(RoleChoice { role: CAMERAS, columns: names, shape: shape.to_string(), why });
    }
    found
}

fn as_declared(
    columns: &[Column],
    declared: &Declared,
    choices: &mut Vec<RoleChoice>,
) -> Vec<Camera> {
    let mut find = |name: &Option<String>, kind: fn(&Column) -> bool, wanted: &'static str| {
        let name = name.as_ref()?;
        let column = columns.iter().find(|column| column.name() == *name);
        let unused = match column {
            Some(column) if kind(column) => return Some(column),
            Some(column) => {
                let shape = column.shape().words();
                Unused::Camera { column: name.clone(), shape, wanted }
            }
            None => Unused::NoColumn(name.clone()),
        };
        choices.push(RoleChoice::none(CAMERAS, unused.why()));
        None
    };
    let one = |said: &DeclaredCamera| Camera {
        name: said.name.as_str().into(),
        rate_hz: said.rate_hz,
        index: find(&said.index, counts, "a whole number").map(|column| column.path.clone()),
        stamp: find(&said.stamp, stamps, "a number or a timestamp").map(stamp),
    };
    declared.cameras.iter().map(one).collect()
}

fn counts(column: &Column) -> bool {
    matches!(column.shape(), Shape::Number(number) if number.is_integer())
}

fn stamps(column: &Column) -> bool {
    matches!(column.shape(), Shape::Number(_) | Shape::Time { .. })
}

fn stamp(column: &Column) -> StampColumn {
    let path = column.path.clone();
    match column.shape() {
        Shape::Number(number) => {
            let per_second = time_unit(&column.name()).map(per_second);
            StampColumn { path, number: Some(number), per_second }
        }
        Shape::Time { per_second } => {
            StampColumn { path, number: None, per_second: Some(per_second) }
        }
        _ => StampColumn { path, number: None, per_second: None },
    }
}

fn by_name(columns: &[Column], taken: &[String], choices: &mut Vec<RoleChoice>) -> Vec<Camera> {
    let mut found: Vec<Camera> = Vec::new();
    for column in columns {
        let name = column.name();
        let all = words(&name);
        let any = |list: &[&str]| all.iter().any(|word| word.among(list));
        // `frame_stamp` is a camera's as well: rows have their own time column.
        let is_stamp = stamps(column)
            && (any(TIME) || matches!(column.shape(), Shape::Time { .. }))
            && (any(CAMERA) || any(&["frame"]));
        let is_index = counts(column) && any(CAMERA) && any(COUNTER) && !is_stamp;
        if taken.contains(&name) || !(is_stamp || is_index) {
            continue;
        }
        let camera = camera_of(&all);
        let place = found.iter().position(|known| *known.name == *camera);
        let at = place.unwrap_or_else(|| {
            let name = camera.as_str().into();
            found.push(Camera { name, rate_hz: None, index: None, stamp: None });
            found.len() - 1
        });
        let known = &mut found[at];
        let again = if is_stamp {
            known.stamp.replace(stamp(column)).is_some()
        } else {
            known.index.replace(column.path.clone()).is_some()
        };
        if again {
            let why =
                format!("\"{name}\" is taken; camera {camera} has another: [[camera]] decides");
            choices.push(RoleChoice::none(CAMERAS, why));
        }
    }
    found
}

/// The camera's name: what is left of a column's.
fn camera_of(all: &[Word]) -> String {
    let says = |w: &&Word| !(w.among(TIME) || w.among(COUNTER) || w.among(QUANTITY));
    let name: Vec<&str> = all.iter().filter(says).map(|w| w.text.as_str()).collect();
    if name.is_empty() { "camera".to_string() } else { name.join("_") }
}
