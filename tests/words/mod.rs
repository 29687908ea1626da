//! The words of every text that a person reads: plain technical English, one name for each thing.

mod stream;
mod table;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::layers::root;
use stream::Word;
use table::{OLD_IDS, RULES, Rule};

/// Folders and files that hold no text of ours, or must keep old words.
const SKIPPED: &[&str] = &[
    ".git",
    "target",
    "node_modules",
    "Cargo.lock",
    "Cargo.toml",
    "LICENSE",
    "package-lock.json",
    // What was said in earlier versions.
    "CHANGELOG.md",
    // Values of other people's tables.
    "fixtures/reference",
    "fixtures/junit",
    // The refused words themselves, and the names of an earlier version.
    "tests/words",
    "scripts/compare_outputs.py",
];

/// Endings of files that hold text; scripts have none.
const READ: &[&str] =
    &["", "rs", "md", "html", "css", "js", "mjs", "json", "py", "toml", "txt", "urdf", "snap"];

/// Every file with text, as a path within the package.
fn texts(folder: &Path, found: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    for path in entries.map(|entry| entry.path()) {
        let within = path.strip_prefix(root()).unwrap_or(&path);
        if SKIPPED.iter().any(|skipped| within.ends_with(skipped)) {
            continue;
        }
        let ending = path.extension().unwrap_or_default().to_string_lossy();
        if path.is_dir() {
            texts(&path, found);
        } else if READ.contains(&ending.as_ref()) {
            found.push(within.to_owned());
        }
    }
    found.sort();
}

/// All places of a text with a refused word, as `line: words; write: others`.
fn refused(words: &[Word<'_>]) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for rule in RULES {
        for not in rule.not {
            for at in places(words, not).filter(|at| !excepted(words, *at, rule)) {
                let near = &words[at.saturating_sub(2)..words.len().min(at + 5)];
                let near: Vec<&str> = near.iter().map(|word| word.text).collect();
                let shown = format!("\"{not}\" in \"{}\"; write: {}", near.join(" "), rule.but);
                found.push((words[at].line, shown));
            }
        }
    }
    found.sort();
    found
}

/// Where a phrase occurs, whatever its capitals.
fn places<'a>(words: &'a [Word<'_>], phrase: &'a str) -> impl Iterator<Item = usize> + 'a {
    let length = phrase.split(' ').count();
    words.windows(length).enumerate().filter_map(move |(at, window)| {
        let same = window.iter().zip(phrase.split(' '));
        same.into_iter().all(|(word, wanted)| word.text.eq_ignore_ascii_case(wanted)).then_some(at)
    })
}

/// Whether a place belongs to a phrase that may stay.
fn excepted(words: &[Word<'_>], at: usize, rule: &Rule) -> bool {
    rule.except.iter().any(|phrase| {
        let length = phrase.split(' ').count();
        let from = at.saturating_sub(length);
        let to = words.len().min(at + length);
        places(&words[from..to], phrase).any(|place| (place..place + length).contains(&(at - from)))
    })
}

/// The forms in which an id may be written.
fn forms(id: &str) -> [String; 4] {
    let capital = |part: &str| part[..1].to_uppercase() + &part[1..];
    let snake = id.replace('-', "_");
    [id.to_owned(), snake.to_uppercase(), snake, id.split('-').map(capital).collect()]
}

#[test]
fn every_text_has_the_words_of_the_trade() {
    let mut files = Vec::new();
    texts(&root(), &mut files);
    assert!(files.len() > 300, "{} files: is the test looking in the right place?", files.len());
    let mut found = Vec::new();
    for file in &files {
        let text = fs::read_to_string(root().join(file)).unwrap_or_default();
        let rust = file.extension().is_some_and(|ending| ending == "rs");
        let words = if rust { stream::of_rust(&text) } else { stream::of_text(&text) };
        let shown = refused(&words);
        found.extend(shown.iter().map(|(line, what)| format!("{}:{line}: {what}", file.display())));
        for (old, new) in OLD_IDS {
            let lines = text.lines().zip(1..);
            for (_, at) in
                lines.filter(|(line, _)| forms(old).iter().any(|form| line.contains(form)))
            {
                found.push(format!("{}:{at}: {old}; write: {new}", file.display()));
            }
        }
    }
    assert!(found.is_empty(), "{} places:\n{}", found.len(), found.join("\n"));
}

/// The catalogue is held against the code by a test of its own.
#[test]
fn the_title_of_a_check_is_its_id_with_spaces() {
    let catalogue = fs::read_to_string(root().join("src/check/CATALOGUE.md")).unwrap_or_default();
    let mut checks = BTreeSet::new();
    for row in catalogue.lines().filter(|line| line.contains(" | [`")) {
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let id = cells[2].split('`').nth(1).unwrap_or_default();
        assert_eq!(cells[3], id.replace('-', " "), "{row}");
        checks.insert(id);
    }
    assert!(checks.len() > 50, "{checks:?}: has the catalogue another form?");
    let overview = fs::read_to_string(root().join("docs/checks.md")).unwrap_or_default();
    let first = overview.lines().filter_map(|line| line.strip_prefix("| `")?.split('|').next());
    let named: Vec<&str> = first.flat_map(|cell| cell.split("`, `")).collect();
    let unknown = |id: &&&str| !checks.contains(id.trim_end_matches([' ', '`']));
    assert!(named.len() > 50, "{named:?}: has the overview another form?");
    assert_eq!(named.iter().find(unknown), None, "docs/checks.md names a check that is none");
}

#[test]
fn a_planted_word_is_found_and_an_exception_stays() {
    let of_rust = |text| refused(&stream::of_rust(text));
    let all =
        of_rust("/// The value\n/// was Nought.\nfn nought() -> &str { \"x\\nleap {told}\" }");
    let lines: Vec<usize> = all.iter().map(|(line, _)| *line).collect();
    assert_eq!(lines, [2, 3], "{all:?}");
    assert!(all[0].1.contains("write: zero"), "{all:?}");
    assert_eq!(of_rust("// it was parted\n// by a line").len(), 1);
    assert_eq!(of_rust("// it was parted\nfn f() {}\n// by a line").len(), 0);
    let of_text = |text| refused(&stream::of_text(text)).len();
    assert_eq!(of_text("at least two; by least squares; the noise floor; `scripts/bench`"), 0);
    assert_eq!(of_text("the least of two values, told on the bench"), 3);
    assert_eq!(of_text("the measurement `play` of a joint with play"), 1);
    assert_eq!(of_rust("f(\"play\", \"much play\")").len(), 1);
    assert_eq!(forms("lost-following").len(), 4);
    assert!(forms("lost-following").contains(&"LostFollowing".to_owned()));
}

#[test]
fn no_word_is_refused_and_allowed_at_once() {
    let mut seen = BTreeSet::new();
    for rule in RULES {
        assert!(!rule.but.is_empty() && !rule.not.is_empty());
        for not in rule.not {
            assert!(seen.insert(not), "{not} twice");
            assert_eq!(not.to_lowercase(), **not);
        }
        for phrase in rule.except {
            let words = stream::of_text(phrase);
            assert!(rule.not.iter().any(|not| places(&words, not).next().is_some()), "{phrase}");
        }
    }
}
