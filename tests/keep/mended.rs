//! What is mended re-audits clean of what was found, in every layout.

use teleassay::demo::{Fault, Layout, Recipe};

use super::{Session, findings};
use crate::support::binary::Tested;

const LAYOUTS: [Layout; 6] = [
    Layout::List,
    Layout::Scalars,
    Layout::Struct,
    Layout::IpcFile,
    Layout::FixedSizeList,
    Layout::IpcStream,
];

fn mended(
    fault: &Fault,
    joint: Option<&str>,
    episodes: &[u64],
    (options, check): (&[&str], &str),
    layout: Layout,
) -> Tested {
    let recipe = Recipe { episodes: 8, seed: 5, ..Recipe::default() };
    let session = Session::new(&recipe.with(fault.clone(), joint, episodes), layout)?;
    let session = if *fault == Fault::EncoderWrap { session.with_ends("waist")? } else { session };
    let before = session.audit(&session.source())?;
    assert!(findings(&before, check) > 0, "{fault:?} {layout:?}: {check} finds nothing");
    let document = session.keep("copy", options)?;
    let changed = document["changes"][0]["episodes"].as_array().map_or(0, Vec::len);
    assert!(changed >= episodes.len().max(1), "{fault:?} {layout:?}: {document}");
    assert_eq!(document["episodes"]["kept"], 8, "{fault:?} {layout:?}: {}", document["left_out"]);
    let after = session.audit(&session.path("copy"))?;
    assert_eq!(findings(&after, check), 0, "{fault:?} {layout:?}: {check} still reports");
    assert!(after["unread"].as_array().is_some_and(Vec::is_empty));
    Ok(())
}

#[test]
fn doubled_rows_jumps_and_still_ends_are_gone() -> Tested {
    for (at, layout) in LAYOUTS.into_iter().chain([Layout::FilePerEpisode]).enumerate() {
        let doubled = Fault::RepeatedFrames { share: 0.02 };
        let dropped: (&[&str], &str) = (&["--drop-doubled"], "repeated-frames");
        mended(&doubled, None, &[2, 5], dropped, layout)?;
        let clock = Fault::ClockBackward { seconds: 2.5 };
        let split: (&[&str], &str) = (&["--split", "--keep-from", "fail"], "non-monotonic-time");
        mended(&clock, None, &[3], split, layout)?;
        let idle = [Fault::IdleHead { seconds: 3.0 }, Fault::IdleTail { seconds: 4.0 }];
        let trimmed: (&[&str], &str) = (&["--trim-idle", "--keep-from", "fail"], "idle-time");
        mended(&idle[at % 2], None, &[1, 4], trimmed, layout)?;
    }
    Ok(())
}

#[test]
fn exchanged_and_converted_columns_are_right() -> Tested {
    for layout in LAYOUTS {
        let swapped = Fault::SwappedJoints { with: "elbow".to_owned() };
        let exchanged: (&[&str], &str) =
            (&["--mend", "exchange-joints:shoulder,elbow", "--keep-from", "fail"], "joint-swap");
        mended(&swapped, Some("shoulder"), &[], exchanged, layout)?;
        let sides: (&[&str], &str) =
            (&["--mend", "exchange-sides", "--keep-from", "fail"], "arm-swap");
        mended(&Fault::SwappedArms, None, &[], sides, layout)?;
        let radians = Fault::UnitMismatch { factor: std::f64::consts::PI / 180.0 };
        let converted: (&[&str], &str) =
            (&["--mend", "unit:elbow", "--keep-from", "fail"], "unit-mismatch");
        mended(&radians, Some("elbow"), &[], converted, layout)?;
        let unwrapped: (&[&str], &str) =
            (&["--mend", "unwrap:waist", "--keep-from", "fail"], "encoder-wrap");
        mended(&Fault::EncoderWrap, Some("waist"), &[], unwrapped, layout)?;
    }
    Ok(())
}

#[test]
fn a_stated_offset_is_subtracted() -> Tested {
    for layout in LAYOUTS {
        let offset: (&[&str], &str) =
            (&["--mend", "offset:state/elbow:6.5deg", "--keep-from", "fail"], "neutral-offset");
        mended(&Fault::NeutralOffset { deg: 6.5 }, Some("elbow"), &[], offset, layout)?;
    }
    Ok(())
}

/// A shift changes the lag by exactly as many frames, and loses as many rows of each episode.
#[test]
fn actions_are_shifted_by_whole_rows() -> Tested {
    let lag = |report: &serde_json::Value, episode: usize| {
        let readings = report["episodes"][episode]["readings"].as_array().into_iter().flatten();
        let mut lags = readings.filter(|reading| reading["metric"] == "lag_frames");
        lags.next().and_then(|reading| reading["value"].as_f64()).unwrap_or(f64::NAN)
    };
    for layout in LAYOUTS {
        let recipe = Recipe { episodes: 4, seed: 6, ..Recipe::default() };
        let session = Session::new(&recipe, layout)?;
        let before = session.audit(&session.source())?;
        for rows in [2_i64, -1] {
            let (to, option) = (format!("copy{rows}"), format!("shift-actions:{rows}"));
            let document = session.keep(&to, &["--keep-from", "fail", "--mend", &option])?;
            let lost = 4 * rows.unsigned_abs();
            let frames = &document["frames"];
            assert_eq!(frames["of"].as_u64(), frames["kept"].as_u64().map(|kept| kept + lost));
            let after = session.audit(&session.path(&to))?;
            for episode in 0..4 {
                let (old, new) = (lag(&before, episode), lag(&after, episode));
                assert!((new - old - rows as f64).abs() < 0.1, "{layout:?} {rows}: {old}, {new}");
            }
        }
        let too_far = session.keep("copy", &["--keep-from", "fail", "--mend", "shift-actions:-9"]);
        assert!(too_far.is_err_and(|error| error.to_string().contains("before it")));
    }
    Ok(())
}

/// Without evidence nothing is changed: the other joint, and data that is sound.
#[test]
fn nothing_is_mended_on_a_guess() -> Tested {
    let recipe = Recipe { episodes: 4, seed: 7, ..Recipe::default() };
    let session = Session::new(&recipe, Layout::List)?;
    for mend in ["unwrap:waist", "unit:elbow", "exchange-sides", "exchange-joints:waist,elbow"] {
        let refused = session.keep("copy", &["--mend", mend]);
        let text = refused.err().map(|error| error.to_string()).unwrap_or_default();
        assert!(text.contains("exit Some(2)") && text.contains("bears it out"), "{mend}: {text}");
        assert!(!session.path("copy").exists());
    }
    Ok(())
}
