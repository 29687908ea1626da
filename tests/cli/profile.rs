//! Profiles: what they say, what they refuse, and that they survive being written.

use std::error::Error;
use std::fs;

use teleassay::model::{AngleUnit, Limit};
use teleassay::profile::{FILE_NAME, Profile, ProfileError};
use teleassay::source::TimeUnit;

use super::outcome::{rig, roles};
use super::snapshot;
use super::specs::{ALL, DROPPED, GAP, LAG, SEARCH, SHARE};

const FULL: &str = r#"
[columns]
episode = "run"
time = "stamp"
time_unit = "ms"
state = ["meas_*"]
action = ["cmd_*"]
task = "task"
[rig]
rate_hz = 30
unit = "counts"
counts_per_turn = 4096
[[rig.joints]]
name = "waist"
lower = -1.9
upper = 1.9
max_speed = 5.5
[[rig.joints]]
name = "lift"
linear = true
[[rig.joints]]
name = "jaw"
gripper = true
[checks]
skip = ["duration"]
[limits.dropped-frames]
dropped_share = { warn = 0.01, fail = 0.05 }
longest_gap = { fail = inf }
[params.tracking-lag]
search_s = 1.0
"#;

fn parse(text: &str) -> Result<Profile, ProfileError> {
    Profile::parse(text, "teleassay.toml", &ALL)
}

#[test]
fn everything_a_profile_can_say_is_heard() -> Result<(), ProfileError> {
    let profile = parse(FULL)?;
    let declared = &profile.declared;
    assert_eq!(declared.time_unit, Some(TimeUnit::Milli));
    assert_eq!(declared.unit, Some(AngleUnit::Counts { per_turn: 4096.0 }));
    assert_eq!(declared.state, ["meas_*"]);
    assert_eq!(declared.joints.len(), 3);
    assert_eq!(declared.joints[2].gripper, Some(true));
    assert!(declared.joints[1].linear);
    assert_eq!(profile.skip, ["duration"]);
    let share = Limit::new(Some(0.01), Some(0.05));
    assert_eq!(profile.limits.get(&DROPPED, &SHARE), share);
    // What is not said stays as declared; inf means never.
    let gap = Limit::new(Some(0.1), None);
    assert_eq!(profile.limits.get(&DROPPED, &GAP), gap);
    assert_eq!(profile.params.get(&LAG, &SEARCH), 1.0);
    Ok(())
}

#[test]
fn a_normalised_rig_keeps_its_limits_in_degrees_and_its_urdf_next_to_it() -> Result<(), ProfileError>
{
    let text = "[rig]\nunit = \"normalized\"\nnormalized = [-100.0, 100.0]\n\
                limit_unit = \"deg\"\nurdf = \"arm.urdf\"\n[[rig.joints]]\nname = \"waist\"\n\
                lower = -90.0\nupper = 90.0\narm = \"left\"\n[[rig.joints]]\nname = \"jaw\"\n\
                range = [0.0, 100.0]\n";
    let profile = Profile::parse(text, "rig/teleassay.toml", &ALL)?;
    let declared = &profile.declared;
    assert_eq!(declared.unit, Some(AngleUnit::Normalized { low: -100.0, high: 100.0 }));
    assert_eq!(declared.joints[0].upper, Some(std::f64::consts::FRAC_PI_2));
    assert_eq!(declared.joints[0].arm.as_deref(), Some("left"));
    assert_eq!(declared.joints[1].range, Some((0.0, 100.0)));
    assert_eq!(declared.urdf.as_deref(), Some(std::path::Path::new("rig/arm.urdf")));
    assert_eq!(parse(&profile.to_toml(&ALL))?, profile);
    Ok(())
}

fn rig_text(unit: &str) -> String {
    format!(
        "[rig]\n{unit}[[rig.joints]]\nname = \"waist\"\nlower = -125\nupper = 125.5\n\
         max_speed = 270\n[[rig.joints]]\nname = \"lift\"\nlower = 0\nupper = 0.35\nlinear = true\n"
    )
}

