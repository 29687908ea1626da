//! Ctrl-C and SIGTERM: at once, with exit codes 130 and 143, and no half-written file left behind.
//!
//! While nothing is being written to a file the signal ends the process where it stands. While a
//! file is being written it only leaves word: the writer looks for it at every block, takes its
//! unfinished file away and ends the run. Where data is measured into that file, what is left of it
//! is passed over. A second signal ends the process in any case. `watch` takes the first signal as
//! the end of the session, whose report it leaves.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock};

use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::flag;

/// How many files are being written.
static WRITERS: AtomicUsize = AtomicUsize::new(0);
/// No file is being written.
static IDLE: LazyLock<Arc<AtomicBool>> = LazyLock::new(|| Arc::new(AtomicBool::new(true)));
/// A signal came while one was.
static CAME: LazyLock<Arc<AtomicBool>> = LazyLock::new(|| Arc::new(AtomicBool::new(false)));
/// The exit code of the last signal.
static CODE: LazyLock<Arc<AtomicUsize>> = LazyLock::new(|| Arc::new(AtomicUsize::new(130)));

/// From here on the signals do as said above; where the system refuses they end the process as
/// they always do.
pub fn listen() {
    for (signal, code) in [(SIGINT, 130), (SIGTERM, 143)] {
        let _ = flag::register_conditional_shutdown(signal, code, Arc::clone(&IDLE));
        let _ = flag::register_conditional_shutdown(signal, code, Arc::clone(&CAME));
        let _ = flag::register_usize(signal, Arc::clone(&CODE), code as usize);
        let _ = flag::register(signal, Arc::clone(&CAME));
    }
}

/// Whether a signal came while a file was being written.
pub fn came() -> bool {
    CAME.load(Ordering::SeqCst)
}

/// The exit code of the signal that came: 128 and its number, as shells have it.
pub fn code() -> u8 {
    CODE.load(Ordering::SeqCst) as u8
}

/// Whether a signal came; from here on it has not. Whoever leaves something behind at the end asks
/// with this, and the next signal ends that.
pub fn heard() -> bool {
    CAME.swap(false, Ordering::SeqCst)
}

/// A file is being written for as long as this lives.
#[derive(Debug)]
pub struct Writing(());

impl Writing {
    /// From here on signals only leave word.
    pub fn begin() -> Self {
        WRITERS.fetch_add(1, Ordering::SeqCst);
        IDLE.store(false, Ordering::SeqCst);
        Self(())
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        if WRITERS.fetch_sub(1, Ordering::SeqCst) == 1 {
            IDLE.store(true, Ordering::SeqCst);
        }
    }
}
