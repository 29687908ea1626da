//! Contact and sag are not calibration: of a tool on a table, fingers on an object and a long arm
//! that droops neither ranges nor neutral points are reported. What is one of these is still found.
//!
//! Plain kinematics: moves of minimum jerk (Flash and Hogan 1985) of a hand, and a follower that is
//! a function of where the hand was 60 ms ago. The geometry of contact (a surface, an object) and
//! of sag (the cosine of a link's angle to the horizontal) is elementary statics.

use std::error::Error;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float32Array, Float64Array, Int64Array, RecordBatch};
use teleassay::model::{Outcome, Severity, Verdict};
use teleassay::source::{Dataset, Declared};

use super::generator::Draw;
use crate::support::{measured::audit, tables::parquet};

type Tested = Result<(), Box<dyn Error>>;
type Path = Box<dyn Fn(f64) -> f64>;

const EPISODES: usize = 20;
const SECONDS: f64 = 8.0;
const LATE_S: f64 = 0.06;
/// What calibration and a broken drive are called.
const CALIBRATION: [&str; 5] =
    ["gain-mismatch", "neutral-offset", "tracking-loss", "limit-dwell", "leader-overreach"];

/// From stop to stop: moves of a second or more, rests of 0.4 s between them.
fn moves(stops: &[f64]) -> Path {
    let stops = stops.to_vec();
    let leg_s = (SECONDS - 0.4) / (stops.len() - 1) as f64;
    Box::new(move |t| {
        stops.windows(2).enumerate().fold(stops[0], |at, (leg, ends)| {
            let x = ((t - 0.4 - leg_s * leg as f64) / (leg_s - 0.4)).clamp(0.0, 1.0);
            at + x.powi(3) * (10.0 - 15.0 * x + 6.0 * x * x) * (ends[1] - ends[0])
        })
    })
}

/// A joint: its name, whether it slides, where the hand takes it, and where the follower is by
/// that.
struct Joint {
    name: String,
    linear: bool,
    hand: Box<dyn Fn(&mut Draw) -> Path>,
    follower: Box<dyn Fn(usize, f64) -> f64>,
}

/// There and back between two ends, never to the same place twice.
fn between(low: f64, high: f64) -> Box<dyn Fn(&mut Draw) -> Path> {
    Box::new(move |draw| {
        let third = (high - low) / 3.0;
        let stops: Vec<f64> = (0..5)
            .map(|n| if n % 2 == 0 { low } else { high - third } + draw.between(0.0, third))
            .collect();
        moves(&stops)
    })
}

impl Joint {
    fn new(
        name: &str,
        hand: Box<dyn Fn(&mut Draw) -> Path>,
        follower: impl Fn(usize, f64) -> f64 + 'static,
    ) -> Self {
        Self { name: name.to_owned(), linear: false, hand, follower: Box::new(follower) }
    }

    /// An arm's joint that turns by some 80 degrees.
    fn arm(name: &str, follower: impl Fn(usize, f64) -> f64 + 'static) -> Self {
        Self::new(name, between(-0.7, 0.7), follower)
    }
}

