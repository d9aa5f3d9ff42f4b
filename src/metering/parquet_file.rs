//! A Parquet file read at any place by several threads.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use bytes::Bytes;
use parquet::errors::{ParquetError, Result};
use parquet::file::reader::{ChunkReader, Length};

use super::parquet_delta::varint;

/// What is packed with the codecs that are read becomes no more times as large: deflate reaches 1032.
const MOST_UNPACKED: u64 = 1100;
/// A page may claim so much however small it is. (bytes)
const SMALL: u64 = 4096;
/// Three fields of at most six bytes each.
const LONGEST_SIZES: u64 = 18;

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

    fn from(&self, at: u64) -> FromPlace {
        FromPlace {
            file: Arc::clone(&self.file),
            at,
        }
    }
}

/// The size of a page unpacked and packed, from the beginning of its header; `None` where that is no
/// such header. The first three fields, in the compact protocol of Apache Thrift: the kind of page
/// and the two sizes, each a byte for "the next field, 32 bits" and a number in zigzag.
fn sizes(mut header: &[u8]) -> Option<(u64, u64)> {
    const NEXT_OF_32_BITS: u8 = 0x15;
    let mut field = || {
        let (&first, rest) = header.split_first()?;
        header = rest;
        let number = varint(&mut header).filter(|_| first == NEXT_OF_32_BITS)?;
        // Zigzag: even numbers are not negative.
        number.is_multiple_of(2).then_some(number / 2)
    };
    let _kind = field()?;
    Some((field()?, field()?))
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

    /// The library asks for this at the header of each page, and once at the end of the file.
    fn get_read(&self, start: u64) -> Result<Self::T> {
        let mut first = Vec::new();
        self.from(start)
            .take(LONGEST_SIZES)
            .read_to_end(&mut first)?;
        if let Some((unpacked, packed)) = sizes(&first)
            && unpacked > packed.saturating_mul(MOST_UNPACKED).saturating_add(SMALL)
        {
            return Err(ParquetError::General(format!(
                "a page of {packed} bytes claims to unpack to {unpacked}"
            )));
        }
        Ok(BufReader::with_capacity(4096, self.from(start)))
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
        self.from(start).read_exact(&mut bytes)?;
        Ok(bytes.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    /// A data page of 12 bytes that unpack to 90, and one that is said to unpack to two gigabytes.
    #[test]
    fn a_page_that_would_unpack_to_far_too_much_is_refused() {
        let honest = [0x15, 0x00, 0x15, 0xb4, 0x01, 0x15, 0x18, 0x2c];
        let lying = [0x15, 0x00, 0x15, 0xfe, 0xff, 0xff, 0xff, 0x0f, 0x15, 0x18];
        assert_eq!(sizes(&honest), Some((90, 12)));
        assert_eq!(sizes(&lying), Some((i32::MAX as u64, 12)));
        assert_eq!(sizes(&[0x15, 0x00, 0x15, 0x01, 0x15, 0x18]), None);
        assert_eq!(sizes(b"\x0c\0\0\0PAR1"), None);
        let mut file = tempfile::NamedTempFile::new().expect("a file");
        file.write_all(&[&honest[..], &lying].concat())
            .expect("written");
        let shared = SharedFile::open(file.path()).expect("a file that is there");
        assert!(shared.get_read(0).is_ok());
        let error = shared.get_read(honest.len() as u64).err().expect("a lie");
        assert!(error.to_string().contains("claims to unpack to 2147483647"));
    }
}
