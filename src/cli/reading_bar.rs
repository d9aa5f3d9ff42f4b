//! A progress bar on the terminal while logs are read, shown where that takes longer than a second.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use metering::Progress;

/// Time until the bar appears.
const DELAY: Duration = Duration::from_secs(1);

/// Shows the progress of reading, on a terminal's stderr only. The bar is cleared when the value is dropped.
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
        if self.bar.get().is_none() && self.begun.elapsed() < DELAY {
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
    fn a_short_wait_shows_nothing_and_a_long_one_the_progress() {
        let short = ReadingBar::new();
        short.expect(100);
        short.advance(50);
        assert!(short.bar.get().is_none());

        let mut long = ReadingBar::new();
        long.begun -= DELAY;
        long.expect(100);
        long.advance(20);
        long.advance(30);
        let bar = long.bar.get().expect("a bar after a second");
        assert_eq!((bar.position(), bar.length()), (50, Some(100)));
    }
}