/// Twenty episodes of a rig, audited with all checks.
fn session(seed: u64, rate_hz: f64, joints: &[Joint]) -> Result<Outcome, Box<dyn Error>> {
    let mut draw = Draw(seed);
    let (mut number, mut time_s) = (Vec::new(), Vec::new());
    let mut sides = [vec![Vec::new(); joints.len()], vec![Vec::new(); joints.len()]];
    for episode in 0..EPISODES {
        let pace = draw.between(0.92, 1.08);
        let rows = (SECONDS / pace * rate_hz) as usize;
        let taken: Vec<f64> =
            (0..rows).map(|row| (row as f64 + 0.01 * draw.normal()) / rate_hz).collect();
        number.extend(taken.iter().map(|_| episode as i64));
        time_s.extend(taken.iter().map(|t| 20.0 + t));
        for (at, joint) in joints.iter().enumerate() {
            let path = (joint.hand)(&mut draw);
            // 0.03 degrees, 0.06 mm of noise; counts of 0.088 degrees, of 0.05 mm.
            let (noise, count) = if joint.linear { (6e-5, 5e-5) } else { (5e-4, 1.534e-3) };
            for &t in &taken {
                let read = |value: f64| ((value / count).round() * count) as f32;
                let hand = |t: f64| path(pace * t);
                sides[0][at].push(read(hand(t) + noise * draw.normal()));
                let follower = (joint.follower)(episode, hand(t - LATE_S));
                sides[1][at].push(read(follower + 0.3 * noise * draw.normal()));
            }
        }
    }
    let time: ArrayRef = Arc::new(Float64Array::from(time_s));
    let number: ArrayRef = Arc::new(Int64Array::from(number));
    let mut columns = vec![("episode".to_owned(), number), ("time".to_owned(), time)];
    for (side, values) in ["leader", "follower"].into_iter().zip(sides) {
        for (joint, values) in joints.iter().zip(values) {
            let values: ArrayRef = Arc::new(Float32Array::from(values));
            columns.push((format!("{side}_{}", joint.name), values));
        }
    }
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("session.parquet");
    parquet(&file, &RecordBatch::try_from_iter(columns)?)?;
    audit(&Dataset::open(&[file.to_string_lossy().into_owned()], &Declared::default())?, 2)
}

/// Everything said, as a person would tell it to another.
fn told(outcome: &Outcome, joints: &[Joint]) -> Vec<String> {
    let name =
        |joint: Option<u16>| joint.map_or("", |joint| joints[usize::from(joint)].name.as_str());
    let of_session = outcome.session.findings.iter().map(|f| {
        format!("session: {:?} {} {} {:.4}", f.severity, f.metric.id, name(f.joint), f.value)
    });
    let of_card =
        outcome.cards.iter().flat_map(|card| card.findings.iter().map(move |f| (card, f)));
    let of_cards = of_card.map(|(card, f)| {
        let (id, joint) = (&card.key.id, name(f.joint));
        format!("{id}: {:?} {} {joint} {:.4}", f.severity, f.metric.id, f.value)
    });
    of_session.chain(of_cards).collect()
}

/// No episode fails, three in a hundred warn, and nothing is reported of calibration.
fn sound(what: &str, outcome: &Outcome, joints: &[Joint]) {
    let bad = outcome.cards.iter().filter(|card| card.verdict != Verdict::Pass).count();
    let failed = outcome.cards.iter().filter(|card| card.verdict == Verdict::Fail).count();
    let told = told(outcome, joints);
    assert!(failed == 0 && bad * 100 <= 3 * outcome.cards.len(), "{what}: {bad} {told:#?}");
    let own = outcome.session.findings.iter().find(|f| CALIBRATION.contains(&f.check.id));
    assert!(own.is_none(), "{what}: {told:#?}");
}

