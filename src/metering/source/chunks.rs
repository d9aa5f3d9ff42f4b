//! Chunks of a log, cut at line ends: read one after the other, worked on by all cores, and handed
//! on in their order. Memory does not grow with the log.

use std::collections::BTreeMap;
use std::io::{self, Read};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// Size of a chunk. Fixed, so that sums do not depend on the number of cores.
const CHUNK_BYTES: usize = 1 << 20;
/// A line longer than this is not a row of a log.
const LONGEST_LINE: usize = 1 << 20;
/// More cores than this wait for each other.
const MOST_WORKERS: usize = 16;
/// Chunks that may be done before an earlier one is, per worker.
const AHEAD: usize = 4;

/// Cuts what is read into chunks that end at line ends.
pub(crate) struct Chunks<R> {
    input: R,
    /// Beginning of the line at which the last chunk was cut.
    carried: Vec<u8>,
    chunk_bytes: usize,
    ended: bool,
}

impl<R: Read> Chunks<R> {
    pub(crate) fn new(input: R) -> Chunks<R> {
        Chunks {
            input,
            carried: Vec::new(),
            chunk_bytes: CHUNK_BYTES,
            ended: false,
        }
    }

    /// Other chunks than usual, to see that it makes no difference.
    #[cfg(test)]
    pub(crate) fn of_bytes(input: R, chunk_bytes: usize) -> Chunks<R> {
        Chunks {
            chunk_bytes,
            ..Chunks::new(input)
        }
    }

    /// Reads the next chunk into `buffer` and returns its length; `None` at the end.
    fn next(&mut self, buffer: &mut Vec<u8>) -> io::Result<Option<usize>> {
        if self.ended {
            return Ok(None);
        }
        let mut filled = self.carried.len();
        let mut wanted = filled + self.chunk_bytes;
        if buffer.len() < wanted {
            // Pages that a small log leaves alone are never touched.
            *buffer = vec![0; wanted];
        }
        buffer[..filled].copy_from_slice(&self.carried);
        self.carried.clear();
        loop {
            filled = self.fill(buffer, filled, wanted)?;
            if self.ended {
                return Ok(Some(filled).filter(|&filled| filled > 0));
            }
            if let Some(cut) = memchr::memrchr(b'\n', &buffer[..filled]) {
                self.carried.extend_from_slice(&buffer[cut + 1..filled]);
                return Ok(Some(cut + 1));
            }
            if filled > LONGEST_LINE {
                return Err(io::Error::new(
                    io::ErrorKind::InvalidData,
                    "a line of more than a million characters is not a row of a log",
                ));
            }
            wanted = filled + self.chunk_bytes;
            buffer.resize(wanted.max(buffer.len()), 0);
        }
    }

    fn fill(&mut self, buffer: &mut [u8], mut filled: usize, wanted: usize) -> io::Result<usize> {
        while filled < wanted {
            match self.input.read(&mut buffer[filled..wanted]) {
                Ok(0) => {
                    self.ended = true;
                    break;
                }
                Ok(got) => filled += got,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(filled)
    }
}

/// Works on all chunks and takes the results in the order of the chunks.
///
/// # Errors
///
/// What stood in the way of reading.
pub(crate) fn in_order<R: Read + Send, T: Send>(
    chunks: Chunks<R>,
    work: impl Fn(&[u8]) -> T + Sync,
    take: impl FnMut(T) + Send,
) -> io::Result<()> {
    let workers = rayon::current_num_threads().clamp(1, MOST_WORKERS);
    let queue = WorkQueue {
        source: Mutex::new((chunks, 0)),
        results: Mutex::new(Results {
            take,
            next: 0,
            early: BTreeMap::new(),
            failed: None,
        }),
        moved: Condvar::new(),
        ahead: AHEAD * workers,
    };
    if workers == 1 {
        queue.work(&work);
    } else {
        std::thread::scope(|scope| {
            for _ in 0..workers {
                scope.spawn(|| queue.work(&work));
            }
        });
    }
    let results = queue.results.into_inner();
    match results.unwrap_or_else(PoisonError::into_inner).failed {
        Some(error) => Err(error),
        None => Ok(()),
    }
}

/// What the workers share.
struct WorkQueue<R, T, F> {
    source: Mutex<(Chunks<R>, usize)>,
    results: Mutex<Results<T, F>>,
    moved: Condvar,
    ahead: usize,
}

struct Results<T, F> {
    take: F,
    next: usize,
    early: BTreeMap<usize, T>,
    failed: Option<io::Error>,
}

impl<R: Read, T, F: FnMut(T)> WorkQueue<R, T, F> {
    fn work(&self, work: &impl Fn(&[u8]) -> T) {
        let mut buffer = Vec::new();
        loop {
            let (number, length) = {
                let mut source = held(&self.source);
                let (chunks, number) = &mut *source;
                match chunks.next(&mut buffer) {
                    Ok(Some(length)) => {
                        *number += 1;
                        (*number - 1, length)
                    }
                    Ok(None) => return,
                    Err(error) => {
                        chunks.ended = true;
                        held(&self.results).failed = Some(error);
                        return;
                    }
                }
            };
            self.hand_on(number, work(&buffer[..length]));
        }
    }

    fn hand_on(&self, number: usize, result: T) {
        let mut results = held(&self.results);
        // The worker with the next chunk never waits, so that all others go on in the end.
        while number >= results.next + self.ahead {
            results = self
                .moved
                .wait(results)
                .unwrap_or_else(PoisonError::into_inner);
        }
        results.early.insert(number, result);
        let results = &mut *results;
        while let Some(result) = results.early.remove(&results.next) {
            (results.take)(result);
            results.next += 1;
        }
        self.moved.notify_all();
    }
}

/// A worker that panicked takes the whole scope with it; until then the others go on.
fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chunks_come_whole_and_in_order() {
        let numbers: Vec<String> = (0..5000).map(|n| n.to_string()).collect();
        let text = numbers.join("\n") + "\n";
        for (text, chunk) in [
            (text.as_str(), 7),
            (text.trim_end(), 100),
            ("", 5),
            ("x", 1),
        ] {
            let mut whole = Vec::new();
            let chunks = Chunks::of_bytes(text.as_bytes(), chunk);
            in_order(chunks, <[u8]>::to_vec, |part| {
                assert!(part.ends_with(b"\n") || whole.len() + part.len() == text.len());
                whole.extend(part);
            })
            .expect("memory can be read");
            assert_eq!(String::from_utf8_lossy(&whole), text);
        }
    }

    #[test]
    fn an_endless_line_is_refused() {
        let endless = io::repeat(b'x');
        let error = in_order(Chunks::new(endless), <[u8]>::len, |_| {}).expect_err("no row");
        assert_eq!(error.kind(), io::ErrorKind::InvalidData);
    }
}
