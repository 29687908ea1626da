//! Rows and stamps.

use super::super::{Fault, Recipe, simulate};
use super::{Outcome, pair, quantile, steps};

const PERIOD_S: f64 = 1.0 / 30.0;

#[test]
fn lost_rows_are_as_many_as_the_answer_says_and_lie_where_it_says() -> Outcome {
    let (clean, faulty) = pair(Fault::DroppedFrames { share: 0.05, burst: 3 }, None)?;
    let answer = &faulty.truth.answers[0];
    assert_eq!(clean.frames() - faulty.frames(), answer.count);
    assert!((answer.count as f64 / clean.frames() as f64 - 0.05).abs() < 0.01);
    assert_eq!(answer.frames.len() * 3, answer.count);
    for span in &answer.frames {
        assert_eq!(span[1] - span[0], 2, "the rows on either side");
        let gap = faulty.time_s[span[1] - 1] - faulty.time_s[span[0]];
        assert!((gap / PERIOD_S - 4.0).abs() < 0.9, "gap of {gap} s");
    }
    Ok(())
}

#[test]
fn a_long_gap_is_as_long_as_planted() -> Outcome {
    let (_, faulty) = pair(Fault::LongGap { seconds: 0.8 }, None)?;
    let longest = steps(&faulty.time_s).into_iter().fold(0.0, f64::max);
    assert!((longest - 0.8 - PERIOD_S).abs() < 0.03, "{longest}");
    Ok(())
}

#[test]
fn repeated_rows_repeat_stamp_and_values() -> Outcome {
    let (clean, faulty) = pair(Fault::RepeatedFrames { share: 0.02 }, None)?;
    let count = faulty.truth.answers[0].count;
    assert_eq!(faulty.frames() - clean.frames(), count);
    let twice: Vec<usize> =
        (1..faulty.frames()).filter(|k| faulty.time_s[*k] == faulty.time_s[k - 1]).collect();
    assert_eq!(twice.len(), count);
    for (frame, span) in twice.iter().zip(&faulty.truth.answers[0].frames) {
        assert_eq!(*span, [frame - 1, frame + 1]);
        assert!(faulty.follower.iter().all(|c| c[*frame] == c[frame - 1]));
    }
    Ok(())
}

#[test]
fn jitter_is_as_large_as_planted_and_never_looks_like_a_lost_frame() -> Outcome {
    let (_, faulty) = pair(Fault::Jitter { share: 0.36 }, None)?;
    let dt = steps(&faulty.time_s);
    let median = quantile(dt.clone(), 0.5);
    let p95 = quantile(dt.iter().map(|d| (d - median).abs()), 0.95) / PERIOD_S;
    assert!((p95 - 0.36).abs() < 0.04, "{p95}");
    assert!(dt.iter().all(|d| *d > 0.0 && *d < 1.5 * PERIOD_S));
    Ok(())
}

#[test]
fn a_slow_loop_is_slow() -> Outcome {
    let (_, faulty) = pair(Fault::SlowLoop { rate_hz: 25.5 }, None)?;
    let last = faulty.frames() - 1;
    let rate_hz = last as f64 / (faulty.time_s[last] - faulty.time_s[0]);
    assert!((rate_hz - 25.5).abs() < 0.05, "{rate_hz}");
    Ok(())
}

#[test]
fn the_clock_is_set_back_once() -> Outcome {
    let (clean, faulty) = pair(Fault::ClockBackward { seconds: 0.4 }, None)?;
    let back: Vec<usize> =
        (1..faulty.frames()).filter(|k| faulty.time_s[*k] < faulty.time_s[k - 1]).collect();
    let [frame] = back[..] else { return Err(format!("{back:?}").into()) };
    assert!((clean.time_s[frame] - faulty.time_s[frame] - 0.4).abs() < 1e-9);
    assert_eq!(faulty.truth.answers[0].frames, [[frame - 1, frame + 1]]);
    Ok(())
}

#[test]
fn made_stamps_follow_the_row_number_and_coarse_ones_32_bits() -> Outcome {
    let (_, made) = pair(Fault::SyntheticStamps, None)?;
    let off = |(k, t): (usize, &f64)| (t - made.time_s[0] - k as f64 * PERIOD_S).abs();
    assert!(made.time_s.iter().enumerate().map(off).fold(0.0, f64::max) < 1e-9);
    let (_, coarse) = pair(Fault::CoarseStamps { origin_s: 1.7e9 }, None)?;
    assert!(coarse.time_s.iter().all(|t| t % 128.0 == 0.0), "128 s at the size of an epoch");
    Ok(())
}

#[test]
fn faults_of_rows_may_be_planted_together() -> Outcome {
    let recipe = Recipe { seed: 5, ..Recipe::default() }
        .with(Fault::DroppedFrames { share: 0.03, burst: 2 }, None, &[])
        .with(Fault::RepeatedFrames { share: 0.02 }, None, &[]);
    let both = simulate(&recipe)?.remove(0);
    let [lost, twice] = &both.truth.answers[..] else { return Err("two answers".into()) };
    for span in &lost.frames {
        let gap = both.time_s[span[1] - 1] - both.time_s[span[0]];
        assert!(gap > 2.0 * PERIOD_S, "gap of {gap} s");
    }
    assert!(twice.frames.iter().all(|s| both.time_s[s[0]] == both.time_s[s[1] - 1]));
    Ok(())
}
