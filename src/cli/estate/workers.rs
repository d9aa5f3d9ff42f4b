//! Several threads that do the same work.

use std::thread;

/// Ends when all have ended; the first error is that of the whole.
pub(super) fn in_parallel(
    workers: usize,
    work: impl Fn() -> anyhow::Result<()> + Sync,
) -> anyhow::Result<()> {
    thread::scope(|scope| {
        let workers: Vec<_> = (0..workers).map(|_| scope.spawn(&work)).collect();
        workers.into_iter().try_for_each(|worker| {
            worker
                .join()
                .map_err(|_| anyhow::anyhow!("a worker stopped"))?
        })
    })
}
