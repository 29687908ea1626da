//! Progress on standard error, and only where a person looks at it.

use crate::model::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A progress bar; hidden when quiet or when standard error is no terminal.
#[derive(Debug)]
pub struct Bar(ProgressBar);

impl Bar {
    /// A bar that waits for its first event.
    pub fn new(quiet: bool) -> Self {
        // A terminal that cannot move its cursor would be filled with bars.
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let hidden = quiet || dumb;
        let target =
            if hidden { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let bar = ProgressBar::with_draw_target(Some(0), target);
        // The template is a constant; should it ever be wrong, indicatif's own look will do.
        if let Ok(style) = ProgressStyle::with_template(
            "  [{bar:24}] {pos}/{len} episodes  {msg}  {elapsed} (left: {eta})",
        ) {
            bar.set_style(style.progress_chars("=> "));
        }
        Self(bar)
    }

    /// Shows how far the run has come.
    pub fn show(&self, progress: &Progress) {
        self.0.set_length(progress.total_episodes);
        self.0.set_position(progress.done_episodes);
        self.0.set_message(format!("{} FAIL, {} warn", progress.failed, progress.warned));
    }

    /// Takes the bar away.
    pub fn clear(&self) {
        self.0.finish_and_clear();
    }
}
