//! Ids of episodes that several named paths have in common.
//!
//! An id is what the data says. Where one named path has it twice, both are written with their path
//! below it. Paths are read one after the other, each as if it were alone: where a later one has an
//! id that is taken, all its ids are written behind its own name. So nothing that was read before
//! gets another id when a path is added behind it.

use std::collections::{HashMap, HashSet};
use std::path::{Component, Path, PathBuf};

use crate::model::name_text;

/// Paths that were named, in order: what a file lies in is the first that leads to it.
#[derive(Debug, Default)]
pub struct Roots<'a> {
    places: HashMap<&'a Path, usize>,
    roots: &'a [PathBuf],
}

impl<'a> Roots<'a> {
    /// Takes the paths in their order.
    pub fn new(roots: &'a [PathBuf]) -> Self {
        let mut places = HashMap::with_capacity(roots.len());
        for (at, root) in roots.iter().enumerate() {
            places.entry(root.as_path()).or_insert(at);
        }
        Self { places, roots }
    }

    /// Which one a file lies in; the first if it lies in none.
    pub fn of(&self, file: &Path) -> usize {
        let known = file.ancestors().filter_map(|folder| self.places.get(folder).copied());
        known.min().unwrap_or(0)
    }

    /// Gives ids that an earlier root has the name of their own in front. `root_of` is the root of
    /// each id.
    pub fn distinguish(&self, ids: &mut [String], root_of: &[usize]) {
        if self.roots.len() < 2 {
            return;
        }
        let mut of_root: Vec<Vec<usize>> = vec![Vec::new(); self.roots.len()];
        for (id, root) in root_of.iter().enumerate() {
            of_root[*root].push(id);
        }
        let mut taken: HashSet<String> = HashSet::with_capacity(ids.len());
        let mut named: HashSet<String> = HashSet::new();
        for (root, own) in self.roots.iter().zip(&of_root) {
            let tails = tails(root);
            if own.iter().any(|at| taken.contains(&ids[*at])) {
                let free = |tail: &&String| {
                    let longer = |at: &usize| format!("{tail}/{}", ids[*at]);
                    !named.contains(*tail) && !own.iter().any(|at| taken.contains(&longer(at)))
                };
                if let Some(tail) = tails.iter().find(free).or(tails.last()) {
                    for at in own {
                        ids[*at] = format!("{tail}/{}", ids[*at]);
                    }
                }
            }
            taken.extend(own.iter().map(|at| ids[*at].clone()));
            named.extend(tails);
        }
    }
}

/// Names of a folder, the shortest first: `tuesday`, `lab/tuesday`, ...
fn tails(root: &Path) -> Vec<String> {
    // Of `.` and of nothing at all, the name of the folder that is meant.
    let root = if root.as_os_str().is_empty() { Path::new(".") } else { root };
    let whole = std::path::absolute(root).unwrap_or_else(|_| root.to_path_buf());
    let names = whole.components().filter_map(|part| match part {
        Component::Normal(name) => Some(name_text(name)),
        _ => None,
    });
    let mut tails: Vec<String> = Vec::new();
    for name in names.collect::<Vec<_>>().into_iter().rev() {
        let tail = tails.last().map_or_else(|| name.clone(), |tail| format!("{name}/{tail}"));
        tails.push(tail);
    }
    tails
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ids of two episodes, `0` and `1`, in each of these paths.
    fn ids(roots: &[&str]) -> Vec<String> {
        let roots: Vec<PathBuf> = roots.iter().map(PathBuf::from).collect();
        let all = Roots::new(&roots);
        let files: Vec<PathBuf> = roots
            .iter()
            .flat_map(|root| [root.join("a.parquet"), root.join("x/b.parquet")])
            .collect();
        let root_of: Vec<usize> = files.iter().map(|file| all.of(file)).collect();
        let mut ids: Vec<String> = (0..files.len()).map(|n| (n % 2).to_string()).collect();
        all.distinguish(&mut ids, &root_of);
        ids
    }

    #[test]
    fn ids_stay_when_paths_are_added_behind() {
        let paths = ["monday", "lab/tuesday", "other/lab/tuesday", "wednesday"];
        let all = ids(&paths);
        let wanted = ["0", "1", "tuesday/0", "tuesday/1", "other/lab/tuesday/0"];
        assert_eq!(all[..5], wanted);
        assert_eq!(all[6..], ["wednesday/0", "wednesday/1"]);
        for number in 1..paths.len() {
            assert_eq!(ids(&paths[..number]), all[..2 * number]);
        }
    }

    #[test]
    fn a_file_lies_in_the_first_path_that_leads_to_it() {
        let roots = ["a/b", "a", "a/b"].map(PathBuf::from);
        let roots = Roots::new(&roots);
        let of = |file: &str| roots.of(Path::new(file));
        assert_eq!([of("a/b/c/x"), of("a/x"), of("elsewhere/x")], [0, 1, 0]);
        // Nothing is clashing: nothing is changed.
        let mut ids = ["0".to_owned(), "1".to_owned()];
        roots.distinguish(&mut ids, &[0, 1]);
        assert_eq!(ids, ["0", "1"]);
    }

    #[test]
    fn the_folder_that_is_meant_has_a_name() {
        assert_eq!(tails(Path::new("/lab/tuesday")), ["tuesday", "lab/tuesday"]);
        assert!(!tails(Path::new(".")).is_empty() && !tails(Path::new("")).is_empty());
    }
}