#[test]
fn limits_are_in_the_unit_that_is_declared() -> Result<(), ProfileError> {
    let degree = std::f64::consts::PI / 180.0;
    let count = std::f64::consts::TAU / 4096.0;
    for (unit, si) in [
        ("", 1.0),
        ("unit = \"rad\"\n", 1.0),
        ("unit = \"deg\"\n", degree),
        ("unit = \"counts\"\ncounts_per_turn = 4096\n", count),
    ] {
        let profile = parse(&rig_text(unit))?;
        let [waist, lift] = profile.declared.joints.as_slice() else { panic!("two joints") };
        assert_eq!(waist.lower, Some(-125.0 * si), "{unit}");
        assert_eq!(waist.upper, Some(125.5 * si), "{unit}");
        assert_eq!(waist.max_speed, Some(270.0 * si), "{unit}");
        assert_eq!((lift.lower, lift.upper), (Some(0.0), Some(0.35)), "{unit}");
        // Written out, they are again the numbers that a person wrote.
        let written = profile.to_toml(&ALL);
        let lines = match unit.split('"').nth(1) {
            Some("deg") => ["lower = \"-125 deg\"", "max_speed = \"270 deg/s\""],
            Some("counts") => ["lower = -125.0", "max_speed = 270.0"],
            _ => ["lower = \"-125 rad\"", "max_speed = \"270 rad/s\""],
        };
        for line in [lines[0], lines[1], "upper = \"0.35 m\""] {
            assert!(written.lines().any(|l| l == line), "{unit}: {line} is not in\n{written}");
        }
        assert_eq!(parse(&written)?, profile, "{unit}");
    }
    Ok(())
}

#[test]
fn the_demos_profile_states_its_own_limits() -> Result<(), Box<dyn Error>> {
    use teleassay::demo::{Recipe, StoredUnit, WriteOptions, write};
    let mut limits = Vec::new();
    for unit in [StoredUnit::Deg, StoredUnit::Rad, StoredUnit::Counts] {
        let dir = tempfile::tempdir()?;
        write(dir.path(), &Recipe { unit, ..Recipe::default() }, &WriteOptions::default())?;
        let profile = Profile::read(&dir.path().join(FILE_NAME), &ALL)?;
        let upper = profile.declared.joints.iter().map(|joint| joint.upper.unwrap_or(f64::NAN));
        limits.push(upper.collect::<Vec<_>>());
    }
    assert!((limits[0][0] - 125f64.to_radians()).abs() < 1e-9, "{limits:?}");
    for other in &limits[1..] {
        assert!(limits[0].iter().zip(other).all(|(x, y)| (x - y).abs() < 1e-5), "{limits:?}");
    }
    Ok(())
}

#[test]
fn a_written_profile_reads_back_the_same() -> Result<(), ProfileError> {
    let profile = parse(FULL)?;
    assert_eq!(parse(&profile.to_toml(&ALL))?, profile);
    Ok(())
}

#[test]
fn what_was_understood_becomes_a_profile() -> Result<(), ProfileError> {
    let text = Profile::understood(&rig(), &roles()).to_toml(&ALL);
    snapshot("profile-understood", &text);
    assert_eq!(parse(&text)?.declared.joints.len(), 6);
    Ok(())
}