/// Median over the episodes of a measurement of a joint; `NaN` where it was never read.
fn median(outcome: &Outcome, metric: &str, joint: u16) -> f64 {
    let readings = outcome.cards.iter().flat_map(|card| &card.readings);
    let read = readings.filter(|r| r.metric.id == metric && r.joint == Some(joint));
    let mut values: Vec<f64> = read.map(|r| r.value).collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// The session names this check on this joint and on no other, at this severity.
fn named(
    what: &str,
    outcome: &Outcome,
    joints: &[Joint],
    (check, joint, severity): (&str, u16, Severity),
) {
    let told = told(outcome, joints);
    let of: Vec<_> = outcome.session.findings.iter().filter(|f| f.check.id == check).collect();
    let joints: Vec<_> = of.iter().map(|f| f.joint).collect();
    assert_eq!(joints, [Some(joint)], "{what}: {check}: {told:#?}");
    assert_eq!(of[0].severity, severity, "{what}: {told:#?}");
}

/// A coordinate of a tool.
fn axis(name: &str, follower: impl Fn(usize, f64) -> f64 + 'static) -> Joint {
    Joint { linear: true, ..Joint::new(name, between(-0.12, 0.12), follower) }
}

/// A tool that is taken to a table and along it: commanded so far below it, and there for 70 % of
/// the time.
fn polishing(depth_m: f64) -> Vec<Joint> {
    let down = move |draw: &mut Draw| -> Path {
        let depths: Vec<f64> = (0..6).map(|_| -depth_m - draw.between(-0.001, 0.001)).collect();
        let path = moves(&depths);
        let lowered = |x: f64| x.clamp(0.0, 1.0).powi(2) * (3.0 - 2.0 * x.clamp(0.0, 1.0));
        Box::new(move |t| {
            let share = lowered((t - 0.5) / 0.9).min(lowered((SECONDS - 0.5 - t) / 0.9));
            0.06 + share * (path(t) - 0.06)
        })
    };
    let z = Joint::new("z", Box::new(down), |_, at| at.max(0.0));
    vec![axis("x", |_, at| at), axis("y", |_, at| at), Joint { linear: true, ..z }]
}

#[test]
fn a_tool_that_is_pressed_on_a_table_is_in_contact() -> Tested {
    for (seed, rate_hz, depth_m) in [(1, 30.0, 0.012), (2, 10.0, 0.010), (3, 100.0, 0.015)] {
        let joints = polishing(depth_m);
        let outcome = session(seed, rate_hz, &joints)?;
        let what = format!("{rate_hz} Hz, {depth_m} m");
        sound(&what, &outcome, &joints);
        let share = median(&outcome, "contact_share", 2);
        assert!((0.55..0.9).contains(&share), "{what}: {share}");
        assert_eq!(median(&outcome, "contact_share", 0), 0.0, "{what}");
        // Never shown from the time on the table: the tool is where it was commanded before and
        // after.
        let offset_m = median(&outcome, "offset_signed", 2);
        assert!(offset_m.is_nan() || offset_m.abs() < 5e-4, "{what}: {offset_m}");
    }
    Ok(())
}

/// Four joints of a hand that close on an object at 62 to 80 % of closure, another one in each
/// episode, and two that carry it.
fn fingers(names: [&str; 6], gain: f64) -> Vec<Joint> {
    let joint = |(at, name): (usize, &str)| {
        let close = 1.45 * [1.0, 0.85, 0.6][at % 3];
        Joint::new(name, between(0.05 * close, 0.97 * close), move |episode, hand| {
            let mut draw = Draw((100 * episode + at) as u64);
            draw.unit();
            let stop = if at < 4 { close * draw.between(0.62, 0.80) } else { close };
            (hand * if at == 1 { gain } else { 1.0 }).min(stop)
        })
    };
    names.into_iter().enumerate().map(joint).collect()
}

const FINGERS: [&str; 6] = ["thumb_1", "thumb_2", "index_1", "index_2", "wrist_1", "wrist_2"];

#[test]
fn fingers_on_an_object_are_in_contact() -> Tested {
    let plain = ["j1", "j2", "j3", "j4", "j5", "j6"];
    for (seed, rate_hz, names) in [(4, 30.0, FINGERS), (5, 10.0, FINGERS), (6, 50.0, plain)] {
        let joints = fingers(names, 1.0);
        let outcome = session(seed, rate_hz, &joints)?;
        let what = format!("{rate_hz} Hz, {names:?}");
        sound(&what, &outcome, &joints);
        for joint in 0..4 {
            let gain = median(&outcome, "gain", joint);
            assert!(gain.is_nan() || (gain - 1.0).abs() < 0.02, "{what} {joint}: {gain}");
        }
        // The two that push farthest.
        for joint in 0..2 {
            let share = median(&outcome, "contact_share", joint);
            assert!((0.1..0.6).contains(&share), "{what} {joint}: {share}");
        }
    }
    Ok(())
}

#[test]
fn a_wrong_range_of_a_finger_is_found_in_free_motion() -> Tested {
    let joints = fingers(FINGERS, 0.87);
    let outcome = session(7, 30.0, &joints)?;
    named("0.87", &outcome, &joints, ("gain-mismatch", 1, Severity::Fail));
    assert!((median(&outcome, "gain", 1) - 0.87).abs() < 0.02, "{:#?}", told(&outcome, &joints));
    Ok(())
}

/// An arm whose shoulder droops by so many degrees where it is horizontal, and is off by some.
fn drooping(droop_deg: f64, offset_deg: f64) -> Vec<Joint> {
    let shoulder =
        move |_, at: f64| at + offset_deg.to_radians() - droop_deg.to_radians() * (at + 0.5).cos();
    vec![
        Joint::arm("waist", |_, at| at),
        Joint::arm("shoulder", shoulder),
        Joint::arm("elbow", move |_, at| at - 0.4 * droop_deg.to_radians() * (at - 0.9).cos()),
        Joint::arm("wrist", |_, at| at),
    ]
}

#[test]
fn an_arm_that_droops_is_not_off_its_neutral_point() -> Tested {
    for (seed, rate_hz, droop_deg) in [(8, 30.0, 3.0), (9, 30.0, 5.0), (10, 100.0, 4.0)] {
        let joints = drooping(droop_deg, 0.0);
        let outcome = session(seed, rate_hz, &joints)?;
        sound(&format!("{rate_hz} Hz, {droop_deg} deg"), &outcome, &joints);
        // Its link is horizontal on the way.
        let sag_deg = median(&outcome, "sag", 1).to_degrees();
        assert!((0.85..1.15).contains(&(sag_deg / droop_deg)), "{droop_deg}: {sag_deg}");
    }
    Ok(())
}

#[test]
fn an_offset_is_found_with_sag_and_without() -> Tested {
    let mut seed = 20;
    for droop_deg in [0.0, 3.0, 5.0] {
        for (offset_deg, severity) in [
            (3.0, Severity::Warn),
            (-3.0, Severity::Warn),
            (6.5, Severity::Fail),
            (-6.5, Severity::Fail),
        ] {
            let joints = drooping(droop_deg, offset_deg);
            let outcome = session(seed, 30.0, &joints)?;
            let what = format!("{offset_deg} deg, sag {droop_deg} deg");
            named(&what, &outcome, &joints, ("neutral-offset", 1, severity));
            let read_deg = median(&outcome, "offset_signed", 1).to_degrees();
            assert!((read_deg - offset_deg).abs() < 0.5, "{what}: {read_deg}");
            seed += 1;
        }
    }
    Ok(())
}

#[test]
fn a_wrong_range_in_nearly_all_episodes_is_found() -> Tested {
    for (seed, gain, severity) in [
        (40, 1.13, Severity::Fail),
        (41, 0.87, Severity::Fail),
        (42, 0.92, Severity::Warn),
        (43, 1.08, Severity::Warn),
    ] {
        let elbow = move |episode, at| at * if episode == 7 { 1.0 } else { gain };
        let joints = vec![
            Joint::arm("waist", |_, at| at),
            Joint::arm("shoulder", |_, at: f64| at - 0.02 * (at + 0.5).cos()),
            Joint::arm("elbow", elbow),
            Joint::arm("wrist", |_, at| at),
        ];
        let outcome = session(seed, 30.0, &joints)?;
        let what = format!("gain {gain}");
        named(&what, &outcome, &joints, ("gain-mismatch", 2, severity));
        assert!((median(&outcome, "gain", 2) - gain).abs() < 0.01, "{what}");
    }
    Ok(())
}
