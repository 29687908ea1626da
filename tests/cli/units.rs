//! Units in profiles and options.

use std::error::Error;

use serde_json::Value;
use tempfile::TempDir;

use crate::support::binary::{Tested, run, said, scorecard};
use crate::support::card::list;
use teleassay::catalogue;
use teleassay::judge::Limits;
use teleassay::model::Unit;
use teleassay::model::quantity;
use teleassay::profile::{Profile, ProfileError};

fn parse(text: &str) -> Result<Profile, ProfileError> {
    let checks: Vec<_> = catalogue::specs().collect();
    Profile::parse(text, "teleassay.toml", &checks)
}

/// The number of a limit or parameter in force, by its check and id.
fn limit(profile: &Profile, check: &str, metric: &str) -> Option<(Option<f64>, Option<f64>)> {
    let check = catalogue::specs().find(|spec| spec.id == check)?;
    let metric = check.metrics.iter().find(|known| known.id == metric)?;
    let limit = profile.limits.get(check, metric);
    Some((limit.warn, limit.fail))
}

#[test]
fn five_degrees_are_five_degrees() -> Result<(), ProfileError> {
    let text = "[limits.neutral-offset]\noffset = { warn = \"3 deg\", fail = \"5 deg\" }\n\
                [limits.tracking-lag]\nlag = { warn = \"0.1 s\", fail = \"150 ms\" }\n\
                [limits.dropped-frames]\ndropped_share = { warn = \"0.5 %\", fail = \"2 %\" }\n\
                [params.tracking-lag]\nsearch_s = \"800 ms\"\n";
    let profile = parse(text)?;
    assert_eq!(profile.warnings, Vec::<String>::new());
    let (warn, fail) = limit(&profile, "neutral-offset", "offset").unwrap_or_default();
    assert!((fail.unwrap_or(f64::NAN) - 0.0873).abs() < 5e-5, "{fail:?}");
    assert_eq!(warn, Some(3f64.to_radians()));
    assert_eq!(limit(&profile, "tracking-lag", "lag"), Some((Some(0.1), Some(0.15))));
    assert_eq!(limit(&profile, "dropped-frames", "dropped_share"), Some((Some(0.005), Some(0.02))));
    let written = profile.to_toml(&catalogue::specs().collect::<Vec<_>>());
    for line in ["fail = \"5 deg\"", "fail = \"150 ms\"", "fail = \"2 %\"", "search_s = \"800 ms\""]
    {
        assert!(written.lines().any(|l| l == line), "{line}: {written}");
    }
    assert_eq!(parse(&written)?, profile);
    Ok(())
}

#[test]
fn limits_of_joints_take_units_and_keep_to_the_kind_of_joint() -> Result<(), ProfileError> {
    let text = "[rig]\nunit = \"counts\"\ncounts_per_turn = 4096\n[[rig.joints]]\nname = \"waist\"\n\
                lower = \"-90 deg\"\nupper = 1024\nmax_speed = \"30 rpm\"\n[[rig.joints]]\n\
                name = \"lift\"\nlinear = true\nlower = 0\nupper = \"350 mm\"\n";
    let profile = parse(text)?;
    let [waist, lift] = profile.declared.joints.as_slice() else { panic!("two joints") };
    assert_eq!(waist.lower, Some(-std::f64::consts::FRAC_PI_2));
    assert!((waist.upper.unwrap_or(f64::NAN) - std::f64::consts::FRAC_PI_2).abs() < 1e-12);
    assert!((waist.max_speed.unwrap_or(f64::NAN) - std::f64::consts::PI).abs() < 1e-12);
    assert_eq!(lift.upper, Some(0.35));
    assert_eq!(parse(&profile.to_toml(&[]))?, profile);
    for (joint, what) in [
        ("lower = \"3 mm\"", "is of a linear joint"),
        ("lower = \"3 deg\"\nlinear = true", "is of a joint that turns"),
        ("max_speed = \"3 deg\"", "an angular speed is wanted"),
        ("lower = \"3 s\"", "is a time"),
        (
            "lower = \"5 deg\"\nupper = \"3 deg\"",
            "lower = \"5 deg\" is not below upper = \"3 deg\"",
        ),
    ] {
        let Err(error) = parse(&format!("[[rig.joints]]\nname = \"a\"\n{joint}\n")) else {
            panic!("accepted: {joint}")
        };
        assert!(error.to_string().contains(what), "{joint}: {error}");
    }
    Ok(())
}

#[test]
fn what_does_not_fit_names_file_line_and_key_and_what_does() {
    for (text, line, what, hint) in [
        (
            "[limits.neutral-offset]\n\noffset = { fail = \"5 ms\" }\n",
            3,
            "[limits.neutral-offset] offset fail: \"5 ms\" is a time, and an angle is wanted",
            "such as \"5 deg\"",
        ),
        (
            "[params.tracking-lag]\nsearch_s = \"2 deg\"\n",
            2,
            "[params.tracking-lag] search_s: \"2 deg\" is an angle, and a time is wanted",
            "such as \"150 ms\"",
        ),
        ("[limits.tracking-lag]\nlag = { fail = \"2 parsec\" }\n", 2, "no unit \"parsec\"", "ms"),
        (
            "[limits.neutral-offset]\noffset = { warn = 5 }\n",
            2,
            "lies beyond fail = 5 deg",
            "5 rad is 286 deg; for degrees write \"5 deg\"",
        ),
        ("[limits.tracking-lag]\nlag = { fail = true }\n", 2, "invalid type", "with its unit"),
        ("[limits.tracking-lag]\nlag = { fail = \"0,3 s\" }\n", 2, "not a number", "\"0.3 s\""),
    ] {
        let Err(error) = parse(text) else { panic!("accepted: {text}") };
        let said = error.to_string();
        let place = format!("profile teleassay.toml, line {line}: ");
        assert!(said.starts_with(&place) && said.contains(what), "{text}\n{said}");
        assert!(error.hint().unwrap_or_default().contains(hint), "{text}\n{:?}", error.hint());
    }
}

