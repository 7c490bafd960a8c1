//! Progress on long steps: a bar at a terminal, plain lines elsewhere, always on standard error.

use std::io::IsTerminal;

use indicatif::{ProgressBar, ProgressStyle};

/// One long step under way; it ends when it is dropped.
pub(super) struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// Begins a step of `length` parts.
    pub(super) fn begin(what: &'static str, length: usize) -> Self {
        if !std::io::stderr().is_terminal() {
            eprintln!("{what}");
            return Self { bar: ProgressBar::hidden() };
        }
        let bar = ProgressBar::new(length as u64).with_message(what);
        if let Ok(style) = ProgressStyle::with_template("{msg:24} {wide_bar} {pos} of {len}") {
            bar.set_style(style);
        }
        Self { bar }
    }

    /// One part is done.
    pub(super) fn step(&self) {
        self.bar.inc(1);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish();
    }
}
