//! What a person and a machine get to read: renderers on hand-built outcomes, profiles, the binary.

mod accept;
mod actions;
mod bad_input;
mod baseline;
mod binary;
mod comparison;
mod course;
mod explain;
mod extras;
mod files;
mod gate;
mod github;
mod html;
mod json;
mod judge;
mod junit;
mod lists;
mod machines;
mod names;
mod normalisation;
mod options;
mod outcome;
mod overwrite;
mod pipeline;
mod profile;
pub mod schema;
mod shells;
mod skipped;
mod specs;
mod streams;
mod terminal;
mod trace;
mod units;

/// Holds text against the one that is kept under `tests/snapshots`.
fn snapshot(name: &str, text: &str) {
    insta::with_settings!({
        snapshot_path => "../snapshots",
        prepend_module_to_snapshot => false,
        omit_expression => true
    }, { insta::assert_snapshot!(name, text) });
}

/// How many lines an excerpt in a page has, each of which must be printed, in that order. The
/// excerpt begins after a line with `mark` and the one below it.
pub fn excerpt(page: &str, mark: &str, printed: &str) -> Result<usize, String> {
    let from = page.find(mark).ok_or("no excerpt")?;
    let excerpt = page[from..].lines().skip(2).take_while(|line| *line != "```");
    let mut lines = printed.lines();
    let mut shown = 0;
    for line in excerpt.filter(|line| !line.is_empty() && *line != "  ...") {
        if !lines.any(|printed| printed == line) {
            return Err(format!("not printed, or not in this place: {line}"));
        }
        shown += 1;
    }
    Ok(shown)
}
