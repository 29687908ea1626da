//! How well the checks find planted faults: `cargo bench --features internals --bench faults`
//! prints the page that is kept in `benches/FAULTS.md`. After `--`: `--write` keeps it there,
//! `--short` runs what the tests run, `--misses` lists what was reported where something was
//! missed. `--from N` looks at sessions above all, three times as many, from number N on: the
//! page's own are the first, of other seeds.

mod fault_benchmark;
#[path = "../tests/support/memory.rs"]
mod memory;

use std::error::Error;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use fault_benchmark::Scale;
use teleassay::engine::Workers;

/// What `benches/FAULTS.md` shows.
const FULL: Scale = Scale { from: 0, trials: 180, sessions: 200, odd: 40 };

fn main() -> Result<(), Box<dyn Error>> {
    let asked = |option: &str| std::env::args().any(|argument| argument == option);
    let mut scale = if asked("--short") { Scale::SHORT } else { FULL };
    let from_number = std::env::args().skip_while(|argument| argument != "--from").nth(1);
    if let Some(from) = from_number {
        let (sessions, odd) = (3 * scale.sessions, 3 * scale.odd);
        scale = Scale { from: from.parse()?, sessions, odd, ..Scale::SHORT };
    }
    let report = scale.run(&Workers::start(None)?)?;
    let mut out = std::io::stdout().lock();
    if asked("--misses") {
        out.write_all(report.misses().as_bytes())?;
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/FAULTS.md");
    // The same build gives the same bytes: a page that says the same keeps its date.
    let kept = fs::read_to_string(&path).unwrap_or_default();
    let same = kept.split_once(": ").is_some() && kept.ends_with(&report.markdown());
    let page = if same { kept } else { report.page(&today()) };
    out.write_all(page.as_bytes())?;
    if asked("--write") && scale == FULL {
        fs::write(&path, page)?;
    }
    Ok(())
}

/// The date of today in universal time.
fn today() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    let mut days = since.as_secs() / 86_400;
    let mut year = 1970;
    let jump = |year: u64| {
        year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
    };
    while days >= 365 + u64::from(jump(year)) {
        days -= 365 + u64::from(jump(year));
        year += 1;
    }
    let february = 28 + u64::from(jump(year));
    let months = [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let mut month = 0;
    while days >= months[month] {
        days -= months[month];
        month += 1;
    }
    format!("{year}-{:02}-{:02}", month + 1, days + 1)
}
