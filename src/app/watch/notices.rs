//! What the system says of files while they are written. Where it says nothing (network folders, a
//! full queue), the caller's own look through the folder finds them all the same.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

use notify::event::{AccessKind, AccessMode, ModifyKind, RenameMode};
use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher as _};

use crate::app::AppError;

/// Something was noticed of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Notice {
    /// The file.
    pub path: PathBuf,
    /// Whether its writer closed it, or gave it this name.
    pub closed: bool,
}

/// The system's notices of a folder and all below it.
#[derive(Debug)]
pub(crate) struct Notices {
    /// The folder as it was named, and as the system names it.
    folder: [PathBuf; 2],
    from: Receiver<notify::Result<notify::Event>>,
    /// Notices come for as long as this lives; none where nobody asked for them.
    _watcher: Option<RecommendedWatcher>,
}

impl Notices {
    /// Begins to listen.
    ///
    /// # Errors
    /// If the system has no place for one more listener.
    pub fn of(folder: &Path) -> Result<Self, AppError> {
        let (send, from) = channel();
        let refused = |error: notify::Error| {
            let what = format!("{}: the system gives no notices: {error}", folder.display());
            AppError::input(what).with_hint("add --poll to look through the folder instead")
        };
        let mut watcher = notify::recommended_watcher(send).map_err(refused)?;
        let whole = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
        watcher.watch(&whole, RecursiveMode::Recursive).map_err(refused)?;
        Ok(Self { folder: [folder.to_owned(), whole], from, _watcher: Some(watcher) })
    }

    /// Hears nothing: the folder is looked through now and then.
    pub fn none() -> Self {
        let (_, from) = channel();
        Self { folder: [PathBuf::new(), PathBuf::new()], from, _watcher: None }
    }

    /// Waits for notices, at most so long. Gives all that have come.
    pub fn wait(&self, most: Duration) -> Vec<Notice> {
        let first = match self.from.recv_timeout(most) {
            Ok(first) => first,
            Err(RecvTimeoutError::Timeout) => return Vec::new(),
            Err(RecvTimeoutError::Disconnected) => {
                // Nobody sends any more: the time is waited for all the same.
                let (_keep, never) = channel::<()>();
                let _ = never.recv_timeout(most);
                return Vec::new();
            }
        };
        let all = std::iter::once(first).chain(self.from.try_iter());
        let all = all.filter_map(Result::ok).flat_map(notices);
        all.map(|notice| Notice { path: self.named(&notice.path), ..notice }).collect()
    }

    /// A path in the words of whoever named the folder.
    fn named(&self, path: &Path) -> PathBuf {
        let [named, whole] = &self.folder;
        path.strip_prefix(whole).map_or(path.to_owned(), |below| named.join(below))
    }
}

/// What an event says of files.
fn notices(event: notify::Event) -> Vec<Notice> {
    let closed = match event.kind {
        // A name that was given to a file; the one that it had is gone.
        EventKind::Modify(ModifyKind::Name(RenameMode::To | RenameMode::Both))
        | EventKind::Access(AccessKind::Close(AccessMode::Write)) => true,
        EventKind::Access(_) => return Vec::new(),
        _ => false,
    };
    event.paths.into_iter().map(|path| Notice { path, closed }).collect()
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn what_is_closed_and_what_is_renamed_is_noticed() -> Result<(), Box<dyn std::error::Error>> {
        let folder = tempfile::tempdir()?;
        let heard = Notices::of(folder.path())?;
        fs::write(folder.path().join("a"), "1")?;
        fs::rename(folder.path().join("a"), folder.path().join("b"))?;
        let mut all = Vec::new();
        for _ in 0..40 {
            all.extend(heard.wait(Duration::from_millis(50)));
        }
        let closed = |name: &str| {
            all.iter().any(|notice| notice.closed && notice.path == folder.path().join(name))
        };
        // Where a system tells less, the folder is looked through.
        if cfg!(target_os = "linux") {
            assert!(closed("a") && closed("b"), "{all:?}");
        }
        Ok(())
    }

    #[test]
    fn without_notices_the_time_passes_all_the_same() {
        let begun = std::time::Instant::now();
        assert!(Notices::none().wait(Duration::from_millis(30)).is_empty());
        assert!(begun.elapsed() >= Duration::from_millis(30));
    }
}
