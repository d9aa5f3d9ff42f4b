//! A Parquet file read at any place by several threads.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use bytes::Bytes;
use parquet::errors::{ParquetError, Result};
use parquet::file::reader::{ChunkReader, Length};

/// An open file; each reader of it has a place of its own.
pub(super) struct SharedFile {
    file: Arc<Mutex<File>>,
    length: u64,
}

impl SharedFile {
    pub(super) fn open(path: &Path) -> io::Result<SharedFile> {
        let file = File::open(path)?;
        let length = file.metadata()?.len();
        Ok(SharedFile {
            file: Arc::new(Mutex::new(file)),
            length,
        })
    }
}

/// Reads on from a place.
pub(super) struct FromPlace {
    file: Arc<Mutex<File>>,
    at: u64,
}

impl Read for FromPlace {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        file.seek(SeekFrom::Start(self.at))?;
        let got = file.read(buffer)?;
        self.at += got as u64;
        Ok(got)
    }
}

impl Length for SharedFile {
    fn len(&self) -> u64 {
        self.length
    }
}

impl ChunkReader for SharedFile {
    type T = BufReader<FromPlace>;

    fn get_read(&self, start: u64) -> Result<Self::T> {
        let from = FromPlace {
            file: Arc::clone(&self.file),
            at: start,
        };
        Ok(BufReader::with_capacity(4096, from))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes> {
        // Before any memory is asked for: a damaged file may name any length.
        let end = start.checked_add(length as u64);
        if end.is_none_or(|end| end > self.length) {
            return Err(ParquetError::EOF(format!(
                "{length} bytes from byte {start} on are named, the file has {}",
                self.length
            )));
        }
        let mut bytes = vec![0; length];
        FromPlace {
            file: Arc::clone(&self.file),
            at: start,
        }
        .read_exact(&mut bytes)?;
        Ok(bytes.into())
    }
}
