//! Which episode a file next to the tables seems to belong to, by its name.

use std::collections::HashMap;
use std::path::Path;

/// Words in front of an episode's number.
const WORDS: [&str; 5] = ["episode", "ep", "run", "take", "trial"];

/// Names of episodes, to be found in names of files.
pub(super) struct Names<'a> {
    by_id: HashMap<String, &'a str>,
}

impl<'a> Names<'a> {
    /// Of these ids.
    pub fn new(ids: &[&'a str]) -> Self {
        let mut by_id = HashMap::with_capacity(ids.len());
        for id in ids {
            by_id.entry(plain(id)).or_insert(*id);
        }
        Self { by_id }
    }

    /// The episode that a file is of, by its name, else by those of its folders; none where no name
    /// is one, or several are.
    pub fn of(&self, path: &Path) -> Option<&'a str> {
        let mut names = path.iter().rev().map(|name| name.to_string_lossy().into_owned());
        let file = names.next()?;
        let stem = Path::new(&file).file_stem()?.to_string_lossy().into_owned();
        self.in_name(&stem).or_else(|| names.find_map(|name| self.in_name(&name)))
    }

    fn in_name(&self, name: &str) -> Option<&'a str> {
        if let Some(id) = self.by_id.get(&plain(name)) {
            return Some(id);
        }
        let words: Vec<&str> =
            name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
        let mut found: Vec<(&str, bool)> = Vec::new();
        for (at, word) in words.iter().enumerate() {
            let head = word.trim_end_matches(|c: char| c.is_ascii_digit());
            let glued = &word[head.len()..];
            let own = self.by_id.get(&plain(word)).copied();
            let named = |word: &str| WORDS.contains(&word.to_lowercase().as_str());
            let behind = at > 0 && named(words[at - 1]);
            let in_word = named(head).then(|| self.by_id.get(&plain(glued)).copied()).flatten();
            match (own, in_word) {
                (Some(id), _) => found.push((id, behind)),
                (None, Some(id)) => found.push((id, true)),
                (None, None) => {}
            }
        }
        let mut sure = found.iter().filter(|(_, sure)| *sure);
        match (sure.next(), found.as_slice()) {
            (Some((id, _)), _) | (None, [(id, _)]) => Some(id),
            _ => None,
        }
    }
}

/// A number without zeros in front; other names in small letters.
fn plain(name: &str) -> String {
    if !name.is_empty() && name.bytes().all(|byte| byte.is_ascii_digit()) {
        let number = name.trim_start_matches('0');
        return if number.is_empty() { "0" } else { number }.to_owned();
    }
    name.to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_of_the_episode_that_their_name_says() {
        let names = Names::new(&["0", "1", "17", "pot-a"]);
        let of = |path: &str| names.of(Path::new(path));
        assert_eq!(of("videos/front/episode_000017.mp4"), Some("17"));
        assert_eq!(of("videos/cam_1_episode_17.mp4"), Some("17"));
        assert_eq!(of("videos/17/front.mp4"), Some("17"));
        assert_eq!(of("notes/Pot-A.txt"), Some("pot-a"));
        assert_eq!(of("take17.json"), Some("17"));
        assert_eq!(of("1_17.mp4"), None);
        assert_eq!(of("readme.md"), None);
        assert_eq!(of("videos/000000.mp4"), Some("0"));
    }
}
