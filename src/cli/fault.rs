//! Faults of the program or of a library, caught further up.
//!
//! A damaged file makes the data library panic, and so may a check: both are caught and reported as an
//! unread file or as not assessed. The default hook would print a trace on top, which is no message to a
//! person. What ends the whole run is reported by `main`, with what this hook has kept.

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