#[test]
fn every_slip_names_its_line_and_the_way_out() {
    let cases = [
        ("[rig]\nrate = 30\n", 2, "unknown field `rate`", "expected"),
        ("[columns]\nepisod = \"run\"\n", 2, "unknown field `episod`", "did you mean \"episode\"?"),
        ("\n[limits.droped-frames]\n", 2, "no check \"droped-frames\"", "\"dropped-frames\""),
        (
            "[limits.dropped-frames]\ndroped_share = { warn = 1 }\n",
            2,
            "no measurement \"droped_share\"",
            "\"dropped_share\"",
        ),
        (
            "[limits.dropped-frames]\ndropped_share = { wrn = 1 }\n",
            2,
            "unknown field `wrn`",
            "warn",
        ),
        ("[limits.dropped-frames]\n\ndropped_share = { warn = 1 }\n", 3, "lies beyond", ""),
        ("[limits.duration]\nframes = { warn = 10 }\n", 2, "lies beyond", ""),
        ("[limits.duration]\nmean_speed = { warn = 10 }\n", 2, "never judged", ""),
        ("[params.tracking-lag]\nserch_s = 1\n", 2, "no parameter \"serch_s\"", "\"search_s\""),
        ("[params.tracking-lag]\nsearch_s = -1\n", 2, "not below zero", ""),
        ("[checks]\nskip = [\"weather\"]\n", 2, "no check \"weather\"", "teleassay explain"),
        ("[rig]\nunit = \"normalized\"\n", 2, "needs its range", "[-100.0, 100.0]"),
        ("[rig]\nnormalized = [1.0, -1.0]\n", 2, "the lower one first", "[-100.0, 100.0]"),
        ("[rig]\nlimit_unit = \"counts\"\n", 2, "cannot be written in", "\"deg\""),
        ("[[rig.joints]]\nname = \"a\"\nrange = [0, 1]\n", 1, "normalised values only", "lower"),
        ("[[rig.joints]]\nname = \"a\"\nmax_effort = 0\n", 1, "max_effort must be", ""),
        (
            "[rig]\nunit = \"normalized\"\nnormalized = [-1.0, 1.0]\n[[rig.joints]]\nname = \"a\"\n\
             lower = 1\n",
            4,
            "needs both",
            "leave both out",
        ),
        ("[rig]\nunit = \"counts\"\n", 2, "needs counts_per_turn", "4096"),
        ("[rig]\nunit = \"degrees\"\n", 2, "no unit \"degrees\"", "deg"),
        ("[rig]\nrate_hz = 0\n", 2, "rate_hz must be", ""),
        ("[columns]\ntime_unit = \"min\"\n", 2, "no time unit", "\"ms\""),
        ("[[rig.joints]]\nname = \"a\"\nlower = 1\nupper = 1\n", 1, "not below upper", ""),
        ("[[rig.joints]]\nname = \"a\"\n[[rig.joints]]\nname = \"a\"\n", 3, "two joints", ""),
        ("[rig\n", 1, "", ""),
    ];
    for (text, line, what, hint) in cases {
        let Err(error) = parse(text) else { panic!("accepted: {text}") };
        let said = error.to_string();
        let place = format!("profile teleassay.toml, line {line}: ");
        assert!(said.starts_with(&place) && said.contains(what), "{text}\n{said}");
        let way = error.hint().unwrap_or_default();
        assert!(way.contains(hint), "{text}\n{said}\n{way}");
        assert_eq!(said.lines().count(), 1, "{said}");
    }
}

#[test]
fn a_profile_is_found_next_to_the_data_and_above_it() -> Result<(), Box<dyn Error>> {
    let root = tempfile::tempdir()?;
    let data = root.path().join("day/morning");
    fs::create_dir_all(&data)?;
    fs::write(data.join("part-0.parquet"), "")?;
    let above = root.path().join(FILE_NAME);
    fs::write(&above, "")?;
    let found = |path: &str| Profile::find(&data.join(path)).map(|p| p.canonicalize());
    let expect = Some(above.canonicalize()?);
    for path in ["", "part-0.parquet", "*.parquet"] {
        assert_eq!(found(path).transpose()?, expect, "{path}");
    }
    let next_to = data.join(FILE_NAME);
    fs::write(&next_to, "")?;
    for path in ["", "part-0.parquet", "*.parquet"] {
        assert_eq!(found(path).transpose()?, Some(next_to.canonicalize()?), "{path}");
    }
    Ok(())
}
