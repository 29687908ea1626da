//! Which file of the library needs which: every name is followed to the file that defines it.

use std::collections::{BTreeMap, BTreeSet};

use super::names::{Import, Names, Outline, outline};
use crate::support::rust;

/// The files of the library, by module: `["report", "html", "rows"]`.
pub struct Library {
    modules: BTreeMap<Names, Module>,
}

struct Module {
    file: String,
    outline: Outline,
}

/// File to the files whose items it names.
pub type Graph = BTreeMap<String, BTreeSet<String>>;

/// Imports may lead to imports; no chain of re-exports is as long as this.
const DEEPEST: usize = 16;

impl Library {
    /// Reads files by their path within `src`. Files that belong to tests only are left out.
    pub fn of<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let mut texts: BTreeMap<Names, (String, String)> = BTreeMap::new();
        for (file, text) in files {
            let stem = file.trim_end_matches(".rs").trim_end_matches("/mod");
            let root = ["lib", "main"].contains(&stem);
            let module = if root { Names::new() } else { split(stem, "/") };
            let (known, all) = texts.entry(module).or_default();
            file.clone_into(known);
            all.push_str(&rust::code(text));
        }
        let outlines = texts.into_iter().map(|(module, (file, code))| {
            let outline = outline(&code);
            (module, Module { file, outline })
        });
        let mut all = Self { modules: outlines.collect() };
        let declared = |module: &Names| {
            (0..module.len()).all(|at| {
                let above = all.modules.get(&module[..at]);
                above.is_some_and(|above| above.outline.children.contains(&module[at]))
            })
        };
        let for_tests: Vec<Names> =
            all.modules.keys().filter(|module| !declared(module)).cloned().collect();
        all.modules.retain(|module, _| !for_tests.contains(module));
        all
    }

    /// Every file with the files that define what it names.
    pub fn graph(&self) -> Graph {
        let mut graph = Graph::new();
        for (own, module) in &self.modules {
            let mut needed = BTreeSet::new();
            for path in self.named(own, module) {
                needed.extend(self.file_of(&path, 0).map(str::to_owned));
            }
            needed.remove(&module.file);
            graph.insert(module.file.clone(), needed);
        }
        graph
    }

    /// Every file with the modules of the top that it names, under whatever path.
    pub fn tops(&self) -> BTreeMap<&str, BTreeSet<String>> {
        let of = |(own, module): (&Names, &Module)| {
            let outline = &module.outline;
            let imports = outline.imports.iter().map(|import| &import.path);
            let all = imports.chain(&outline.paths).filter_map(|path| self.absolute(own, path, 0));
            all.filter_map(|path| path.into_iter().next()).collect()
        };
        self.modules.iter().map(|one| (one.1.file.as_str(), of(one))).collect()
    }

    /// Whole paths of all that a module needs. A name that is only passed on is not needed.
    fn named(&self, own: &Names, module: &Module) -> Vec<Names> {
        let outline = &module.outline;
        let mut found = Vec::new();
        let mut add = |path: Option<Names>| found.extend(path);
        for import in &outline.imports {
            if import.glob {
                let from = self.absolute(own, &import.path, 0);
                for name in &outline.names {
                    let within = from.as_ref().map(|from| join(from, [name]));
                    add(within.filter(|path| self.defines(path)));
                }
            } else if !import.public || outline.names.contains(&import.name) {
                // A module, and not an item that has the same name.
                let opens = |path: &Names| path[0] == import.name;
                let whole = self.absolute(own, &import.path, 0);
                let module = |path: &Names| self.modules.contains_key(path);
                add(whole.filter(|path| !module(path) || !outline.paths.iter().any(opens)));
            }
        }
        outline.paths.iter().for_each(|path| add(self.absolute(own, path, 0)));
        found
    }

    /// A path from the root of the library; none where it leads out of it.
    fn absolute(&self, own: &[String], path: &[String], depth: usize) -> Option<Names> {
        let (first, rest) = path.split_first().filter(|_| depth < DEEPEST)?;
        match first.as_str() {
            "crate" | "teleassay" => return Some(rest.to_vec()),
            "self" => return Some(join(own, rest)),
            "super" => {
                let above = own.len().checked_sub(1)?;
                let further = rest.first().is_some_and(|next| next == "super");
                return if further {
                    self.absolute(&own[..above], rest, depth)
                } else {
                    Some(join(&own[..above], rest))
                };
            }
            _ => {}
        }
        let outline = &self.modules.get(own)?.outline;
        if outline.children.contains(first) || outline.items.contains(first) {
            return Some(join(own, path));
        }
        let import = import_of(outline, first)?;
        // `use time::Time` inside a module names a library of its own where nothing else fits.
        let same = import.path.first() == Some(first);
        let inside = outline.children.contains(&import.path[0]);
        let known = !same || inside;
        let whole = if known { self.absolute(own, &import.path, depth + 1)? } else { return None };
        Some(join(&whole, rest))
    }

    /// The file that defines what a whole path names; none for a module as such.
    fn file_of(&self, path: &[String], depth: usize) -> Option<&str> {
        if depth > DEEPEST {
            return None;
        }
        let inside = |length: &usize| self.modules.contains_key(&path[..*length]);
        let length = (0..=path.len()).take_while(inside).last()?;
        if length == path.len() && length > 0 {
            // A function may have the name of its module, and be passed on under that name.
            return self.passed_on(&path[..length - 1], &path[length - 1], &[], depth);
        }
        let (own, rest) = path.split_at(length);
        let module = self.modules.get(own)?;
        let (first, after) = rest.split_first()?;
        if module.outline.items.contains(first) {
            return Some(&module.file);
        }
        self.passed_on(own, first, after, depth).or(Some(&module.file))
    }

    /// The file that defines an item which a module imports and passes on.
    fn passed_on(&self, own: &[String], name: &str, after: &[String], deep: usize) -> Option<&str> {
        let outline = &self.modules.get(own)?.outline;
        if let Some(import) = import_of(outline, name) {
            let whole = self.absolute(own, &import.path, deep + 1)?;
            return self.file_of(&join(&whole, after), deep + 1);
        }
        let globs = outline.imports.iter().filter(|import| import.glob);
        let mut wholes = globs.filter_map(|import| {
            let whole = join(&self.absolute(own, &import.path, deep + 1)?, [&name.to_owned()]);
            self.defines(&whole).then_some(whole)
        });
        let whole = wholes.next()?;
        self.file_of(&join(&whole, after), deep + 1)
    }

    /// Whether a path is a module and an item or import of it.
    fn defines(&self, path: &[String]) -> bool {
        path.split_last().is_some_and(|(name, own)| {
            self.modules.get(own).is_some_and(|module| {
                let outline = &module.outline;
                outline.items.contains(name) || import_of(outline, name).is_some()
            })
        })
    }
}

fn import_of<'a>(outline: &'a Outline, name: &str) -> Option<&'a Import> {
    outline.imports.iter().find(|import| !import.glob && import.name == name)
}

fn join<'a>(own: &[String], rest: impl IntoIterator<Item = &'a String>) -> Names {
    let mut whole = own.to_vec();
    whole.extend(rest.into_iter().cloned());
    whole
}

fn split(path: &str, separator: &str) -> Names {
    path.split(separator).filter(|part| !part.is_empty()).map(str::to_owned).collect()
}
