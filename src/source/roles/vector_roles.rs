//! The two roles that hold a vector: the follower's state and the leader's action.

use crate::source::error::SourceError;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::candidates::Candidates;
use crate::source::roles::groups::{Whose, groups, matches, star};
use crate::source::roles::parts::{DECLARED, Part, Vectors};
use crate::source::roles::shape::{Column, Shape, find};
use crate::source::roles::words::{Fit, action_fit, side, state_fit};

/// Decides the follower's state, which must be there.
pub(in crate::source) fn follower(
    candidates: &Candidates<'_>,
    choices: &mut Vec<RoleChoice>,
) -> Result<Vectors, SourceError> {
    let found = decide(candidates, Whose::Follower, &candidates.declared.state, choices)?;
    found.ok_or_else(|| {
        candidates.missing(
            "looks like the follower's measured positions",
            "name it with --state COLUMN, or in a profile: [columns] state = [\"…\"]",
        )
    })
}

/// Decides the leader's action, which may be missing. Scalar columns are put in the order of the
/// follower's joints where both name the same ones.
pub(in crate::source) fn leader(
    candidates: &Candidates<'_>,
    state: &Vectors,
    choices: &mut Vec<RoleChoice>,
) -> Result<Option<Vectors>, SourceError> {
    let found = decide(candidates, Whose::Leader, &candidates.declared.action, choices)?;
    let Some(mut action) = found else {
        choices.push(RoleChoice::none(
            Role::Action,
            "no column looks like the leader's commands; tracking cannot be assessed",
        ));
        return Ok(None);
    };
    // The order in which a person declares columns is meant.
    if candidates.declared.action.len() <= 1 && action.parts.len() == state.parts.len() {
        let place = |p: &Part| {
            let name = p.name.as_ref()?;
            state.parts.iter().position(|s| s.name.as_ref() == Some(name))
        };
        if action.parts.iter().all(|part| place(part).is_some()) {
            action.parts.sort_by_key(place);
            let scalars = |c: &&mut RoleChoice| c.role == Role::Action && c.columns.len() > 1;
            for choice in choices.iter_mut().filter(scalars) {
                choice.columns = action.parts.iter().map(|p| p.path.join(".")).collect();
            }
        }
    }
    Ok(Some(action))
}

fn decide(
    candidates: &Candidates<'_>,
    whose: Whose,
    declared: &[String],
    choices: &mut Vec<RoleChoice>,
) -> Result<Option<Vectors>, SourceError> {
    let chosen = if declared.is_empty() {
        by_name(candidates, whose)?
    } else {
        let mut members = Vec::new();
        for entry in declared {
            members.extend(expand(candidates, whose, entry)?);
        }
        if !declared.iter().any(|entry| entry.contains('*')) {
            bare_names(&mut members);
        }
        Some((declared.to_vec(), members, DECLARED.to_string()))
    };
    let Some((shown, members, why)) = chosen else { return Ok(None) };
    let mut vectors = Vectors::default();
    for (column, name) in &members {
        add(candidates, whose, column, name.clone(), &mut vectors)?;
    }
    if let [(column, _)] = members.as_slice() {
        vectors.names = metadata_names(column);
    }
    let columns = match shown.as_slice() {
        [one] if one.contains('*') => members.iter().map(|(c, _)| c.name()).collect(),
        _ => shown,
    };
    choices.push(RoleChoice { role: whose.role(), columns, shape: String::new(), why });
    Ok(Some(vectors))
}

type Chosen = (Vec<String>, Vec<(Column, Option<String>)>, String);

/// The vector column or group of scalars whose name fits best.
fn by_name(candidates: &Candidates<'_>, whose: Whose) -> Result<Option<Chosen>, SourceError> {
    let fits = |name: &str| match whose {
        Whose::Follower => state_fit(name),
        Whose::Leader => action_fit(name),
    };
    let mut all: Vec<(Fit, Chosen)> = Vec::new();
    for column in &candidates.columns {
        let vector = matches!(column.shape(), Shape::List { .. } | Shape::Struct { .. });
        if let Some(fit) = fits(&column.name()).filter(|_| vector) {
            let why = format!("the name says \"{}\"", column.name());
            all.push((fit, (vec![column.name()], vec![(column.clone(), None)], why)));
        }
    }
    for group in groups(&candidates.columns, whose) {
        let why = format!("one column a joint, the names say \"{}\"", group.pattern);
        let named =
            |(column, joint): (Column, String)| (column, (!joint.is_empty()).then_some(joint));
        let members = group.members.into_iter().map(named).collect();
        all.push((group.fit, (vec![group.pattern], members, why)));
    }
    all.sort_by_key(|(fit, _)| *fit);
    if let Some(both) = two_arms(&all) {
        return Ok(Some(both));
    }
    if let [(a, (first, ..)), (b, (second, ..)), ..] = all.as_slice()
        && a == b
    {
        let line = format!("{} = [\"{}\"]", whose.role(), first[0]);
        return Err(candidates.two(whose.role(), &first[0], &second[0], line));
    }
    Ok(all.into_iter().next().map(|(_, chosen)| chosen))
}

