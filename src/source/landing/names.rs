//! Ids of episodes that were read file by file, as an audit of the whole folder gives them.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};

use crate::source::input::Input;
use crate::source::role::{Role, RoleChoice};
use crate::source::roles::folder::{below, folder_of, slashed};
use crate::source::shard::distinct::{self, Folders};

/// Where the ids of episodes come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum IdsFrom {
    /// A column.
    Column,
    /// The names of the files.
    File,
    /// This key among the folders.
    Key(String),
}

impl IdsFrom {
    /// By the columns of the roles.
    pub fn of(roles: &[RoleChoice]) -> Self {
        let role = roles.iter().find(|choice| choice.role == Role::Episode);
        match role.and_then(|choice| Some((choice.columns.first()?, choice.shape.as_str()))) {
            None => Self::File,
            Some((key, "folder key")) => Self::Key(key.clone()),
            Some(_) => Self::Column,
        }
    }
}

/// Gives ids that occur more than once the names that an audit of `root` gives them. An id that two
/// files of one folder have gets their names as well; gives these ids. `of_episode` is the
/// number of each one's file.
pub fn names(
    ids: &mut [String],
    of_episode: &[u32],
    inputs: &[Input],
    root: &Path,
    from: &IdsFrom,
) -> Vec<String> {
    let key = match from {
        IdsFrom::Key(key) => Some(key.as_str()),
        _ => None,
    };
    let mut all: Vec<PathBuf> = Vec::new();
    let mut numbers: HashMap<PathBuf, u32> = HashMap::new();
    let mut owner = |input: &Input| {
        let folder = folder_of(&input.path, key);
        *numbers.entry(folder).or_insert_with_key(|folder| {
            all.push(folder.clone());
            all.len() as u32 - 1
        })
    };
    let of_input: Vec<u32> = inputs.iter().map(&mut owner).collect();
    let owners = of_episode.iter().map(|input| of_input[*input as usize]).collect();
    let folders = (*from != IdsFrom::File).then_some(Folders { all, owners, key });
    let roots = [root.to_path_buf()];
    if folders.as_ref().is_none_or(|known| known.all.len() > 1) {
        distinct::ids(ids, of_episode, inputs, &roots, folders.as_ref());
    }
    let mut known: HashSet<String> = HashSet::with_capacity(ids.len());
    let mut twice = Vec::new();
    for (id, input) in ids.iter_mut().zip(of_episode) {
        if !known.insert(id.clone()) {
            twice.push(id.clone());
            *id = format!("{id} ({})", slashed(below(&inputs[*input as usize].path, root)));
        }
    }
    twice
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(paths: &[&str], ids: &[&str], from: &IdsFrom) -> (Vec<String>, Vec<String>) {
        let input = |path: &&str| Input { path: path.into(), bytes: 1, rows: 1, sha256: None };
        let inputs: Vec<Input> = paths.iter().map(input).collect();
        let of: Vec<u32> = (0..ids.len() as u32).collect();
        let mut ids: Vec<String> = ids.iter().map(|id| (*id).to_owned()).collect();
        let twice = names(&mut ids, &of, &inputs, Path::new("data"), from);
        (ids, twice)
    }

    #[test]
    fn ids_that_clash_get_their_folder_and_within_one_their_file() {
        let paths = ["data/a/1.parquet", "data/b/1.parquet"];
        let of_files = named(&paths, &["1", "1"], &IdsFrom::File).0;
        assert_eq!(of_files, ["a/1.parquet", "b/1.parquet"]);
        assert_eq!(named(&paths, &["1", "1"], &IdsFrom::Column).0, ["a/1", "b/1"]);
        assert_eq!(named(&paths, &["1", "2"], &IdsFrom::Column).0, ["1", "2"]);
        let paths = ["data/1.parquet", "data/2.parquet"];
        let (ids, twice) = named(&paths, &["0", "0"], &IdsFrom::Column);
        assert_eq!((ids[1].as_str(), twice), ("0 (2.parquet)", vec!["0".to_owned()]));
    }
}
