//! Progress on long steps: a bar at a terminal, always on standard error.

use std::io::IsTerminal;

use indicatif::{ProgressBar, ProgressStyle};

/// One long step under way; it ends when it is dropped.
pub(crate) struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// Begins a step of `length` parts; where there is no terminal, a plain line says so.
    pub(crate) fn begin(what: &'static str, length: usize) -> Self {
        if !std::io::stderr().is_terminal() {
            eprintln!("{what}");
        }
        Self::quiet(what, length)
    }

    /// The same, and nothing at all where there is no terminal.
    pub(crate) fn quiet(what: &'static str, length: usize) -> Self {
        if !std::io::stderr().is_terminal() {
            return Self { bar: ProgressBar::hidden() };
        }
        let bar = ProgressBar::new(length as u64).with_message(what);
        if let Ok(style) = ProgressStyle::with_template("{msg:24} {wide_bar} {pos} of {len}") {
            bar.set_style(style);
        }
        Self { bar }
    }

    /// One part is done.
    pub(crate) fn step(&self) {
        self.bar.inc(1);
    }

    /// So many parts of so many are done.
    pub(crate) fn at(&self, done: u32, of: u32) {
        self.bar.set_length(of.into());
        self.bar.set_position(done.into());
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish();
    }
}