/// Vectors that fit equally well and whose paths differ by the side of the arm alone: one rig.
fn two_arms(all: &[(Fit, Chosen)]) -> Option<Chosen> {
    let best = all.first()?.0;
    let equal: Vec<&Chosen> =
        all.iter().take_while(|(fit, _)| *fit == best).map(|(_, chosen)| chosen).collect();
    let sides: Vec<(&'static str, String)> =
        equal.iter().map(|(shown, ..)| side(&shown[0])).collect::<Option<_>>()?;
    let [(first, rest), (second, other)] = sides.as_slice() else { return None };
    let vectors = equal.iter().all(|(_, members, _)| {
        members.len() == 1 && !matches!(members[0].0.shape(), Shape::Number(_))
    });
    if first == second || rest != other || !vectors {
        return None;
    }
    let shown: Vec<String> = equal.iter().map(|(shown, ..)| shown[0].clone()).collect();
    let member = |(chosen, (side, _)): (&&Chosen, &(&'static str, String))| {
        (chosen.1[0].0.clone(), Some((*side).to_owned()))
    };
    let members = equal.iter().zip(&sides).map(member).collect();
    let why = format!("one column an arm, the names say \"{}\"", shown.join("\", \""));
    Some((shown, members, why))
}

/// The columns that one declared entry stands for.
fn expand(
    candidates: &Candidates<'_>,
    whose: Whose,
    entry: &str,
) -> Result<Vec<(Column, Option<String>)>, SourceError> {
    // A name that holds a star itself is no pattern.
    let whole = find(candidates.schema, entry);
    if whole.is_some() || !entry.contains('*') {
        let column = whole.map_or_else(|| candidates.declared_column(whose.role(), entry), Ok)?;
        let scalar = matches!(column.shape(), Shape::Number(_));
        let arm = || side(&column.name()).map(|(side, _)| side.to_owned());
        let several = candidates.declares_several(whose.role());
        let name = if scalar { Some(column.name()) } else { arm().filter(|_| several) };
        return Ok(vec![(column, name)]);
    }
    let all = candidates.columns.iter().filter(|c| matches(entry, &c.name()));
    let members: Vec<_> = all
        .filter(|c| matches!(c.shape(), Shape::Number(_)))
        .map(|c| (c.clone(), Some(star(entry, &c.name()).to_string())))
        .collect();
    // A pattern that matches nothing gets the same answer as a column that is not there.
    if members.is_empty() {
        candidates.declared_column(whose.role(), entry)?;
    }
    Ok(members)
}

/// Adds a column as one or, for a struct, several parts.
fn add(
    candidates: &Candidates<'_>,
    whose: Whose,
    column: &Column,
    name: Option<String>,
    vectors: &mut Vectors,
) -> Result<(), SourceError> {
    let path = column.path.clone();
    match column.shape() {
        Shape::List { element, width } => {
            vectors.parts.push(Part { path, element, list: true, width, name });
        }
        Shape::Number(element) => {
            vectors.parts.push(Part { path, element, list: false, width: None, name });
        }
        Shape::Struct { fields, element } => {
            for field in fields {
                let mut path = path.clone();
                path.push(field.clone());
                let element = element.clone();
                vectors.parts.push(Part {
                    path,
                    element,
                    list: false,
                    width: None,
                    name: Some(match &name {
                        Some(arm) => format!("{arm}_{field}"),
                        None => field,
                    }),
                });
            }
        }
        _ => return Err(candidates.wrong(column, whose.role(), "a list or struct of numbers")),
    }
    Ok(())
}

/// Joint names in the field's own metadata: key `names`, a JSON list or separated by commas.
fn metadata_names(column: &Column) -> Vec<String> {
    let Some(text) = column.field.metadata().get("names") else { return Vec::new() };
    if let Ok(names) = serde_json::from_str::<Vec<String>>(text) {
        return names;
    }
    text.split(',').map(|name| name.trim().to_string()).filter(|name| !name.is_empty()).collect()
}

/// Takes off what the names of declared scalar columns share, word by word: `meas_waist` and
/// `meas_elbow` are the joints `waist` and `elbow`.
fn bare_names(members: &mut [(Column, Option<String>)]) {
    if members.iter().any(|(column, _)| !matches!(column.shape(), Shape::Number(_))) {
        return;
    }
    let names: Vec<&str> = members.iter().filter_map(|(_, name)| name.as_deref()).collect();
    let [first, rest @ ..] = names.as_slice() else { return };
    let shared = |other: &&str| {
        let same = first.bytes().zip(other.bytes()).take_while(|(a, b)| a == b).count();
        first.get(..same).and_then(|text| text.rfind(['_', '.', '-', ' ', '/']).map(|at| at + 1))
    };
    let Some(front) = rest.iter().map(|other| shared(other).unwrap_or(0)).min() else { return };
    for name in members.iter_mut().filter_map(|(_, name)| name.as_mut()) {
        name.drain(..front);
    }
}
