//! A profile that the tool writes is one that it takes: for any table that it understands.

use std::error::Error;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, BooleanArray, FixedSizeListArray, Float32Array, Float64Array, Int64Array,
    ListArray, StringArray, StructArray,
};
use arrow::buffer::OffsetBuffer;
use arrow::datatypes::{DataType, Field, Schema};
use arrow::record_batch::RecordBatch;
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;
use teleassay::{AuditRequest, DataRequest, ErrorKind, audit, columns};

const ROWS: usize = 160;
const JOINTS: usize = 6;

/// Names that a table may have, the odd ones among them.
const ODD: &[&str] = &[
    "state",
    "follower",
    "obs.pos",
    "meas*",
    "position",
    "a b",
    "arm \"x\"",
    "übung",
    "left.state",
    "joint_pos",
    "measured'",
    "command",
    "leader",
    "cmd*",
    "goal.position",
    "action",
    "glove",
    "t",
    "stamp_ms",
    "time",
    "wrist_camera_frame",
    "joint_velocity",
    "effort",
    "voltage",
    "note",
    "task",
    "episode",
    "run",
    "frame_index",
    "right.state",
    "x\\y",
    "# no comment",
    "[columns]",
    "*",
];
const JOINT_NAMES: &[&str] = &["waist", "shoulder", "elbow", "wrist.pitch", "roll \"r\"", "jaw*"];

/// How a vector of joints is stored.
#[derive(Debug, Clone, Copy)]
enum Layout {
    List,
    Fixed,
    Struct,
    Scalars,
    Nested,
    Arms,
    PerJoint,
}

#[derive(Debug, Clone)]
struct Drawn {
    state: (usize, Layout),
    action: Option<(usize, Layout)>,
    time: usize,
    episode: bool,
    more: Vec<(usize, u8)>,
    named: u8,
    degrees: bool,
}

fn layout() -> impl Strategy<Value = Layout> {
    use Layout::{Arms, Fixed, List, Nested, PerJoint, Scalars, Struct};
    prop::sample::select(vec![List, Fixed, Struct, Scalars, Nested, Arms, PerJoint])
}

fn drawn() -> impl Strategy<Value = Drawn> {
    let more = prop::collection::vec((0..ODD.len(), 0u8..6), 0..5);
    let action = prop::option::of((0..4usize, layout()));
    ((0..4usize, layout()), action, 0..3usize, any::<bool>(), more, 0u8..4, any::<bool>()).prop_map(
        |(state, action, time, episode, more, named, degrees)| Drawn {
            state,
            action,
            time,
            episode,
            more,
            named,
            degrees,
        },
    )
}

fn value(row: usize, joint: usize, degrees: bool) -> f32 {
    let angle = (0.07 * row as f32 + joint as f32).sin() * (0.5 + 0.1 * joint as f32);
    if degrees { angle.to_degrees() } else { angle }
}

fn floats(joint: usize, degrees: bool) -> ArrayRef {
    Arc::new(Float32Array::from_iter_values((0..ROWS).map(|row| value(row, joint, degrees))))
}

fn item() -> Arc<Field> {
    Arc::new(Field::new("item", DataType::Float32, true))
}

fn list(joints: usize, degrees: bool, fixed: bool) -> Result<ArrayRef, Box<dyn Error>> {
    let all = (0..ROWS).flat_map(|row| (0..joints).map(move |joint| value(row, joint, degrees)));
    let values = Arc::new(Float32Array::from_iter_values(all));
    Ok(if fixed {
        Arc::new(FixedSizeListArray::try_new(item(), i32::try_from(joints)?, values, None)?)
    } else {
        let offsets = OffsetBuffer::from_lengths(std::iter::repeat_n(joints, ROWS));
        Arc::new(ListArray::try_new(item(), offsets, values, None)?)
    })
}

type Named = (String, ArrayRef);

