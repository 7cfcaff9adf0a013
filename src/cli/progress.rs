//! How far long work is: shown on a terminal only, and only once it lasts.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

/// Work that takes no longer shows nothing.
const PATIENCE: Duration = Duration::from_secs(1);

/// A bar on standard error, gone when it is dropped.
pub(super) struct Progress {
    what: &'static str,
    whole: u64,
    began: Instant,
    bar: Option<ProgressBar>,
}

impl Progress {
    /// Work on so many things.
    pub(super) fn new(what: &'static str, whole: u64) -> Progress {
        Progress { what, whole, began: Instant::now(), bar: None }
    }

    /// So many are done.
    pub(super) fn at(&mut self, done: u64) {
        if self.bar.is_none() && self.began.elapsed() > PATIENCE {
            // Draws nothing where standard error is no terminal.
            let bar = ProgressBar::new(self.whole).with_message(self.what);
            let style = ProgressStyle::with_template("{bar:40} {pos} of {len} {msg}, {eta} left");
            self.bar = Some(bar.with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar())));
        }
        if let Some(bar) = &self.bar {
            bar.set_position(done);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
