//! A Parquet file read at any place by several threads.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use bytes::Bytes;
use parquet::errors::{ParquetError, Result};
use parquet::file::reader::{ChunkReader, Length, SerializedFileReader};

use crate::rows::parquet::delta::varint;
use crate::rows::parquet::header::walk;

/// What is packed with the codecs that are read becomes no more times as large: deflate reaches 1032.
const MOST_UNPACKED: u64 = 1100;
/// A page may claim so much however small it is. (bytes)
const SMALL: u64 = 4096;
/// Three fields of at most six bytes each.
const LONGEST_SIZES: u64 = 18;
/// The length of the footer and the mark at the end of the file. (bytes)
const TAIL: u64 = 8;

/// A file in the hands of the library.
pub(crate) type SharedReader = SerializedFileReader<SharedFile>;

/// An open file; each reader of it has a place of its own.
pub(crate) struct SharedFile {
    file: Arc<Mutex<File>>,
    length: u64,
}

impl SharedFile {
    pub(crate) fn open(path: &Path) -> io::Result<SharedFile> {
        let file = File::open(path)?;
        let length = file.metadata()?.len();
        Ok(SharedFile {
            file: Arc::new(Mutex::new(file)),
            length,
        })
    }

    /// The library's reader, once the footer is known to be sound.
    pub(crate) fn reader(self) -> Result<SharedReader> {
        self.check_footer()?;
        SerializedFileReader::new(self)
    }

    /// What is wrong with the tail itself is left to the library to say.
    fn check_footer(&self) -> io::Result<()> {
        let Some(tail) = self.length.checked_sub(TAIL) else {
            return Ok(());
        };
        let mut last = [0; TAIL as usize];
        self.from(tail).read_exact(&mut last)?;
        let [size @ .., b'P', b'A', b'R', b'1'] = last else {
            return Ok(());
        };
        let Some(start) = tail.checked_sub(u32::from_le_bytes(size).into()) else {
            return Ok(());
        };
        walk(&mut BufReader::new(self.from(start).take(tail - start)))
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
pub(crate) struct FromPlace {
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
        if start.saturating_add(TAIL) < self.length {
            walk(&mut BufReader::with_capacity(64, self.from(start)))?;
        }
        Ok(BufReader::with_capacity(4096, self.from(start)))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes> {
        // Before any memory is asked for: a damaged file may name any length.
        let end = start.checked_add(length as u64);
        if end.is_none_or(|end| end > self.length) {
            return Err(ParquetError::EOF(format!(
                "it refers to {length} bytes from byte {start}, but the file has {}",
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
        let honest = [0x15, 0x00, 0x15, 0xb4, 0x01, 0x15, 0x18, 0x00];
        let lying = [
            0x15, 0x00, 0x15, 0xfe, 0xff, 0xff, 0xff, 0x0f, 0x15, 0x18, 0x00,
        ];
        assert_eq!(sizes(&honest), Some((90, 12)));
        assert_eq!(sizes(&lying), Some((i32::MAX as u64, 12)));
        assert_eq!(sizes(&[0x15, 0x00, 0x15, 0x01, 0x15, 0x18]), None);
        assert_eq!(sizes(b"\x0c\0\0\0PAR1"), None);
        let (_file, shared) = file_of(&[&honest[..], &lying, b"a page"].concat());
        assert!(shared.get_read(0).is_ok());
        let error = shared.get_read(honest.len() as u64).err().expect("a lie");
        assert!(error.to_string().contains("claims to unpack to 2147483647"));
    }

    /// Found by fuzzing: a field that is not known, a list of 2³¹ − 1 doubles, was skipped one by one
    /// long after the file had ended.
    #[test]
    fn a_list_that_is_longer_than_the_file_is_refused() {
        let endless = [0x69, 0xf7, 0xff, 0xff, 0xff, 0xff, 0x07, 0x00, 0x00];
        let (_file, page) = file_of(&[&endless[..], b"a page"].concat());
        assert!(page.get_read(0).is_err());
        let size = (endless.len() as u32).to_le_bytes();
        let (_file, footer) = file_of(&[b"PAR1", &endless[..], &size, b"PAR1"].concat());
        assert!(footer.reader().is_err());
    }

    fn file_of(bytes: &[u8]) -> (tempfile::NamedTempFile, SharedFile) {
        let mut file = tempfile::NamedTempFile::new().expect("a file");
        file.write_all(bytes).expect("written");
        let shared = SharedFile::open(file.path()).expect("a file that is there");
        (file, shared)
    }
}
