//! A bar on the terminal while logs are read, where that takes long enough to wonder.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use metering::Progress;

/// Who waits less sees no bar.
const PATIENCE: Duration = Duration::from_secs(1);

/// Shows how far the reading has come, on a terminal's stderr and nowhere else. It goes away with
/// the value.
#[derive(Debug)]
pub(super) struct ReadingBar {
    begun: Instant,
    total: AtomicU64,
    read: AtomicU64,
    bar: OnceLock<ProgressBar>,
}

impl ReadingBar {
    pub(super) fn new() -> ReadingBar {
        ReadingBar {
            begun: Instant::now(),
            total: AtomicU64::new(0),
            read: AtomicU64::new(0),
            bar: OnceLock::new(),
        }
    }

    fn drawn(&self) -> ProgressBar {
        let target = ProgressDrawTarget::stderr();
        let bar = ProgressBar::with_draw_target(Some(self.total.load(Ordering::Relaxed)), target);
        let style = ProgressStyle::with_template("reading logs {bar:30} {bytes} of {total_bytes}");
        if let Ok(style) = style {
            bar.set_style(style);
        }
        bar
    }
}

impl Progress for ReadingBar {
    fn expect(&self, bytes: u64) {
        self.total.fetch_add(bytes, Ordering::Relaxed);
    }

    fn advance(&self, bytes: u64) {
        let read = self.read.fetch_add(bytes, Ordering::Relaxed) + bytes;
        if self.bar.get().is_none() && self.begun.elapsed() < PATIENCE {
            return;
        }
        let bar = self.bar.get_or_init(|| self.drawn());
        bar.set_position(read);
    }
}

impl Drop for ReadingBar {
    fn drop(&mut self) {
        if let Some(bar) = self.bar.get() {
            bar.finish_and_clear();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_wait_shows_nothing_and_a_long_one_how_far_it_is() {
        let short = ReadingBar::new();
        short.expect(100);
        short.advance(50);
        assert!(short.bar.get().is_none());

        let mut long = ReadingBar::new();
        long.begun -= PATIENCE;
        long.expect(100);
        long.advance(20);
        long.advance(30);
        let bar = long.bar.get().expect("a bar after a second");
        assert_eq!((bar.position(), bar.length()), (50, Some(100)));
    }
}
