//! What the hand does.

use super::super::Fault;
use super::{Outcome, pair, quantile, range_deg};

#[test]
fn idle_time_is_as_long_as_planted_and_idle() -> Outcome {
    for fault in [Fault::IdleHead { seconds: 2.5 }, Fault::IdleTail { seconds: 2.5 }] {
        let (clean, faulty) = pair(fault, None)?;
        let [start, end] = faulty.truth.answers[0].frames[0];
        assert!(end - start >= 74, "{start} to {end}");
        for joint in &faulty.leader {
            let widest = joint[start..end].windows(15).map(range_deg).fold(0.0, f64::max);
            assert!(widest < 0.5, "moved {widest} degrees in half a second");
        }
        assert!(faulty.frames() > clean.frames());
    }
    Ok(())
}

#[test]
fn a_recording_cut_short_ends_in_motion() -> Outcome {
    let fastest_end = |leader: &[Vec<f64>]| {
        leader.iter().map(|c| range_deg(&c[c.len() - 7..]) / 0.2).fold(0.0, f64::max)
    };
    let (clean, faulty) = pair(Fault::CutShort, None)?;
    assert!(fastest_end(&faulty.leader) > 20.0 && fastest_end(&clean.leader) < 5.0);
    Ok(())
}

#[test]
fn an_outlier_goes_to_a_far_bench_at_full_reach() -> Outcome {
    let (clean, faulty) = pair(Fault::Outlier { reach: 2.6 }, None)?;
    let farthest = |leader: &[Vec<f64>]| quantile(leader[0].iter().copied(), 0.0).to_degrees();
    assert!((farthest(&faulty.leader) + 2.6 * 40.0).abs() < 1.0);
    assert!(farthest(&clean.leader) > -50.0);
    assert!(range_deg(&faulty.leader[2]) > 60.0, "the elbow is all but stretched");
    Ok(())
}