fn fields(of: Vec<Named>) -> Result<ArrayRef, Box<dyn Error>> {
    let fields: Vec<Field> =
        of.iter().map(|(name, array)| Field::new(name, array.data_type().clone(), true)).collect();
    let arrays = of.into_iter().map(|(_, array)| array).collect();
    Ok(Arc::new(StructArray::try_new(fields.into(), arrays, None)?))
}

fn per_joint(degrees: bool) -> Vec<Named> {
    JOINT_NAMES
        .iter()
        .enumerate()
        .map(|(n, name)| ((*name).to_owned(), floats(n, degrees)))
        .collect()
}

fn vector(name: &str, layout: Layout, degrees: bool) -> Result<Vec<Named>, Box<dyn Error>> {
    let one = |array: ArrayRef| vec![(name.to_owned(), array)];
    Ok(match layout {
        Layout::List => one(list(JOINTS, degrees, false)?),
        Layout::Fixed => one(list(JOINTS, degrees, true)?),
        Layout::Struct => one(fields(per_joint(degrees))?),
        Layout::Scalars => {
            let all = per_joint(degrees).into_iter();
            all.map(|(joint, array)| (format!("{name}_{joint}"), array)).collect()
        }
        Layout::Nested => one(fields(vec![
            ("pos.itions".to_owned(), list(JOINTS, degrees, false)?),
            ("label".to_owned(), Arc::new(StringArray::from(vec!["x"; ROWS]))),
        ])?),
        Layout::Arms => {
            let arm =
                |side: &str| Ok::<_, Box<dyn Error>>((side.to_owned(), list(3, degrees, false)?));
            one(fields(vec![arm("left")?, arm("right")?])?)
        }
        Layout::PerJoint => {
            let joints = per_joint(degrees).into_iter().map(|(joint, array)| {
                let still: ArrayRef = Arc::new(Float32Array::from(vec![0.5; ROWS]));
                let both = vec![("position".to_owned(), array), ("velocity".to_owned(), still)];
                Ok::<_, Box<dyn Error>>((joint, fields(both)?))
            });
            one(fields(joints.collect::<Result<Vec<_>, _>>()?)?)
        }
    })
}

fn extra(kind: u8, degrees: bool) -> Result<ArrayRef, Box<dyn Error>> {
    Ok(match kind {
        0 => Arc::new(StringArray::from(vec!["plug"; ROWS])),
        1 => Arc::new(Int64Array::from_iter_values(0..ROWS as i64)),
        2 => Arc::new(BooleanArray::from(vec![true; ROWS])),
        3 => list(JOINTS, degrees, false)?,
        4 => list(2, degrees, true)?,
        _ => floats(1, degrees),
    })
}

/// Writes the table; names of joints in the metadata may be missing, whole, empty or twice the same.
fn write(path: &Path, drawn: &Drawn) -> Result<(), Box<dyn Error>> {
    let stamps = (0..ROWS).map(|row| row as f64 / 30.0);
    let time: ArrayRef = Arc::new(Float64Array::from_iter_values(stamps));
    let mut all: Vec<Named> = vec![(["time", "clock.stamp", "t_s"][drawn.time].to_owned(), time)];
    if drawn.episode {
        let ids = Int64Array::from_iter_values((0..ROWS).map(|row| (row / 80) as i64));
        all.push(("episode".to_owned(), Arc::new(ids)));
    }
    let (name, layout) = drawn.state;
    let state = ["state", "follower.pos", "meas* state", "measured \"arm\""][name];
    all.extend(vector(state, layout, drawn.degrees)?);
    if let Some((name, layout)) = drawn.action {
        let action = ["action", "leader.pos", "cmd*", "goal 'arm'"][name];
        all.extend(vector(action, layout, drawn.degrees)?);
    }
    for (name, kind) in &drawn.more {
        if !all.iter().any(|(known, _)| known == ODD[*name]) {
            all.push((ODD[*name].to_owned(), extra(*kind, drawn.degrees)?));
        }
    }
    let names = match drawn.named {
        0 => None,
        1 => Some("[\"waist\", \"shoulder\", \"elbow\", \"wrist\", \"roll\", \"jaw\"]"),
        2 => Some("[\"a\", \"a\", \"\", \"\", \"j2\", \"a_2\"]"),
        _ => Some("a,b,c"),
    };
    let schema: Vec<Field> = all
        .iter()
        .map(|(name, array)| {
            let field = Field::new(name, array.data_type().clone(), true);
            let said = names.filter(|_| name == state);
            let said: std::collections::HashMap<String, String> =
                said.map(|n| ("names".to_owned(), n.to_owned())).into_iter().collect();
            field.with_metadata(said)
        })
        .collect();
    let arrays = all.into_iter().map(|(_, array)| array).collect();
    let batch = RecordBatch::try_new(Arc::new(Schema::new(schema)), arrays)?;
    let file = std::fs::File::create(path)?;
    let mut writer = arrow::ipc::writer::FileWriter::try_new(file, &batch.schema())?;
    writer.write(&batch)?;
    Ok(writer.finish()?)
}

