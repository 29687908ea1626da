//! Optional columns with a value to a joint: velocity, effort, voltage, temperature.
//!
//! As declared, else by the trade's plain words in the name. What cannot be settled is left alone
//! and said; it is never an error, because nothing depends on it.

use super::RoleChoice;
use super::columns::{DECLARED, Part, Vectors};
use super::declared::Declared;
use super::groups::{matches, star};
use super::shape::{Column, Shape};
use super::words::{ACTION, Word, words};
use crate::model::{AngleUnit, Extra, Joint, count};

/// Words of each kind, the plainer first: of two columns the one with the earlier word is taken.
const WORDS: [(Extra, &[&str]); 4] = [
    (Extra::Velocity, &["velocity", "velocities", "vel", "speed", "speeds"]),
    (
        Extra::Effort,
        &["effort", "efforts", "torque", "torques", "load", "loads", "current", "currents"],
    ),
    (Extra::Voltage, &["voltage", "voltages", "volt", "volts"]),
    (Extra::Temperature, &["temperature", "temperatures", "temp"]),
];
/// Words that make a column something else's.
const FOREIGN: &[&str] =
    &["base", "camera", "cam", "wheel", "wheels", "max", "min", "limit", "error"];

/// The columns of one kind.
#[derive(Debug, Clone)]
pub(super) struct Sensor {
    pub kind: Extra,
    pub vectors: Vectors,
    /// Values a row of each part.
    pub widths: Vec<usize>,
    /// What each stored value is multiplied by.
    pub factors: Vec<f64>,
}

/// Finds the columns of every kind; `taken` are those that play another role.
pub(super) fn sensors(
    columns: &[Column],
    declared: &Declared,
    joints: &[Joint],
    taken: &[String],
    choices: &mut Vec<RoleChoice>,
) -> Vec<Sensor> {
    let mut found = Vec::new();
    for (kind, own) in WORDS {
        let said = declared.sensor(kind);
        let chosen = if said.is_empty() {
            by_name(columns, kind, own, joints, taken)
        } else {
            as_declared(columns, kind, said, joints)
        };
        match chosen {
            Ok(None) => {}
            Ok(Some((vectors, names, why))) => {
                choices.push(choice(kind, names, why));
                let widths = vectors.parts.iter().map(|part| part.width.unwrap_or(1)).collect();
                found.push(Sensor { kind, vectors, widths, factors: Vec::new() });
            }
            Err(why) => choices.push(choice(kind, Vec::new(), format!("not used: {why}"))),
        }
    }
    found
}

fn choice(kind: Extra, columns: Vec<String>, why: String) -> RoleChoice {
    let shape = if columns.is_empty() { "none" } else { "" }.to_string();
    RoleChoice { role: kind.word(), columns, shape, why }
}

type Chosen = Result<Option<(Vectors, Vec<String>, String)>, String>;

fn as_declared(columns: &[Column], kind: Extra, said: &[String], joints: &[Joint]) -> Chosen {
    let mut members: Vec<(&Column, String)> = Vec::new();
    for entry in said {
        let before = members.len();
        let named = columns.iter().filter(|c| matches(entry, &c.name()));
        members.extend(named.map(|c| (c, star(entry, &c.name()).to_string())));
        if members.len() == before {
            return Err(format!("there is no column \"{entry}\""));
        }
    }
    let names = members.iter().map(|(column, _)| column.name()).collect();
    // A pattern's columns go by the joints' names; a list of names is in joint order.
    if let [pattern] = said
        && pattern.contains('*')
        && members.len() > 1
    {
        return by_joint(&members, joints).map(|v| Some((v, names, DECLARED.to_string())));
    }
    let mut vectors = Vectors::default();
    for (column, _) in &members {
        add(column, kind, joints, &mut vectors)?;
    }
    fits(&vectors, kind, joints)?;
    Ok(Some((vectors, names, DECLARED.to_string())))
}

fn by_name(
    columns: &[Column],
    kind: Extra,
    own: &[&str],
    joints: &[Joint],
    taken: &[String],
) -> Chosen {
    let mut vectors: Vec<((usize, usize, usize), &Column)> = Vec::new();
    let mut scalars: Vec<(usize, &Column, String)> = Vec::new();
    for column in columns {
        let name = column.name();
        let all = words(&name);
        let place = |word: &Word| own.iter().position(|text| *text == word.text);
        let Some(first) = all.iter().filter_map(place).min() else { continue };
        let others = |w: &Word| {
            w.among(ACTION)
                || w.among(FOREIGN)
                || WORDS.iter().any(|(other, list)| *other != kind && w.among(list))
        };
        if taken.contains(&name) || all.iter().any(others) {
            continue;
        }
        // Singular and plural of a word are one rank.
        let rank = if kind == Extra::Effort { first / 2 } else { 0 };
        match column.shape() {
            Shape::List { .. } | Shape::Struct { .. } => {
                let foreign = all.iter().filter(|w| place(w).is_none() && !plain(w)).count();
                vectors.push(((rank, foreign, all.len()), column));
            }
            Shape::Number(_) => {
                let joint = all.iter().filter(|w| place(w).is_none() && !plain(w));
                let joint = joint.map(|w| w.text.as_str()).collect::<Vec<_>>().join("_");
                scalars.push((rank, column, joint));
            }
            _ => {}
        }
    }
    vectors.sort_by_key(|(fit, _)| *fit);
    match vectors.as_slice() {
        [(a, one), (b, two), ..] if a == b => {
            return Err(format!(
                "both \"{}\" and \"{}\" could be it: decide with [columns] {} = [\"...\"]",
                one.name(),
                two.name(),
                kind.word()
            ));
        }
        [(_, column), ..] => {
            let mut found = Vectors::default();
            add(column, kind, joints, &mut found)?;
            fits(&found, kind, joints)?;
            let name = column.name();
            let why = format!("the name says \"{name}\"");
            return Ok(Some((found, vec![name], why)));
        }
        [] => {}
    }
    let Some(rank) = scalars.iter().map(|(rank, ..)| *rank).min() else { return Ok(None) };
    scalars.retain(|(other, ..)| *other == rank);
    if let ([(_, column, _)], Extra::Voltage) = (scalars.as_slice(), kind) {
        let mut found = Vectors::default();
        add(column, kind, joints, &mut found)?;
        let name = column.name();
        return Ok(Some((found, vec![name.clone()], format!("the name says \"{name}\""))));
    }
    let members: Vec<(&Column, String)> =
        scalars.into_iter().map(|(_, column, joint)| (column, joint)).collect();
    let vectors = by_joint(&members, joints)?;
    let names = vectors.parts.iter().map(|part| part.path.join(".")).collect();
    let why = format!("one column a joint, the names say \"{}\"", kind.word());
    Ok(Some((vectors, names, why)))
}

