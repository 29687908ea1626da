//! Each check is registered, documented, and named after its file.

use std::collections::BTreeSet;
use std::fs;

use super::{rust_files, source_root};
use teleassay::catalogue::{ALL, find, specs};
use teleassay::model::Family;

#[test]
fn every_check_file_is_registered_under_its_name_and_family() {
    let mut files = BTreeSet::new();
    let folders = ["check", "cohort"].map(|folder| rust_files(&source_root().join(folder)));
    for path in folders.concat() {
        let text = fs::read_to_string(&path).unwrap_or_default();
        if !text.contains("pub static CHECK: Check =") {
            continue;
        }
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().replace('_', "-");
        let family = path.parent().and_then(|p| p.file_name()).unwrap_or_default();
        let family = family.to_string_lossy().replace("cohort", "session");
        files.insert((family, stem));
    }
    let registered: BTreeSet<(String, String)> =
        specs().map(|spec| (spec.family.name().to_owned(), spec.id.to_owned())).collect();
    assert_eq!(files, registered);
    assert_eq!(registered.len(), ALL.len());
}

#[test]
fn the_catalogue_finds_each_check_by_its_id() {
    for check in ALL {
        assert!(find(check.spec.id).is_some_and(|found| found.spec.is(check.spec)));
        assert_eq!(check.reads_episodes(), check.spec.family != Family::Session);
    }
    assert!(find("no-such-check").is_none());
}

#[test]
fn every_check_is_documented_by_its_own_file() {
    for spec in specs() {
        let manual = spec.manual_text();
        let what = spec.id;
        assert!(manual.len() > 200, "{what}: the opening comment is the manual");
        for part in ["How:", "Traps:"] {
            assert!(manual.contains(part), "{what}: the manual has no {part}");
        }
        assert!(manual.is_ascii(), "{what}: the terminal is plain ASCII");
        for text in [spec.title().as_str(), spec.cause, spec.remedy, spec.reference] {
            assert!(!text.is_empty() && text.is_ascii(), "{what}: {text:?}");
        }
        let own = spec.source.contains(&format!("id: \"{what}\""));
        assert!(own, "{what}: `source` is not the check's own file");
    }
}

#[test]
fn ids_are_unique_and_plain() {
    let mut seen = BTreeSet::new();
    for spec in specs() {
        assert!(seen.insert(spec.id), "{} twice", spec.id);
        let mut metrics = BTreeSet::new();
        for metric in spec.metrics {
            assert!(metrics.insert(metric.id), "{}: {} twice", spec.id, metric.id);
            let plain =
                metric.id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
            assert!(plain && metric.summary.is_ascii(), "{}: {}", spec.id, metric.id);
        }
        assert!(!metrics.is_empty(), "{} measures nothing", spec.id);
    }
}
