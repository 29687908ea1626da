//! What a file of code declares, imports and names.

use std::collections::BTreeSet;

/// A path as written: `["super", "row", "Row"]`.
pub type Names = Vec<String>;

/// One name that a `use` brings in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Import {
    /// The path as written, without `self` at its end; of a glob, the path before the star.
    pub path: Names,
    /// The name it has here.
    pub name: String,
    pub public: bool,
    pub glob: bool,
}

/// What one file of code declares and names.
#[derive(Debug, Clone, Default)]
pub struct Outline {
    /// Child modules that have a file of their own.
    pub children: BTreeSet<String>,
    /// Items declared at the top.
    pub items: BTreeSet<String>,
    pub imports: Vec<Import>,
    /// Paths of two names and more outside imports.
    pub paths: Vec<Names>,
    /// First names of everything outside imports; names of methods and fields are none.
    pub names: BTreeSet<String>,
}

const DECLARE: &[&str] =
    &["fn", "struct", "enum", "union", "trait", "type", "const", "static", "mod"];

/// Reads code without comments, literals and tests.
pub fn outline(code: &str) -> Outline {
    let tokens = tokens(code);
    let mut found = Outline::default();
    let (mut at, mut depth) = (0, 0);
    while at < tokens.len() {
        let token = tokens[at];
        let next = tokens.get(at + 1).copied().unwrap_or_default();
        depth += i32::from(token == "{") - i32::from(token == "}");
        if token == "use" {
            let end = tokens[at..].iter().position(|t| *t == ";").map_or(tokens.len(), |n| at + n);
            // `pub use` and `pub(crate) use` alike.
            let before = at.checked_sub(1).map_or("", |n| tokens[n]);
            let public = before == "pub" || before == ")";
            imports(&tokens[at + 1..end], &[], public, &mut found.imports);
            at = end;
        } else if DECLARE.contains(&token) && name(next) && !DECLARE.contains(&next) {
            let file = token == "mod" && tokens.get(at + 2) == Some(&";");
            let known = if file { &mut found.children } else { &mut found.items };
            if depth == 0 {
                known.insert(next.to_owned());
            }
            at += 2;
        } else if name(token) && at.checked_sub(1).is_none_or(|n| tokens[n] != ".") {
            let mut path = vec![token.to_owned()];
            while tokens.get(at + 1) == Some(&"::") && tokens.get(at + 2).is_some_and(|t| name(t)) {
                path.push(tokens[at + 2].to_owned());
                at += 2;
            }
            found.names.insert(token.to_owned());
            if path.len() > 1 {
                found.paths.push(path);
            }
            at += 1;
        } else {
            at += 1;
        }
    }
    found
}

fn name(token: &str) -> bool {
    token.starts_with(|c: char| c.is_alphabetic() || c == '_')
}

/// Names, `::`, and every other sign alone.
fn tokens(code: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut rest = code.trim_start();
    while let Some(first) = rest.chars().next() {
        let word = |c: char| c.is_alphanumeric() || c == '_';
        let length = if word(first) {
            rest.find(|c| !word(c)).unwrap_or(rest.len())
        } else if rest.starts_with("::") {
            2
        } else {
            first.len_utf8()
        };
        found.push(&rest[..length]);
        rest = rest[length..].trim_start();
    }
    found
}

/// The names that a tree of imports brings in.
fn imports(tree: &[&str], before: &[String], public: bool, found: &mut Vec<Import>) {
    let mut path = before.to_vec();
    for (at, token) in tree.iter().enumerate() {
        match *token {
            "{" => {
                let inside = &tree[at + 1..tree.len() - 1];
                let mut depth = 0;
                let branches = inside.split(|token| {
                    depth += i32::from(*token == "{") - i32::from(*token == "}");
                    *token == "," && depth == 0
                });
                branches.for_each(|branch| imports(branch, &path, public, found));
                return;
            }
            "*" => {
                found.push(Import { path, name: String::new(), public, glob: true });
                return;
            }
            "as" => break,
            "self" if !path.is_empty() => {}
            token if name(token) => path.push(token.to_owned()),
            _ => {}
        }
    }
    let renamed = tree.iter().position(|token| *token == "as").and_then(|at| tree.get(at + 1));
    if let (Some(last), false) = (path.last().cloned(), tree.is_empty()) {
        let name = renamed.map_or(last, |name| (*name).to_owned());
        found.push(Import { path, name, public, glob: false });
    }
}

#[test]
fn declarations_imports_and_paths_are_read() {
    let found = outline(
        "mod a; pub mod b; pub(crate) use b::{c::{self, D as E}, f::*}; use super::super::g; \
         pub const fn h() { super::i::j(); k.l(); mod_::M::<u8>::n } enum O { P } mod q { fn r() {} }",
    );
    let joined = |names: &[String]| names.join("::");
    assert_eq!(joined(&found.children.iter().cloned().collect::<Vec<_>>()), "a::b");
    assert_eq!(joined(&found.items.iter().cloned().collect::<Vec<_>>()), "O::h::q");
    let imports: Vec<String> = found
        .imports
        .iter()
        .map(|i| format!("{} {} {} {}", joined(&i.path), i.name, i.public, i.glob))
        .collect();
    let wanted = ["b::c c true false", "b::c::D E true false", "b::f  true true"];
    assert_eq!(imports[..3], wanted);
    assert_eq!(imports[3], "super::super::g g false false");
    let paths: Vec<String> = found.paths.iter().map(|path| joined(path)).collect();
    assert_eq!(paths, ["super::i::j", "mod_::M"]);
    assert!(found.names.contains("k") && !found.names.contains("l"));
}
