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
fn a_text_next_to_the_task_may_be_a_label() {
    let text = |name: &str| Field::new(name, DataType::Utf8, true);
    let found = of(vec![text("task"), text("operator")]);
    let label = Some(ProfileLine::List("labels", vec!["operator".to_owned()]));
    assert_eq!(found.iter().map(|one| &one.2).collect::<Vec<_>>(), [&label]);
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
