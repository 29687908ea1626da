//! Ids of episodes from several measurements files, made unique as an audit of all the data would.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::open::Stored;
use super::stored_file::StoredFile;
use crate::model::{Scorecard, path_of, path_text};
use crate::source::{Role, Roots};

impl Stored {
    /// Gives episodes of several measurements files that have the same id the names they would have
    /// in one audit of the same paths in the same order.
    ///
    /// # Errors
    /// If an episode is in two measurements files.
    pub fn tell_apart(&self, cards: &mut [Scorecard]) -> Result<(), StoreError> {
        if self.files.len() < 2 {
            return Ok(());
        }
        self.refuse_twins(cards)?;
        let roots: Vec<PathBuf> = self.files.iter().flat_map(roots).collect();
        let all = Roots::new(&roots);
        let root_of: Vec<usize> = cards.iter().map(|card| all.of(self.input(card))).collect();
        let mut ids: Vec<String> =
            cards.iter_mut().map(|card| std::mem::take(&mut card.key.id)).collect();
        all.distinguish(&mut ids, &root_of);
        cards.iter_mut().zip(ids).for_each(|(card, id)| card.key.id = id);
        Ok(())
    }

    /// The recording that a card's episode was read from.
    fn input(&self, card: &Scorecard) -> &Path {
        let input = self.inputs().get(card.key.rows.input as usize);
        input.map_or(Path::new(""), |input| &input.path)
    }

    /// The same rows of a recording, or the same id in the same folder, are one episode: it cannot
    /// be in two files.
    fn refuse_twins(&self, cards: &[Scorecard]) -> Result<(), StoreError> {
        let by_file = self.one_file_one_episode();
        let mut rows: HashMap<(&Path, u64), usize> = HashMap::with_capacity(cards.len());
        let mut ids: HashMap<(&Path, &str), usize> = HashMap::with_capacity(cards.len());
        for (at, card) in cards.iter().enumerate() {
            let input = self.input(card);
            let place = if by_file { input } else { input.parent().unwrap_or(input) };
            let named = *ids.entry((place, &card.key.id)).or_insert(at);
            let known = !input.as_os_str().is_empty();
            let first = known.then(|| *rows.entry((input, card.key.rows.start)).or_insert(at));
            let twin = first.into_iter().chain([named]).find(|twin| *twin != at);
            let Some(twin) = twin else { continue };
            let path_of = |at: usize| self.path_of(cards[at].key.index).to_owned();
            return Err(StoreError::Twice {
                id: card.key.id.clone(),
                from: path_text(self.input(&cards[twin])),
                first: path_of(twin),
                other: path_of(at),
            });
        }
        Ok(())
    }

    fn one_file_one_episode(&self) -> bool {
        let episode = self.roles().iter().find(|role| role.role == Role::Episode);
        episode.is_none_or(|role| role.columns.is_empty())
            && self.inputs().len() as u64 == self.episodes()
    }
}

/// The paths that were named when a file was measured; of files that do not say, the folder that
/// their recordings share.
fn roots(file: &StoredFile) -> Vec<PathBuf> {
    if !file.header.roots.is_empty() {
        return file.header.roots.iter().map(|root| path_of(root)).collect();
    }
    let folder = |path: &Path| path.parent().map(Path::to_path_buf).unwrap_or_default();
    let mut folders = file.header.inputs.iter().map(|input| folder(&input.path));
    let mut common = folders.next().unwrap_or_default();
    for folder in folders {
        while !folder.starts_with(&common) && common.pop() {}
    }
    vec![common]
}
