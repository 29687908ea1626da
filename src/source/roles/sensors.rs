//! Optional columns with a value to a joint: velocity, effort, voltage, temperature.
//!
//! As declared, else by common words in the name. A column that remains unclear is not used, and
//! the report says why; it is never an error, because nothing depends on it.

use crate::model::{AngleUnit, Extra, Joint};
use crate::source::declared::Declared;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::groups::{matches, star};
use crate::source::roles::parts::{DECLARED, Part, Vectors};
use crate::source::roles::shape::{Column, Shape};
use crate::source::roles::unused::Unused;
use crate::source::roles::words::{ACTION, STATE, Word, side, words};

/// Words of each kind, the plainer first. Of two columns the one with the earlier word is taken.
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
pub(in crate::source) struct Sensor {
    pub kind: Extra,
    pub vectors: Vectors,
    /// Values a row of each part.
    pub widths: Vec<usize>,
    /// What each stored value is multiplied by.
    pub factors: Vec<f64>,
}

/// The kind that a name says.
pub(in crate::source) fn kind_of(name: &str) -> Option<Extra> {
    let all = words(name);
    let says = |(_, own): &&(Extra, &[&str])| all.iter().any(|word| word.among(own));
    WORDS.iter().find(says).map(|(kind, _)| *kind)
}

/// Finds the columns of every kind; `taken` are those that play another role.
pub(in crate::source) fn sensors(
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
                // The shape is described once a batch has been seen.
                let (role, shape) = (Role::Extra(kind), String::new());
                choices.push(RoleChoice { role, columns: names, shape, why });
                let widths = vectors.parts.iter().map(|part| part.width.unwrap_or(1)).collect();
                found.push(Sensor { kind, vectors, widths, factors: Vec::new() });
            }
            Err(unused) => choices.push(RoleChoice::none(Role::Extra(kind), unused.why())),
        }
    }
    found
}

type Chosen = Result<Option<(Vectors, Vec<String>, String)>, Unused>;

fn as_declared(columns: &[Column], kind: Extra, said: &[String], joints: &[Joint]) -> Chosen {
    let mut members: Vec<(&Column, String)> = Vec::new();
    for entry in said {
        let before = members.len();
        // A name that holds a star itself is no pattern.
        let whole = columns.iter().any(|c| c.name() == *entry);
        let is_named =
            |c: &&Column| if whole { c.name() == *entry } else { matches(entry, &c.name()) };
        let named = columns.iter().filter(is_named);
        members.extend(named.map(|c| (c, star(entry, &c.name()).to_string())));
        if members.len() == before {
            return Err(Unused::NoColumn(entry.clone()));
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
    // Lists of unstated width share the joints: one to an arm.
    let is_list = |(column, _): &&(&Column, String)| matches!(column.shape(), Shape::List { .. });
    let lists = members.iter().filter(is_list).count().max(1);
    let share = &joints[..joints.len() / lists];
    for (column, _) in &members {
        add(column, kind, share, &mut vectors)?;
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
    if let Some(both) = two_arms(&vectors, joints) {
        let mut found = Vectors::default();
        for column in both {
            // How many values a list holds is seen when it is looked at.
            add(column, kind, &joints[..joints.len() / 2], &mut found)?;
        }
        fits(&found, kind, joints)?;
        let names: Vec<String> = both.iter().map(|column| column.name()).collect();
        let why = format!("one column an arm, the names say \"{}\"", names.join("\", \""));
        return Ok(Some((found, names, why)));
    }
    match vectors.as_slice() {
        [(a, one), (b, two), ..] if a == b => {
            let (first, second) = (one.name(), two.name());
            return Err(Unused::TwoColumns { first, second, key: kind.word() });
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

/// Two vectors that fit best, equally well, and whose paths differ by the side of the arm alone: in
/// the order of the joints.
fn two_arms<'a, F: PartialEq>(
    vectors: &[(F, &'a Column)],
    joints: &[Joint],
) -> Option<[&'a Column; 2]> {
    let best = vectors.iter().take_while(|(fit, _)| *fit == vectors[0].0);
    let best: Vec<&'a Column> = best.map(|(_, column)| *column).collect();
    let [one, two] = best.as_slice() else { return None };
    let ((first, rest), (second, other)) = (side(&one.name())?, side(&two.name())?);
    let (begin, _) = side(&joints.first()?.name)?;
    if first == second || rest != other {
        return None;
    }
    Some(if begin == first { [*one, *two] } else { [*two, *one] })
}

/// Words that say nothing of the joint.
fn plain(word: &Word) -> bool {
    word.neutral() || word.among(STATE) || word.among(&["s", "per", "sec", "nm", "ma", "v", "c"])
}

/// One column to each joint, by its name.
fn by_joint(members: &[(&Column, String)], joints: &[Joint]) -> Result<Vectors, Unused> {
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
                    return Err(Unused::NoNumber(column.name()));
                };
                let path = column.path.clone();
                vectors.parts.push(Part { path, element, list: false, width: None, name: None });
            }
            (None, _) => return Err(Unused::NoJoint(joint.name.clone())),
            (Some((one, _)), Some((two, _))) => {
                let (first, second) = (one.name(), two.name());
                return Err(Unused::TwoForJoint { first, second, joint: joint.name.clone() });
            }
        }
    }
    Ok(vectors)
}

/// Adds a column as one or, for a struct, several parts.
pub(in crate::source) fn add(
    column: &Column,
    kind: Extra,
    joints: &[Joint],
    vectors: &mut Vectors,
) -> Result<(), Unused> {
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
        _ => return Err(Unused::shape(column, kind.word())),
    }
    Ok(())
}

/// A value to each joint; voltage may be one for all.
fn fits(vectors: &Vectors, kind: Extra, joints: &[Joint]) -> Result<(), Unused> {
    let found: usize = vectors.parts.iter().map(|part| part.width.unwrap_or(1)).sum();
    let shared = kind == Extra::Voltage && found == 1;
    if shared || found == joints.len() {
        return Ok(());
    }
    Err(Unused::Count { found, joints: joints.len() })
}

/// What the values of a kind are multiplied by: speeds are in the unit of the positions, unless
/// the name says another.
pub(in crate::source) fn factors(sensor: &Sensor, joints: &[Joint], positions: &[f64]) -> Vec<f64> {
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
