//! Ids of episodes from several measurements files, made unique as an audit of all the data would.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::open::Stored;
use crate::model::Scorecard;
use crate::source::Role;

impl Stored {
    /// Gives episodes of several measurements files that have the same id the names they would have
    /// in one audit of all recordings: with the part of their folder (or file) that is theirs alone.
    ///
    /// # Errors
    /// If an episode is in two measurements files.
    pub fn tell_apart(&self, cards: &mut [Scorecard]) -> Result<(), StoreError> {
        if self.files.len() < 2 {
            return Ok(());
        }
        let by_file = self.one_file_one_episode();
        let place = |card: &Scorecard| -> PathBuf {
            let path = self.inputs().get(card.key.rows.input as usize).map(|input| &input.path);
            let path = path.map_or(Path::new(""), PathBuf::as_path);
            if by_file { path } else { path.parent().unwrap_or(path) }.to_path_buf()
        };
        let common = self.common_folder();
        let clashing = clashing(cards);
        for &at in &clashing {
            let own = place(&cards[at]);
            let own = slashed(own.strip_prefix(&common).unwrap_or(&own));
            let id = &mut cards[at].key.id;
            let distinct = own.is_empty() || id.starts_with(&format!("{own}/"));
            if by_file && !own.is_empty() {
                *id = own;
            } else if !distinct {
                *id = format!("{own}/{id}");
            }
        }
        self.refuse_twins(cards)
    }

    /// An id that is still there twice is one episode twice.
    fn refuse_twins(&self, cards: &[Scorecard]) -> Result<(), StoreError> {
        let still = clashing(cards);
        let Some(&first) = still.first() else { return Ok(()) };
        let id = &cards[first].key.id;
        let twin = still.iter().skip(1).find(|at| cards[**at].key.id == *id);
        let index = |at: usize| cards[at].key.index;
        let input = self.inputs().get(cards[first].key.rows.input as usize);
        Err(StoreError::Twice {
            id: id.clone(),
            from: input.map_or_else(String::new, |input| input.path.display().to_string()),
            first: self.path_of(index(first)).to_owned(),
            other: self.path_of(index(*twin.unwrap_or(&first))).to_owned(),
        })
    }

    fn one_file_one_episode(&self) -> bool {
        let episode = self.roles().iter().find(|role| role.role == Role::Episode);
        episode.is_none_or(|role| role.columns.is_empty())
            && self.inputs().len() as u64 == self.episodes()
    }

    fn common_folder(&self) -> PathBuf {
        let folder = |path: &Path| path.parent().map(Path::to_path_buf).unwrap_or_default();
        let mut folders = self.inputs().iter().map(|input| folder(&input.path));
        let mut common = folders.next().unwrap_or_default();
        for folder in folders {
            while !folder.starts_with(&common) && common.pop() {}
        }
        common
    }
}

/// Places of cards whose id another one has too, in order.
fn clashing(cards: &[Scorecard]) -> Vec<usize> {
    let mut uses: HashMap<&str, u32> = HashMap::with_capacity(cards.len());
    for card in cards {
        *uses.entry(&card.key.id).or_default() += 1;
    }
    let twice = |(_, card): &(usize, &Scorecard)| uses[card.key.id.as_str()] > 1;
    cards.iter().enumerate().filter(twice).map(|(at, _)| at).collect()
}

/// A path with the same separators on every system.
fn slashed(path: &Path) -> String {
    let parts: Vec<_> = path.components().map(|c| c.as_os_str().to_string_lossy()).collect();
    parts.join("/")
}
