//! `keep`: a clean copy. Audits where that is asked for, decides which episodes are kept and what is
//! changed in them, and copies their rows. The source is only read.

mod condition;
mod cuts;
mod evidence;
mod expression;
mod folders;
mod frames;
mod layout;
mod left_alone;
mod list;
mod mend;
mod mended;
mod plan;
mod record;
mod repairs;
mod request;
mod select;
mod spans;
mod turns;
mod units;

use crate::app::AppError;
use crate::app::audit::{AuditRequest, Audited, OpenAudit};
use crate::model::Progress;
use crate::report::keep::ChangesDocument;
use crate::source::copy::{CopyError, Staging, Wanted, copy_all};
use plan::{Chosen, choose};
use select::Selector;

pub use request::{Changes, KeepRequest, KeepVerdict, Selection};

/// Name of the document that says what was kept and changed.
const CHANGES: &str = "changes.json";

/// What became of a copy.
#[derive(Debug)]
pub struct Kept {
    /// What was kept, changed and left out.
    pub document: ChangesDocument,
    /// Whether all files could be read.
    pub all_read: bool,
    /// The profile of the source, where one was found.
    pub profile: Option<std::path::PathBuf>,
}

/// Makes a clean copy. Once `stop` says so, nothing more is written and nothing is left behind.
///
/// # Errors
/// If there is no dataset, the request does not fit it, no episode is left, or the copy cannot be
/// written.
pub fn keep(
    request: &KeepRequest,
    stop: &(dyn Fn() -> bool + Sync),
    progress: &mut dyn FnMut(&Progress),
) -> Result<Kept, AppError> {
    folders::check(&request.data.paths, &request.to)?;
    let open = OpenAudit::new(&AuditRequest {
        data: request.data.clone(),
        checks: request.checks.clone(),
        threads: request.threads,
        // Names of measurements have a stroke in them.
        keep_readings: request.select.condition.as_deref().is_some_and(|text| text.contains('/')),
        ..AuditRequest::default()
    })?;
    let selector = Selector::of(&request.select, open.rig())?;
    let audits = selector.needs_audit() || asks_for_figures(&request.change);
    let profile = open.profile_path().map(std::path::Path::to_path_buf);
    let workers = open.workers();
    let audited = if audits { open.run_until(stop, progress)? } else { open.unmeasured() };
    if stop() {
        return Err(CopyError::Stopped.into());
    }
    let chosen = choose(request, &selector, &audited, audits, &workers)?;
    if chosen.kept.is_empty() {
        return Err(nothing_left(&chosen));
    }
    let (document, tables) = record::document(request, &audited, &chosen)?;
    if !request.dry_run {
        write(request, &audited, &document, &tables, stop, &workers)?;
    }
    let all_read = document.unread.is_empty();
    Ok(Kept { document, all_read, profile })
}

/// Whether a change needs what an audit finds.
fn asks_for_figures(change: &Changes) -> bool {
    change.trim_idle || change.split || change.drop_doubled || !change.mend.is_empty()
}

fn write(
    request: &KeepRequest,
    audited: &Audited,
    document: &ChangesDocument,
    tables: &[crate::source::copy::TableCopy],
    stop: &(dyn Fn() -> bool + Sync),
    workers: &crate::engine::Workers,
) -> Result<(), AppError> {
    let staging = Staging::begin(&request.to)?;
    let wanted = Wanted { tables, stop };
    workers.run(|| copy_all(&audited.source, &wanted, &staging))?;
    let text = document.to_json().map_err(|error| AppError::internal(error.to_string()))?;
    staging.write(CHANGES, text.as_bytes())?;
    if stop() {
        return Err(CopyError::Stopped.into());
    }
    Ok(staging.finish(CHANGES)?)
}

fn nothing_left(chosen: &Chosen) -> AppError {
    let mut reasons: Vec<(&str, usize)> = Vec::new();
    for why in chosen.left_out.iter().flat_map(|one| &one.why) {
        match reasons.iter_mut().find(|(known, _)| *known == why.as_str()) {
            Some((_, count)) => *count += 1,
            None => reasons.push((why, 1)),
        }
    }
    reasons.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let reasons: Vec<String> =
        reasons.iter().take(3).map(|(why, count)| format!("{why} ({count})")).collect();
    let what = format!("no episode is left to keep: {}", reasons.join("; "));
    AppError::nothing(what)
        .with_hint("choose otherwise; --keep-from fail keeps episodes of every verdict")
}
