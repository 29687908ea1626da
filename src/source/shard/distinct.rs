//! Ids of episodes that different folders or files have in common.

use std::collections::HashMap;
use std::path::PathBuf;

use crate::source::ids::Roots;
use crate::source::input::Input;
use crate::source::roles::folder::{below, folder_of, slashed};

/// The folders that episodes lie in, where one file is not one episode.
#[derive(Debug)]
pub(in crate::source) struct Folders<'a> {
    pub all: Vec<PathBuf>,
    /// The folder of each episode.
    pub owners: Vec<u32>,
    /// The key among the folders that names the episode.
    pub key: Option<&'a str>,
}

/// Gives ids that occur more than once a longer name: below one root the path from there, behind it
/// the root's own name. `of_episode` is the file that each begins in.
pub(in crate::source) fn ids(
    ids: &mut [String],
    of_episode: &[u32],
    inputs: &[Input],
    roots: &[PathBuf],
    folders: Option<&Folders<'_>>,
) {
    let all = Roots::new(roots);
    let place = |input: &Input| if roots.len() > 1 { all.of(&input.path) } else { 0 };
    let of_input: Vec<usize> = inputs.iter().map(place).collect();
    let root_of: Vec<usize> = of_episode.iter().map(|at| of_input[*at as usize]).collect();
    for number in clashing(ids, &root_of) {
        let root = roots.get(root_of[number]).cloned().unwrap_or_default();
        let Some(Folders { all: folders, owners, key }) = folders else {
            ids[number] = slashed(below(&inputs[of_episode[number] as usize].path, &root));
            continue;
        };
        let root = folder_of(&root.join("file"), *key);
        let folder = slashed(below(&folders[owners[number] as usize], &root));
        if !folder.is_empty() {
            ids[number] = format!("{folder}/{}", ids[number]);
        }
    }
    all.distinguish(ids, &root_of);
}

/// Numbers of the episodes whose id another one below the same root has.
fn clashing(ids: &[String], root_of: &[usize]) -> Vec<usize> {
    let mut uses: HashMap<(usize, &str), u32> = HashMap::with_capacity(ids.len());
    let key = |number: usize| (root_of[number], ids[number].as_str());
    for number in 0..ids.len() {
        *uses.entry(key(number)).or_default() += 1;
    }
    (0..ids.len()).filter(|number| uses[&key(*number)] > 1).collect()
}
