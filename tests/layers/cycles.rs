//! No file of the library needs itself by way of others.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::graph::{Graph, Library};

/// All that can be reached from a file, itself only where it needs itself.
fn reached<'a>(graph: &'a Graph, from: &str) -> BTreeSet<&'a str> {
    let mut found = BTreeSet::new();
    let mut open = vec![from];
    while let Some(file) = open.pop() {
        for next in graph.get(file).into_iter().flatten() {
            if found.insert(next.as_str()) {
                open.push(next);
            }
        }
    }
    found
}

/// Groups of files that need each other.
pub fn cycles(graph: &Graph) -> Vec<Vec<&str>> {
    let mut found: Vec<Vec<&str>> = Vec::new();
    for file in graph.keys() {
        let known = found.iter().flatten().any(|other| other == file);
        let group = reached(graph, file);
        if !known && group.contains(file.as_str()) {
            let back = |other: &&str| reached(graph, other).contains(file.as_str());
            found.push(group.into_iter().filter(back).collect());
        }
    }
    found
}

/// The cycles of a graph in words: each file, and what it needs of its own group.
pub fn describe(graph: &Graph) -> String {
    let mut text = String::new();
    for group in cycles(graph) {
        let _ = writeln!(text, "{} files need each other:", group.len());
        for file in &group {
            let needed = graph[*file].iter().filter(|other| group.contains(&other.as_str()));
            let needed: Vec<&str> = needed.map(String::as_str).collect();
            let _ = writeln!(text, "  {file} needs {}", needed.join(", "));
        }
    }
    text
}

fn graph_of(files: &[(&str, &str)]) -> Graph {
    Library::of(files.iter().copied()).graph()
}

#[test]
fn a_planted_cycle_between_siblings_is_found() {
    let graph = graph_of(&[
        ("lib.rs", "pub mod room;"),
        ("room/mod.rs", "mod bed;\nmod chair;\nmod table;\npub use bed::Bed;"),
        ("room/bed.rs", "use super::chair::Chair;\npub struct Bed(Chair);"),
        ("room/chair.rs", "pub struct Chair;\nfn f() { crate::room::table::set() }"),
        ("room/table.rs", "use super::{Bed, chair};\npub fn set() -> Bed { Bed(chair::Chair) }"),
    ]);
    assert_eq!(cycles(&graph), [["room/bed.rs", "room/chair.rs", "room/table.rs"]]);
    assert!(describe(&graph).contains("room/chair.rs needs room/table.rs"), "{graph:?}");
}

#[test]
fn a_parent_is_in_a_cycle_only_where_it_needs_its_child() {
    let files = |parent| {
        graph_of(&[
            ("lib.rs", "mod room;"),
            ("room/mod.rs", parent),
            ("room/bed.rs", "use super::Wall;\n#[cfg(test)]\nmod tests;\npub struct Bed(Wall);"),
            ("room/bed/tests.rs", "use super::super::seat::Seat;"),
            ("room/seat.rs", "use super::bed::Bed;\n#[cfg(test)]\nmod tests { use super::*; }"),
        ])
    };
    let passes = files("mod bed;\nmod seat;\npub use bed::Bed;\npub struct Wall;");
    assert!(cycles(&passes).is_empty(), "{passes:?}");
    for needs in [
        "mod bed;\nmod seat;\npub use bed::Bed;\npub struct Wall;\nfn f(bed: Bed) {}",
        "mod bed;\nmod seat;\npub struct Wall;\nfn f(bed: bed::Bed) {}",
        "mod bed;\nmod seat;\nuse self::bed::*;\npub struct Wall;\nfn f(bed: Bed) {}",
    ] {
        assert_eq!(cycles(&files(needs)), [["room/bed.rs", "room/mod.rs"]], "{needs}");
    }
}

#[test]
fn names_are_followed_through_groups_globs_and_new_names() {
    let graph = graph_of(&[
        ("lib.rs", "mod room;\nmod yard;"),
        ("room/mod.rs", "mod bed;\nmod deep;\npub(crate) use bed::{Bed as Couch, sleep::*};"),
        ("room/bed/mod.rs", "pub mod sleep;\npub struct Bed;"),
        ("room/bed/sleep.rs", "pub fn doze() {}"),
        ("room/deep.rs", "use super::super::yard;\nfn f() { yard::dig() }"),
        ("yard.rs", "use crate::{room::{self, Couch}};\npub fn dig() { room::doze() }"),
    ]);
    let of = |file: &str| graph[file].iter().map(String::as_str).collect::<Vec<_>>();
    assert_eq!(of("yard.rs"), ["room/bed/mod.rs", "room/bed/sleep.rs"]);
    assert_eq!(of("room/deep.rs"), ["yard.rs"]);
    assert!(of("room/mod.rs").is_empty() && of("room/bed/mod.rs").is_empty());
    let same_name = graph_of(&[
        ("lib.rs", "mod judge; mod engine; mod app; pub use app::judge;"),
        ("judge.rs", "pub fn hold() {}"),
        ("app.rs", "pub fn judge() {}"),
        ("engine.rs", "use crate::judge;\nfn f() { judge::hold() }"),
    ]);
    assert_eq!(same_name["engine.rs"].iter().collect::<Vec<_>>(), ["judge.rs"]);
    let sleeps = graph_of(&[("main.rs", "use rayon::prelude::*;\nuse time::Time as time;")]);
    assert_eq!(sleeps.values().map(BTreeSet::len).sum::<usize>(), 0);
}
