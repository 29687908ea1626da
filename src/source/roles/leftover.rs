//! Columns without a role: why, and which line of a profile would give them one.

use crate::model::Extra;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::camera_roles::is_camera;
use crate::source::roles::groups::matches;
use crate::source::roles::sensors::kind_of;
use crate::source::roles::shape::{Column, NOT_READ, Shape};
use crate::source::roles::words::{
    EPISODE, FRAME, TASK, action_fit, id_fit, side, state_fit, time_fit, words,
};
use crate::source::unused_column::{ProfileLine, UnusedColumn};

/// Columns that no role uses, in the order of the table; `also` are used besides.
pub(in crate::source) fn leftover(
    columns: &[Column],
    choices: &[RoleChoice],
    also: &[&str],
) -> Vec<UnusedColumn> {
    let used = |column: &Column| {
        let name = column.name();
        // A struct may be used by one of its fields.
        let within = format!("{name}.");
        let is_it = |used: &str| matches(used, &name) || used == name || used.starts_with(&within);
        choices.iter().flat_map(|choice| &choice.columns).any(|used| is_it(used))
            || also.iter().any(|used| is_it(used))
    };
    let left: Vec<&Column> = columns.iter().filter(|column| !used(column)).collect();
    left.iter().map(|column| Table { choices, left: &left }.unused(column)).collect()
}

struct Table<'a> {
    choices: &'a [RoleChoice],
    left: &'a [&'a Column],
}

