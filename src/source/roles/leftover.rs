//! Columns without a role: why, and which line of a profile would give them one.

use crate::model::Extra;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::camera_roles::is_camera;
use crate::source::roles::groups::matches;
use crate::source::roles::sensors::kind_of;
use crate::source::roles::shape::{Column, Shape};
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
            return self.of_camera(column, &shape);
        }
        match shape {
            Shape::Other(_) => ("no role reads this type".to_owned(), None),
            Shape::Time { .. } => one("time", self.instead(Role::Time, "a time")),
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
            (false, true) => Role::State,
            (false, false) if self.player(Role::Action).is_none() => Role::Action,
            (false, false) => Role::State,
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
        match alike {
            Some(pattern) => self.of_vector(name, vec![pattern]),
            None => {
                let kind = kind_of(name);
                let why = if kind == Some(Extra::Voltage) {
                    self.instead(Role::Extra(Extra::Voltage), "a number")
                } else {
                    "a single number, and the joints need a value each".to_owned()
                };
                let list = |kind: Extra| ProfileLine::List(kind.word(), vec![name.to_owned()]);
                (why, kind.filter(|kind| *kind == Extra::Voltage).map(list))
            }
        }
    }

    fn of_camera(&self, column: &Column, shape: &Shape) -> (String, Option<ProfileLine>) {
        let key = match shape {
            Shape::Time { .. } => "stamp",
            Shape::Number(number) if number.is_integer() => "index",
            Shape::Number(_) => "stamp",
            _ => return ("images are not read, only their numbers and stamps".to_owned(), None),
        };
        let column = column.name();
        let camera = ProfileLine::Camera { name: column.replace('.', "_"), key, column };
        ("of a camera, and its name says neither number nor stamp".to_owned(), Some(camera))
    }
}

/// How the columns that only differ in the last word or number of this name would be declared.
fn pattern(name: &str) -> Option<String> {
    let digits = name.bytes().rev().take_while(u8::is_ascii_digit).count();
    let front = if digits > 0 { name.len() - digits } else { words(name).last()?.start };
    (front > 0).then(|| format!("{}*", &name[..front]))
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use arrow::datatypes::{DataType, Field, Schema};

    use super::*;
    use crate::source::declared::Declared;
    use crate::source::roles::decide::decide;
    use crate::source::roles::shape::columns;

    fn list(name: &str) -> Field {
        let item = Arc::new(Field::new("item", DataType::Float32, true));
        Field::new(name, DataType::FixedSizeList(item, 6), true)
    }

    fn of(fields: Vec<Field>) -> Vec<(String, String, Option<ProfileLine>)> {
        let own = [list("follower"), Field::new("time", DataType::Float64, true)];
        let schema = Schema::new(own.into_iter().chain(fields).collect::<Vec<_>>());
        let decided = decide("a.parquet".as_ref(), &schema, &Declared::default());
        let Ok((_, choices)) = decided else { panic!("{decided:?}") };
        let unused = leftover(&columns(&schema), &choices, &[]);
        unused.into_iter().map(|one| (one.name, one.why, one.line)).collect()
    }

    fn number(name: &str) -> Field {
        Field::new(name, DataType::Float64, true)
    }

    #[test]
    fn every_column_without_a_role_gets_a_reason_and_a_line() {
        let one = |key, name: &str| Some(ProfileLine::One(key, name.to_owned()));
        let many = |key, name: &str| Some(ProfileLine::List(key, vec![name.to_owned()]));
        for (field, why, line) in [
            (list("glove"), "its name says no role", many("action", "glove")),
            (list("joint_speed"), "numbers", many("velocity", "joint_speed")),
            (list("position"), "\"follower\" fits state better", many("state", "position")),
            (Field::new("note", DataType::Utf8, true), "a text", one("task", "note")),
            (number("stamp_ms"), "time is \"time\"", one("time", "stamp_ms")),
            (Field::new("photo", DataType::Binary, true), "no role reads this type", None),
            (Field::new("done", DataType::Boolean, true), "no role reads this type", None),
            (number("reward"), "a single number", None),
        ] {
            let found = of(vec![field.clone()]);
            let [(name, said, proposed)] = found.as_slice() else { panic!("{field}: {found:?}") };
            assert_eq!(name, field.name());
            assert!(said.contains(why), "{field}: {said}");
            assert_eq!(*proposed, line, "{field}");
        }
    }

    #[test]
    fn numbers_that_belong_together_get_one_pattern() {
        let found = of(vec![number("glove_1"), number("glove_2"), number("mood")]);
        let action = Some(ProfileLine::List("action", vec!["glove_*".to_owned()]));
        assert_eq!([&found[0].2, &found[1].2, &found[2].2], [&action, &action, &None]);
    }

    #[test]
    fn both_arms_are_proposed_together() {
        let found = of(vec![list("act_right"), list("act_left")]);
        let both = Some(ProfileLine::List("action", vec!["act_left".into(), "act_right".into()]));
        assert_eq!([&found[0].2, &found[1].2], [&both, &both]);
    }

    #[test]
    fn a_struct_that_is_used_by_a_field_is_used() {
        let fields = vec![number("waist"), number("elbow")];
        let arm = Field::new("arm", DataType::Struct(fields.into()), true);
        let schema = Schema::new(vec![arm, number("time")]);
        let declared = Declared { state: vec!["arm.waist".to_owned()], ..Declared::default() };
        let Ok((_, choices)) = decide("a.parquet".as_ref(), &schema, &declared) else {
            panic!("a field is a column")
        };
        assert!(leftover(&columns(&schema), &choices, &[]).is_empty());
    }
}