#[expect(clippy::needless_pass_by_value, reason = "what `map_err` hands on")]
fn fail(error: impl ToString) -> TestCaseError {
    TestCaseError::fail(error.to_string())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_profile_that_is_written_is_read_back_and_audits(drawn in drawn()) {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("part-0.arrow");
        write(&path, &drawn).map_err(fail)?;
        let understood = match columns(&DataRequest::new(&path), &[]) {
            Ok(understood) => understood,
            // What is not understood gets no profile; a fault of the tool is none of that.
            Err(error) => {
                prop_assert!(error.kind() != ErrorKind::Internal, "{}", error);
                prop_assert!(error.hint().is_some(), "{}", error);
                return Ok(());
            }
        };
        let text = understood.to_profile().map_err(fail)?;
        let profile = folder.path().join("written.toml");
        std::fs::write(&profile, &text)?;
        let request = |profile: Option<&Path>| AuditRequest {
            data: DataRequest { profile: profile.map(Path::to_path_buf), ..DataRequest::new(&path) },
            ..AuditRequest::default()
        };
        let own = audit(&request(None), &mut |_| {}).map_err(fail)?;
        let again = audit(&request(Some(&profile)), &mut |_| {})
            .map_err(|error| TestCaseError::fail(format!("{error}\n{text}")))?;
        let ids = |audited: &teleassay::Audited| -> Vec<String> {
            audited.episodes().map(|(id, _)| id.to_owned()).collect()
        };
        prop_assert_eq!(ids(&own), ids(&again), "{}", text);
    }
}

/// The property holds something: most of what is drawn is understood.
#[test]
fn most_tables_are_understood() -> Result<(), Box<dyn Error>> {
    use Layout::{Arms, Fixed, List, Nested, PerJoint, Scalars, Struct};
    let folder = tempfile::tempdir()?;
    for (at, layout) in [List, Fixed, Struct, Scalars, Nested, Arms, PerJoint].iter().enumerate() {
        let path = folder.path().join(format!("{at}.arrow"));
        let (state, action) = ((0, *layout), Some((0, *layout)));
        let drawn =
            Drawn { state, action, time: 0, episode: true, more: vec![], named: 0, degrees: true };
        write(&path, &drawn)?;
        let text = columns(&DataRequest::new(&path), &[])?.to_profile()?;
        let said = match layout {
            List | Fixed => "state = [\"state\"]",
            Struct | Scalars => "name = \"wrist.pitch\"",
            Nested => "state = [\"state.pos.itions\"]",
            Arms => "name = \"right_j2\"",
            PerJoint => "\"state.elbow.velocity\"",
        };
        assert!(text.contains(said), "{layout:?}: {text}");
    }
    Ok(())
}
