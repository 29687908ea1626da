//! Whether several measurements files are parts of one dataset.
//!
//! What is declared, or follows from the columns, must be the same. What the survey of each part's
//! own data showed (frame period, sensor counts, range seen) may differ a little: then readings of a
//! part can differ a little from those of an audit of the whole, and that is said.

use super::error::StoreError;
use super::stored_file::StoredFile;
use crate::model::{Joint, Rig, count};

/// Frame periods that differ by more than this share are two rates.
const SAME_RATE: f64 = 0.1;

/// The rig of all measurements files: that of the first.
pub(super) fn rig(files: &[StoredFile]) -> Result<Rig, StoreError> {
    let Some((first, others)) = files.split_first() else { return Ok(Rig::default()) };
    let mut rig = first.header.rig.clone();
    let mut apart = false;
    for other in others {
        if let Some(what) = difference(first, other) {
            let (first, other) = (first.path.clone(), other.path.clone());
            return Err(StoreError::Disagree { first, other, what });
        }
        apart |= surveyed_apart(&first.header.rig, &other.header.rig);
        for notice in &other.header.rig.notices {
            if !rig.notices.contains(notice) {
                rig.notices.push(notice.clone());
            }
        }
    }
    if apart {
        rig.notices.push(format!(
            "the {} measurements files were surveyed each for itself: their readings may differ \
             slightly from those of an audit of the whole; `teleassay audit --rig {}` gives all parts \
             the rig of the first",
            files.len(),
            first.path.display()
        ));
    }
    Ok(rig)
}

/// What keeps two measurements files from being one dataset, in words.
fn difference(first: &StoredFile, other: &StoredFile) -> Option<String> {
    let (a, b) = (&first.header.rig, &other.header.rig);
    if a.joints.len() != b.joints.len() {
        return Some(format!("{} and {}", count(a.joints.len(), "joint"), b.joints.len()));
    }
    for (number, (x, y)) in a.joints.iter().zip(&b.joints).enumerate() {
        if x.name != y.name {
            return Some(format!("joint {number} is \"{}\" and \"{}\"", x.name, y.name));
        }
        if let Some(what) = of_joint(x, y) {
            return Some(format!("{what} of joint \"{}\"", x.name));
        }
    }
    if a.unit != b.unit {
        let (x, y) = (a.unit.name(), b.unit.name());
        return Some(format!("joint values in {x} and in {y}"));
    }
    if a.rate_hz != b.rate_hz {
        return Some(format!("declared rate {} and {}", shown(a.rate_hz), shown(b.rate_hz)));
    }
    let (x, y) = (a.period_s, b.period_s);
    if (x - y).abs() > SAME_RATE * x.min(y) {
        return Some(format!("frame period {} ms and {} ms", 1e3 * x, 1e3 * y));
    }
    if a.clock != b.clock {
        return Some("stamps are stored in different ways".to_owned());
    }
    if a.labels != b.labels {
        return Some("other labels are declared in one of them".to_owned());
    }
    if a.extras != b.extras {
        return Some("optional columns are there in one of them only".to_owned());
    }
    parameter(first, other)
}

fn of_joint(x: &Joint, y: &Joint) -> Option<String> {
    let limits = [
        ("lower limit", x.lower, y.lower),
        ("upper limit", x.upper, y.upper),
        ("largest speed", x.max_speed, y.max_speed),
        ("largest effort", x.max_effort, y.max_effort),
        ("largest temperature", x.max_temperature, y.max_temperature),
    ];
    if let Some((what, x, y)) = limits.into_iter().find(|(_, x, y)| x != y) {
        return Some(format!("{what} {} and {}", shown(x), shown(y)));
    }
    let facts = [
        ("kind", x.kind() == y.kind()),
        ("gripper", x.gripper == y.gripper),
        ("linear", x.linear == y.linear),
        ("arm", x.arm == y.arm),
        ("range", x.stored_range == y.stored_range),
    ];
    let (what, _) = facts.into_iter().find(|(_, same)| !same)?;
    Some(format!("different \"{what}\""))
}

fn parameter(first: &StoredFile, other: &StoredFile) -> Option<String> {
    let (a, b) = (&first.header.parameters, &other.header.parameters);
    for (check, values) in a {
        let Some(theirs) = b.get(check) else { continue };
        for (id, value) in values {
            if let Some(their) = theirs.get(id).filter(|their| *their != value) {
                return Some(format!("measured with {check} {id} = {value} and {their}"));
            }
        }
    }
    None
}

fn surveyed_apart(a: &Rig, b: &Rig) -> bool {
    let seen = |rig: &Rig| rig.joints.iter().map(|j| (j.count, j.observed)).collect::<Vec<_>>();
    a.period_s != b.period_s || seen(a) != seen(b)
}

fn shown(value: Option<f64>) -> String {
    value.map_or_else(|| "none".to_owned(), |value| value.to_string())
}