impl Table<'_> {
    fn unused(&self, column: &Column) -> UnusedColumn {
        if let Some(what) = column.field.metadata().get(NOT_READ) {
            let why = "its values are not read".to_owned();
            return UnusedColumn { name: column.name(), shape: what.clone(), why, line: None };
        }
        let (why, line) = self.judged(column);
        UnusedColumn { name: column.name(), shape: column.shape().words(), why, line }
    }

    /// The columns of a role, in words; none where nothing plays it.
    fn player(&self, role: Role) -> Option<String> {
        let choice = self.choices.iter().find(|choice| choice.role == role)?;
        match choice.columns.as_slice() {
            [] => None,
            [one] => Some(format!("\"{one}\"")),
            [first, rest @ ..] => Some(format!("\"{first}\" and {} more", rest.len())),
        }
    }

    fn judged(&self, column: &Column) -> (String, Option<ProfileLine>) {
        let name = column.name();
        let one = |key, why: String| (why, Some(ProfileLine::One(key, name.clone())));
        let shape = column.shape();
        if is_camera(&name) {
            return of_camera(column, &shape);
        }
        match shape {
            Shape::Other(_) => ("no role reads this type".to_owned(), None),
            Shape::Time { .. } => one("time", self.instead(Role::Time, "a time")),
            // Any text that is declared a label groups the episodes of a report.
            Shape::Text if self.player(Role::Task).is_some() => {
                let why = self.instead(Role::Task, "a text");
                (why, Some(ProfileLine::List("labels", vec![name])))
            }
            Shape::Text => one("task", self.instead(Role::Task, "a text")),
            Shape::List { .. } | Shape::Struct { .. } => {
                let both = self.other_arm(&name).unwrap_or_else(|| vec![name.clone()]);
                self.of_vector(&name, both)
            }
            Shape::Number(_) if time_fit(&name).is_some() => {
                one("time", self.instead(Role::Time, "a time"))
            }
            Shape::Number(number) if number.is_integer() && id_fit(&name, EPISODE).is_some() => {
                one("episode", self.instead(Role::Episode, "an id"))
            }
            Shape::Number(number) if number.is_integer() && id_fit(&name, TASK).is_some() => {
                one("task", self.instead(Role::Task, "an id"))
            }
            Shape::Number(number) if number.is_integer() && id_fit(&name, FRAME).is_some() => {
                ("a counter: frames are counted by their rows".to_owned(), None)
            }
            Shape::Number(_) => self.of_number(&name),
        }
    }

    /// Why a column of the right kind has not the role that its kind suggests.
    fn instead(&self, role: Role, what: &str) -> String {
        match self.player(role) {
            Some(other) => format!("{what}, and {role} is {other}"),
            None => format!("{what}, and its name does not say {role}"),
        }
    }

    /// The vectors of both arms, the left one first, where the name is that of one of them.
    fn other_arm(&self, name: &str) -> Option<Vec<String>> {
        let (arm, rest) = side(name)?;
        let vector = |c: &&&Column| matches!(c.shape(), Shape::List { .. } | Shape::Struct { .. });
        let names = self.left.iter().filter(vector).map(|column| column.name());
        let is_other = |name: &String| {
            side(name).is_some_and(|(other, other_rest)| other != arm && other_rest == rest)
        };
        let mut others = names.filter(is_other);
        let (Some(other), None) = (others.next(), others.next()) else { return None };
        let mut both = vec![name.to_owned(), other];
        both.sort_by_key(|name| side(name).map(|(arm, _)| arm));
        Some(both)
    }

    /// A vector, or numbers that make one together: `shown` is how a profile names it.
    fn of_vector(&self, name: &str, shown: Vec<String>) -> (String, Option<ProfileLine>) {
        let list = |key, why: String| (why, Some(ProfileLine::List(key, shown)));
        if let Some(kind) = kind_of(name) {
            let role = Role::Extra(kind);
            let choice = self.choices.iter().find(|choice| choice.role == role);
            let why = match choice {
                Some(choice) if choice.columns.is_empty() => choice.why.clone(),
                _ => self.instead(role, "numbers"),
            };
            return list(kind.word(), why);
        }
        let role = match (action_fit(name).is_some(), state_fit(name).is_some()) {
            (true, _) => Role::Action,
            (false, false) if self.player(Role::Action).is_none() => Role::Action,
            (false, _) => Role::State,
        };
        let fits = action_fit(name).is_some() || state_fit(name).is_some();
        let why = match self.player(role) {
            Some(other) if fits => format!("{other} fits {role} better"),
            Some(other) => format!("its name says no role, and {role} is {other}"),
            None => "its name says no role".to_owned(),
        };
        list(role.word(), why)
    }

    /// A number: with others of its kind it may be a vector of one column a joint.
    fn of_number(&self, name: &str) -> (String, Option<ProfileLine>) {
        let alike = pattern(name).filter(|pattern| {
            let number = |c: &&&Column| matches!(c.shape(), Shape::Number(_));
            let members = self.left.iter().filter(number).filter(|c| matches(pattern, &c.name()));
            members.count() > 1
        });
        if let Some(pattern) = alike {
            return self.of_vector(name, vec![pattern]);
        }
        if kind_of(name) == Some(Extra::Voltage) {
            let why = self.instead(Role::Extra(Extra::Voltage), "a number");
            return (why, Some(ProfileLine::List("voltage", vec![name.to_owned()])));
        }
        ("a single number, and the joints need a value each".to_owned(), None)
    }
}

fn of_camera(column: &Column, shape: &Shape) -> (String, Option<ProfileLine>) {
    let key = match shape {
        Shape::Number(number) if number.is_integer() => "index",
        Shape::Time { .. } | Shape::Number(_) => "stamp",
        _ => return ("images are not read, only their numbers and stamps".to_owned(), None),
    };
    let column = column.name();
    let camera = ProfileLine::Camera { name: column.replace('.', "_"), key, column };
    ("of a camera, and its name says neither number nor stamp".to_owned(), Some(camera))
}

/// How the columns that only differ in the last word or number of this name would be declared.
fn pattern(name: &str) -> Option<String> {
    let digits = name.bytes().rev().take_while(u8::is_ascii_digit).count();
    let front = if digits > 0 { name.len() - digits } else { words(name).last()?.start };
    (front > 0).then(|| format!("{}*", &name[..front]))
}

#[cfg(test)]
mod tests;
