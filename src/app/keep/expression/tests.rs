use super::*;

fn shown(expression: &Expression<Written>) -> String {
    match expression {
        Expression::Compare(one) => {
            format!("{} {:?} {}", one.name, one.operator, one.values.join("|"))
        }
        Expression::Not(inner) => format!("not [{}]", shown(inner)),
        Expression::And(parts) => {
            format!("({})", parts.iter().map(shown).collect::<Vec<_>>().join(" and "))
        }
        Expression::Or(parts) => {
            format!("({})", parts.iter().map(shown).collect::<Vec<_>>().join(" or "))
        }
    }
}

#[test]
fn conditions_are_read_as_they_are_written() {
    for (text, wanted) in [
        ("duration_s>=2", "duration_s AtLeast 2"),
        ("duration_s >= 2 and verdict != fail", "(duration_s AtLeast 2 and verdict Unequal fail)"),
        ("a = 1 or b = 2 and c = 3", "(a Equal 1 or (b Equal 2 and c Equal 3))"),
        ("(a = 1 or b = 2) and not c < 3", "((a Equal 1 or b Equal 2) and not [c Below 3])"),
        ("lag <= 150 ms AND x > 2 %", "(lag AtMost 150 ms and x Above 2 %)"),
        ("lag<150ms", "lag Below 150ms"),
        ("episode in (1, '2 b', 2024-05-01)", "episode In 1|2 b|2024-05-01"),
        ("`tracking-lag/lag/left elbow` > -5 deg", "tracking-lag/lag/left elbow Above -5 deg"),
        ("task contains \"and or\"", "task Contains and or"),
        ("not not a == 1e-3", "not [not [a Equal 1e-3]]"),
    ] {
        assert_eq!(parse(text).map(|found| shown(&found)), Ok(wanted.to_owned()), "{text}");
    }
}

#[test]
fn what_is_no_condition_is_named() {
    for (text, wanted) in [
        ("", "ends where the name"),
        ("a", "ends where a comparison"),
        ("a =", "ends where a value"),
        ("a == x b", "too many"),
        ("a => 1", "is no comparison"),
        ("a ~ 1", "is no comparison"),
        ("(a = 1", "ends where \")\""),
        ("a = \"x", "not closed"),
        ("a in 1", "stand in brackets"),
        ("a in (1 2, b c)", "between values"),
        ("= 1", "name of a column"),
        ("a = )", "a value is expected"),
        (&"(".repeat(100), "too deep"),
    ] {
        let what = parse(text).map_or_else(|error| error.what, |found| shown(&found));
        assert!(what.contains(wanted), "{text}: {what}");
    }
}

/// Of three values (Kleene 1938, from memory): what is not known decides nothing.
#[test]
fn what_is_not_known_is_neither_true_nor_false() -> Result<(), Unclear> {
    let met = |text: &str| -> Result<Option<bool>, Unclear> {
        Ok(parse(text)?.met(&|one| match one.name.as_str() {
            "t" => Some(true),
            "f" => Some(false),
            _ => None,
        }))
    };
    for (text, wanted) in [
        ("u = 1", None),
        ("not u = 1", None),
        ("u = 1 and t = 1", None),
        ("u = 1 and f = 1", Some(false)),
        ("u = 1 or t = 1", Some(true)),
        ("u = 1 or f = 1", None),
        ("not (f = 1 or t = 1)", Some(false)),
    ] {
        assert_eq!(met(text)?, wanted, "{text}");
    }
    Ok(())
}