/// Words that say nothing of the joint.
fn plain(word: &Word) -> bool {
    word.neutral()
        || word.among(super::words::STATE)
        || word.among(&["s", "per", "sec", "nm", "ma", "v", "c"])
}

/// One column to each joint, by its name.
fn by_joint(members: &[(&Column, String)], joints: &[Joint]) -> Result<Vectors, String> {
    let bare = |text: &str| {
        let own = words(text).into_iter().filter(|w| !plain(w));
        own.map(|w| w.text).collect::<String>()
    };
    let mut vectors = Vectors::default();
    for joint in joints {
        let wanted = bare(&joint.name);
        // `j3` is the third of columns that only have numbers.
        let number = joint.name.strip_prefix('j').unwrap_or(&joint.name);
        let mut own = members.iter().filter(|(_, name)| bare(name) == wanted || name == number);
        match (own.next(), own.next()) {
            (Some((column, _)), None) => {
                let Shape::Number(element) = column.shape() else {
                    return Err(format!("\"{}\" is no number", column.name()));
                };
                let path = column.path.clone();
                vectors.parts.push(Part { path, element, list: false, width: None, name: None });
            }
            (None, _) => return Err(format!("no column for joint {}", joint.name)),
            (Some((one, _)), Some((two, _))) => {
                return Err(format!(
                    "both \"{}\" and \"{}\" could be joint {}",
                    one.name(),
                    two.name(),
                    joint.name
                ));
            }
        }
    }
    Ok(vectors)
}

/// Adds a column as one or, for a struct, several parts.
pub(super) fn add(
    column: &Column,
    kind: Extra,
    joints: &[Joint],
    vectors: &mut Vectors,
) -> Result<(), String> {
    let path = column.path.clone();
    match column.shape() {
        Shape::List { element, width } => {
            // How many values a list holds is seen when it is looked at.
            let width = width.or(Some(joints.len()));
            vectors.parts.push(Part { path, element, list: true, width, name: None });
        }
        Shape::Number(element) => {
            vectors.parts.push(Part { path, element, list: false, width: None, name: None });
        }
        Shape::Struct { fields, element } => {
            for field in fields {
                let mut path = path.clone();
                path.push(field);
                let element = element.clone();
                vectors.parts.push(Part { path, element, list: false, width: None, name: None });
            }
        }
        _ => {
            let shape = column.shape().words();
            return Err(format!("\"{}\" is {shape}: {} needs numbers", column.name(), kind.word()));
        }
    }
    Ok(())
}

/// A value to each joint; voltage may be one for all.
fn fits(vectors: &Vectors, kind: Extra, joints: &[Joint]) -> Result<(), String> {
    let found: usize = vectors.parts.iter().map(|part| part.width.unwrap_or(1)).sum();
    let shared = kind == Extra::Voltage && found == 1;
    if shared || found == joints.len() {
        return Ok(());
    }
    Err(misfit(found, joints.len()))
}

/// What is said of columns with another number of values than joints.
pub(super) fn misfit(found: usize, joints: usize) -> String {
    format!("{} a row, the rig has {}", count(found, "value"), count(joints, "joint"))
}

/// What the values of a kind are multiplied by: speeds are in the unit of the positions, unless
/// the name says another.
pub(super) fn factors(sensor: &Sensor, joints: &[Joint], positions: &[f64]) -> Vec<f64> {
    let values: usize = sensor.widths.iter().sum();
    if sensor.kind != Extra::Velocity {
        return vec![1.0; values];
    }
    let named: Vec<Word> =
        sensor.vectors.parts.iter().flat_map(|part| words(&part.path.join("."))).collect();
    let says = |list: &[&str]| named.iter().any(|word| word.among(list));
    let said = if says(&["rad", "radian", "radians"]) {
        Some(AngleUnit::Radian)
    } else if says(&["deg", "degree", "degrees"]) {
        Some(AngleUnit::Degree)
    } else {
        None
    };
    let one = |(joint, position): (&Joint, &f64)| match said {
        Some(unit) if !joint.linear => unit.to_radian(),
        _ => *position,
    };
    joints.iter().zip(positions).map(one).collect()
}
