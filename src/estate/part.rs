//! The result of one site as one file: a zip of Parquet tables, an entry for each table and month.
//!
//! Named by the site's path, it carries the checksum of what it was made from, so that a site is analysed again only
//! where that has changed.

use std::fs::File;
use std::io::{self, Cursor, Read, Write};
use std::path::{Path, PathBuf};

use bytes::Bytes;
use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use crate::tables::SiteTables;

/// A site's result that was written.
#[derive(Debug)]
pub struct SitePart {
    archive: ZipArchive<File>,
}

/// One entry of a part.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct PartEntry {
    /// Name of the table.
    pub table: String,
    /// Its month; empty where the table is not divided.
    pub month: String,
    /// Checksum of its bytes.
    pub checksum: u32,
}

/// The file of a site in the folder of parts: its name depends on nothing but the path, and holds none of its letters.
#[must_use]
pub fn part_file(parts: &Path, site: &str) -> PathBuf {
    parts.join(format!("{}.zip", short_name(site)))
}

/// A name that any file system takes, for a site of any name.
#[must_use]
pub fn short_name(site: &str) -> String {
    hex(&Sha256::digest(site)[..12])
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let digits = bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]);
    digits
        .map(|digit| char::from(DIGITS[usize::from(digit)]))
        .collect()
}

/// The bytes of a part.
///
/// # Errors
///
/// Those of the writers, which writing to memory does not cause.
pub fn part_bytes(tables: &SiteTables, made_from: &str) -> io::Result<Vec<u8>> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    writer.set_comment(made_from)?;
    // Parquet is compressed already; without times the same results give the same bytes.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(zip::DateTime::default());
    for ((name, month), table) in &tables.0 {
        writer.start_file(entry_name(name, month), options)?;
        writer.write_all(&table.parquet().map_err(io::Error::other)?)?;
    }
    Ok(writer.finish()?.into_inner())
}

fn entry_name(table: &str, month: &str) -> String {
    if month.is_empty() {
        format!("{table}.parquet")
    } else {
        format!("{table}/{month}.parquet")
    }
}

impl SitePart {
    /// Opens a part.
    ///
    /// # Errors
    ///
    /// Where it is not there, or is no whole part.
    pub fn open(path: &Path) -> io::Result<SitePart> {
        let archive = ZipArchive::new(File::open(path)?)?;
        Ok(SitePart { archive })
    }

    /// The checksum of what it was made from.
    #[must_use]
    pub fn made_from(&self) -> String {
        String::from_utf8_lossy(self.archive.comment()).into_owned()
    }

    /// Its entries.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read.
    pub fn entries(&mut self) -> io::Result<Vec<PartEntry>> {
        let count = self.archive.len();
        let entry = |at| {
            let entry = self.archive.by_index(at)?;
            let name = entry.name()?;
            let name = name.trim_end_matches(".parquet");
            let (table, month) = name.split_once('/').unwrap_or((name, ""));
            Ok(PartEntry {
                table: table.to_owned(),
                month: month.to_owned(),
                checksum: entry.crc32(),
            })
        };
        (0..count).map(entry).collect()
    }

    /// The Parquet file of a table and month; `None` where the site has no rows in it.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read.
    pub fn parquet(&mut self, table: &str, month: &str) -> io::Result<Option<Bytes>> {
        let mut entry = match self.archive.by_name(&entry_name(table, month)) {
            Ok(entry) => entry,
            Err(zip::result::ZipError::FileNotFound) => return Ok(None),
            Err(error) => return Err(error.into()),
        };
        let mut bytes = Vec::with_capacity(entry.size() as usize);
        entry.read_to_end(&mut bytes)?;
        Ok(Some(bytes.into()))
    }
}
