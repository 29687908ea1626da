//! What a person and a machine get to read: renderers on hand-built outcomes, profiles, the binary.

mod actions;
mod bad_input;
mod baseline;
mod binary;
mod comparison;
mod explain;
mod extras;
mod files;
mod github;
mod html;
mod json;
mod judge;
mod junit;
mod normalisation;
mod options;
mod outcome;
mod overwrite;
mod profile;
mod schema;
mod shells;
mod specs;
mod streams;
mod terminal;
mod trace;

/// Holds text against the one that is kept under `tests/snapshots`.
fn snapshot(name: &str, text: &str) {
    insta::with_settings!({
        snapshot_path => "../snapshots",
        prepend_module_to_snapshot => false,
        omit_expression => true
    }, { insta::assert_snapshot!(name, text) });
}