#[test]
fn every_default_has_a_short_unit_that_reads_back() {
    let mut angles = 0;
    for check in catalogue::specs() {
        let limits = check.metrics.iter().flat_map(|metric| {
            let limit = Limits::default().get(check, metric);
            limit.warn.into_iter().chain(limit.fail).map(|value| (metric.unit, value))
        });
        let params = check.params.iter().map(|param| (param.unit, param.default));
        for (unit, value) in limits.chain(params) {
            let text = quantity::written(value, unit);
            let back = quantity::read(&text, unit).map(|quantity| quantity.value);
            assert_eq!(back.ok(), Some(value), "{}: {text}", check.id);
            assert!(text.len() <= 12, "{}: {text}", check.id);
            if unit == Unit::Radian {
                assert!(text.ends_with(" deg") || value < 1e-6, "{}: {text}", check.id);
                angles += 1;
            }
        }
    }
    assert!(angles > 10, "{angles}");
}

fn demo() -> Result<(TempDir, String), Box<dyn Error>> {
    let dir = tempfile::tempdir()?;
    let place = dir.path().join("session").to_string_lossy().into_owned();
    assert_eq!(run(&["demo", &place, "--episodes", "6"])?.status.code(), Some(0));
    Ok((dir, place))
}

#[test]
fn a_bare_number_that_is_unlikely_warns_once_on_standard_error() -> Tested {
    let (dir, place) = demo()?;
    let profile = dir.path().join("own.toml").to_string_lossy().into_owned();
    let text = "[limits.neutral-offset]\noffset = { warn = 5, fail = 6 }\n\
                [limits.tracking-lag]\nlag = { fail = 300 }\n\
                [limits.dropped-frames]\ndropped_share = { fail = 5 }\n\
                [limits.backlash]\nplay = { warn = \"3 mm\", fail = \"4 mm\" }\n";
    std::fs::write(&profile, text)?;
    let output = run(&["audit", &place, "--profile", &profile])?;
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", said(&output));
    let warned = said(&output);
    for line in [
        "line 2: [limits.neutral-offset] offset warn = 5: 5 rad is 286 deg; for degrees write \"5 deg\"",
        "line 4: [limits.tracking-lag] lag fail = 300: 300 s is 5.0 minutes; for milliseconds write \"300 ms\"",
        "line 6: [limits.dropped-frames] dropped_share fail = 5: 5 is 500 %; for percent write \"5 %\"",
        "line 8: [limits.backlash] play warn = \"3 mm\": one number holds for all joints",
    ] {
        assert!(warned.contains(line), "{line}\nis not in\n{warned}");
    }
    assert_eq!(warned.matches("warning: ").count(), 6, "{warned}");
    assert_eq!(said(&run(&["audit", &place, "--profile", &profile, "--quiet"])?), "");
    // What is written from it carries units, and warns no more of bare numbers.
    let shown = run(&["audit", &place, "--profile", &profile, "--show-profile"])?;
    let text = String::from_utf8(shown.stdout)?;
    let again = dir.path().join("again.toml").to_string_lossy().into_owned();
    std::fs::write(&again, &text)?;
    let output = run(&["audit", &place, "--profile", &again])?;
    assert_eq!(said(&output), "", "{text}");
    let of = |profile: &str| scorecard(&[place.as_str(), "--profile", profile]);
    let (before, after): (Value, Value) = (of(&profile)?, of(&again)?);
    assert_eq!(list(&before["session"], "findings"), list(&after["session"], "findings"));
    Ok(())
}

#[test]
fn the_manual_prints_limits_with_their_units() -> Tested {
    let output = run(&["explain", "neutral-offset"])?;
    let text = String::from_utf8(output.stdout)?;
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("warn above 2 deg, fail above 5 deg"), "{text}");
    let output = run(&["explain", "tracking-lag"])?;
    let text = String::from_utf8(output.stdout)?;
    assert!(text.contains("150 ms") && text.contains("search_s = 1 s:"), "{text}");
    Ok(())
}

#[test]
fn options_take_units() -> Tested {
    let (_dir, place) = demo()?;
    let plain = run(&["trace", &place, "--episode", "1", "--from", "1.5", "--to", "2", "--plain"])?;
    let units =
        run(&["trace", &place, "--episode", "1", "--from", "1500 ms", "--to", "2 s", "--plain"])?;
    assert_eq!(plain.status.code(), Some(0), "{}", said(&plain));
    assert_eq!(plain.stdout, units.stdout);
    let card = scorecard(&[&place, "--rate", "30 Hz"])?;
    assert_eq!(card["rig"]["rate_hz"].as_f64(), Some(30.0));
    Ok(())
}
