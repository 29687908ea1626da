//! Any rate: what the checks of timing, signal and motion say of sound motion from 5 to 1,000 Hz, and how
//! well the rate of the loop is read where another one was declared.

use std::error::Error;

use super::generator::{Clock, Draw, Rows, Style};
use teleassay::model::{Family, Outcome, Severity};

/// Findings of these checks, as a person would tell them, over all episodes.
fn told(outcome: &Outcome, of: impl Fn(&str, Family) -> bool) -> Vec<(Severity, String)> {
    let mut told = Vec::new();
    for card in &outcome.cards {
        let own = card.findings.iter().filter(|f| of(f.check.id, f.check.family));
        let worst = own.max_by_key(|f| f.severity == Severity::Fail);
        told.extend(worst.map(|f| {
            let what = format!(
                "{} {} {} {:?} {:.4}",
                card.key.id, f.check.id, f.metric.id, f.joint, f.value
            );
            (f.severity, what)
        }));
    }
    told
}

/// At most one episode in two hundred fails, three in a hundred warn, at this rate.
fn quiet(rate_hz: f64) -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let (episodes, seconds) = if rate_hz > 200.0 { (24, 4.2) } else { (40, 8.0) };
    let (mut all, mut failed, mut warned) = (0, Vec::new(), Vec::new());
    let finest_s = if rate_hz > 200.0 { 1e-4 } else { 1e-3 };
    for (at, style) in [Style::MinimumJerk, Style::Sines, Style::Logistic].into_iter().enumerate() {
        let clock = [Clock::Steady, Clock::Slewing, Clock::Rounded(finest_s)][at];
        let mut draw = Draw(1_000 * rate_hz as u64 + at as u64);
        let rows = Rows::of(&mut draw, style, clock, rate_hz, episodes, seconds);
        let outcome = rows.audited(&folder.path().join(format!("{at}.parquet")), None)?;
        all += outcome.cards.len();
        let families = [Family::Timing, Family::Signal, Family::Motion];
        for (severity, what) in told(&outcome, |_, family| families.contains(&family)) {
            let list = if severity == Severity::Fail { &mut failed } else { &mut warned };
            list.push(format!("{style:?} {what}"));
        }
        let own = outcome.session.findings.iter().filter(|f| families.contains(&f.check.family));
        let own: Vec<&str> = own.map(|f| f.metric.id).collect();
        assert!(own.is_empty(), "{rate_hz} Hz {style:?}: {own:?}");
    }
    assert!(failed.len() * 200 <= all, "{rate_hz} Hz: {} of {all}: {failed:#?}", failed.len());
    assert!(warned.len() * 100 <= 3 * all, "{rate_hz} Hz: {} of {all}: {warned:#?}", warned.len());
    Ok(())
}

#[test]
fn sound_motion_is_quiet_at_5_and_10_hz() -> Result<(), Box<dyn Error>> {
    quiet(5.0)?;
    quiet(10.0)
}

#[test]
fn sound_motion_is_quiet_at_30_hz() -> Result<(), Box<dyn Error>> {
    quiet(30.0)
}

#[test]
fn sound_motion_is_quiet_at_100_hz() -> Result<(), Box<dyn Error>> {
    quiet(100.0)
}

#[test]
fn sound_motion_is_quiet_at_500_hz() -> Result<(), Box<dyn Error>> {
    quiet(500.0)
}

#[test]
fn sound_motion_is_quiet_at_1000_hz() -> Result<(), Box<dyn Error>> {
    quiet(1000.0)
}

/// Two hundred sessions at 0.3 to 3 times the declared rate.
#[test]
fn another_rate_than_declared_is_named_and_nothing_else() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("session.parquet");
    let mut draw = Draw(24);
    let (mut wrong, mut lost_found, mut lossy) = (Vec::new(), 0, 0);
    for session in 0..200 {
        let declared_hz = [10.0, 30.0, 50.0, 100.0, 200.0][session % 5];
        let ratio = draw.between(0.3f64.ln(), 3f64.ln()).exp();
        let rate_hz = declared_hz * ratio;
        let clock = match (session / 5) % 4 {
            0 => Clock::Steady,
            1 => Clock::Slewing,
            2 => Clock::Rounded(if rate_hz > 150.0 { 1e-4 } else { 1e-3 }),
            _ => Clock::Lossy(draw.between(0.01, 0.05)),
        };
        let rows =
            Rows::of(&mut draw, Style::MinimumJerk, clock, rate_hz, 5, 300.0 / rate_hz + 3.0);
        let outcome = rows.audited(&file, Some(declared_hz))?;
        let what = format!("{session}: {rate_hz:.2} of {declared_hz} Hz, {clock:?}");
        for card in &outcome.cards {
            let read = |id: &str| card.readings.iter().find(|r| r.metric.id == id).map(|r| r.value);
            let loop_hz = read("loop_rate").unwrap_or(f64::NAN);
            if loop_hz.is_nan() || (loop_hz / rate_hz - 1.0).abs() >= 0.003 {
                wrong.push(format!("{what}: {loop_hz:.3} Hz"));
            }
            let off = read("rate_deviation").unwrap_or(f64::NAN);
            if off.is_nan() || (off - (ratio - 1.0).abs()).abs() >= 0.003 * ratio {
                wrong.push(format!("{what}: off by {off:.4}"));
            }
            if matches!(clock, Clock::Lossy(_)) {
                lossy += 1;
                lost_found += usize::from(read("dropped_share").is_some_and(|share| share > 0.002));
            }
        }
        let quiet = !matches!(clock, Clock::Lossy(_));
        let others = told(&outcome, |id, family| {
            family == Family::Timing && id != "frame-rate" && (quiet || id != "dropped-frames")
        });
        wrong.extend(others.into_iter().map(|(_, told)| format!("{what}: {told}")));
    }
    assert!(wrong.is_empty(), "{}: {wrong:#?}", wrong.len());
    assert!(lost_found * 100 >= 97 * lossy, "{lost_found} of {lossy} with lost rows");
    Ok(())
}
