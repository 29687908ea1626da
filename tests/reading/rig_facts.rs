//! What the rig is known to be able to do: limits from a URDF, angles of normalised values.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{ArrayRef, Float32Array};
use arrow::record_batch::RecordBatch;
use teleassay::model::AngleUnit;
use teleassay::source::{Dataset, Declared, DeclaredJoint, Source, SourceError};

use super::support::{Layout, Outcome, open_declared, parquet, read, recording, refusal, rows};

fn urdf() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/urdf/nursery-arm.urdf")
}

/// A table with follower joints of these names.
fn named(path: &Path, names: &[&str]) -> Outcome {
    let mut columns = recording(&rows(&[40]), Layout::Scalars);
    columns.truncate(1);
    for name in names {
        let values: ArrayRef =
            Arc::new(Float32Array::from_iter_values((0..40).map(|i| (i as f32 * 0.1).sin())));
        columns.push((format!("follower_{name}"), values));
    }
    parquet(path, &RecordBatch::try_from_iter(columns)?, 1000)
}

fn with_urdf(path: &Path, urdf: &Path, joints: Vec<DeclaredJoint>) -> Result<Dataset, SourceError> {
    open_declared(path, &Declared { urdf: Some(urdf.to_owned()), joints, ..Declared::default() })
}

#[test]
fn a_urdf_gives_the_limits_that_nobody_declared() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    named(&path, &["waist", "elbow", "lift", "spin", "jaw"])?;
    let dataset = with_urdf(&path, &urdf(), Vec::new())?;
    let rig = dataset.rig();
    let joint = |n: usize| &rig.joints[n];
    // As written in the file: radians, metres, seconds; 0 and 0 are unset.
    assert_eq!((joint(0).lower, joint(0).upper), (Some(-2.0), Some(2.25)));
    assert_eq!((joint(0).max_speed, joint(0).max_effort), (Some(5.5), Some(12.5)));
    assert_eq!((joint(1).lower, joint(1).upper, joint(1).max_effort), (None, None, None));
    assert_eq!(joint(1).max_speed, Some(4.0));
    assert!(joint(2).linear && joint(2).upper == Some(0.35));
    assert_eq!((joint(3).lower, joint(3).max_speed), (None, Some(7.0)));
    assert!(rig.notices[0].ends_with("waist, elbow, lift, spin"), "{:?}", rig.notices);
    assert!(rig.notices[1].ends_with("no joint of this name: jaw"), "{:?}", rig.notices);
    Ok(())
}

#[test]
fn the_profile_outranks_the_urdf() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    named(&path, &["a", "b"])?;
    let said = |name: &str| DeclaredJoint { name: name.to_owned(), ..DeclaredJoint::default() };
    let waist = DeclaredJoint { upper: Some(1.0), max_speed: Some(3.0), ..said("waist") };
    let lift = DeclaredJoint { upper: Some(0.8), ..said("lift") };
    let dataset = with_urdf(&path, &urdf(), vec![waist, lift])?;
    let rig = dataset.rig();
    let joint = &rig.joints[0];
    assert_eq!((joint.lower, joint.upper), (Some(-2.0), Some(1.0)));
    assert_eq!((joint.max_speed, joint.max_effort), (Some(3.0), Some(12.5)));
    // An angle declared for what the URDF calls a slide: the angle stands, and it is said.
    assert_eq!(
        (rig.joints[1].lower, rig.joints[1].upper, rig.joints[1].linear),
        (None, Some(0.8), false)
    );
    assert!(rig.notices.iter().any(|n| n.contains("calls these linear") && n.ends_with("lift")));
    Ok(())
}

#[test]
fn a_urdf_that_cannot_be_used_says_why_and_the_way_out() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    named(&path, &["waist", "elbow"])?;
    let write = |text: &str| {
        let file = folder.path().join("arm.urdf");
        std::fs::write(&file, text).map(|()| file)
    };
    let said = |file: &Path| refusal(with_urdf(&path, file, Vec::new()));
    let missing = said(&folder.path().join("gone.urdf"));
    assert!(missing.contains("gone.urdf: no such file; check the spelling"), "{missing}");
    let text = said(&write("waist = 1.0\n")?);
    assert!(text.contains("arm.urdf: cannot be read as URDF") && text.contains("XML"), "{text}");
    let other = std::fs::read_to_string(urdf())?.replace("Waist", "hip").replace("elbow", "knee");
    let text = said(&write(&other)?);
    assert!(text.contains("hip, knee, lift, spin") && text.contains("waist, elbow"), "{text}");
    assert!(text.ends_with("[[rig.joints]]"), "{text}");
    let turned = std::fs::read_to_string(urdf())?.replace("upper=\"2.25\"", "upper=\"-2.25\"");
    let text = said(&write(&turned)?);
    assert!(text.contains("joint \"Waist\"") && text.contains("upper -2.25"), "{text}");
    let bare = std::fs::read_to_string(urdf())?.replace(" velocity=\"4.0\"", "");
    let text = said(&write(&bare)?);
    assert!(text.contains("missing field `velocity`; give each <limit>"), "{text}");
    let fixed = "<robot name=\"r\"><link name=\"a\"/></robot>";
    assert!(said(&write(fixed)?).contains("no joint that moves"));
    Ok(())
}

#[test]
fn normalised_values_become_angles_by_what_is_declared() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("0.parquet");
    let mut all = rows(&[40]);
    for (n, row) in all.iter_mut().enumerate() {
        row.state = [-100.0 + 5.0 * n as f32, 50.0, 25.0];
        row.action = row.state;
    }
    parquet(&path, &RecordBatch::try_from_iter(recording(&all, Layout::Scalars))?, 1000)?;
    let said = |name: &str| DeclaredJoint { name: name.to_owned(), ..DeclaredJoint::default() };
    let waist = DeclaredJoint { lower: Some(-1.0), upper: Some(3.0), ..said("waist") };
    let jaw = DeclaredJoint {
        lower: Some(0.0),
        upper: Some(2.0),
        range: Some((0.0, 100.0)),
        ..said("jaw")
    };
    let declared = Declared {
        unit: Some(AngleUnit::Normalized { low: -100.0, high: 100.0 }),
        joints: vec![waist, said("elbow"), jaw],
        ..Declared::default()
    };
    let dataset = open_declared(&path, &declared)?;
    let seen = &read(&dataset).0[0];
    let close = |joint: usize, frame: usize, wanted: f32| {
        let read = seen.state_at(joint, frame);
        assert!((read - wanted).abs() < 1e-5, "joint {joint}: {read} for {wanted}");
    };
    close(0, 0, -1.0);
    close(0, 20, 1.0);
    // Half of half a turn's upper half; a quarter of the jaw's own range.
    close(1, 5, std::f32::consts::FRAC_PI_4);
    close(2, 5, 0.5);
    let waist = dataset.rig().joints[0].observed;
    assert!(waist.is_some_and(|(low, _)| (low + 1.0).abs() < 1e-9), "{waist:?}");
    assert!(dataset.rig().notices[0].ends_with(": elbow"), "{:?}", dataset.rig().notices);
    Ok(())
}
