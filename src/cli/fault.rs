//! Faults of the program or of a library, caught further up.
//!
//! A damaged file can make the data library panic, and so can a check. Both are caught and reported
//! as an unread file or as not assessed. The default hook would print a trace as well, which does
//! not help a person. `main` reports what ends the whole run, with what this hook has kept.

use std::sync::{Mutex, PoisonError};

static LAST: Mutex<Option<String>> = Mutex::new(None);

/// From here on panics print nothing; the last one's message and place are kept.
pub fn keep_quiet() {
    std::panic::set_hook(Box::new(|info| {
        let payload = info.payload();
        let said = payload.downcast_ref::<String>().map(String::as_str);
        let said = said.or_else(|| payload.downcast_ref::<&str>().copied()).unwrap_or("no message");
        let place = info.location().map_or(String::new(), |place| format!(" at {place}"));
        let line = format!("{said}{place}").replace('\n', " ");
        *LAST.lock().unwrap_or_else(PoisonError::into_inner) = Some(line);
    }));
}

/// The last panic, in one line.
pub fn last() -> String {
    let last = LAST.lock().unwrap_or_else(PoisonError::into_inner).take();
    last.unwrap_or_else(|| "a part of the program panicked".to_owned())
}
