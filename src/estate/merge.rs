//! The parts of all sites as the tables of the estate: few files, rows sorted by site.
//!
//! Columns are copied as they are, a stretch of sites at a time, so that the memory does not grow with the estate.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use bytes::Bytes;
use parquet::basic::{Compression, Type as Physical};
use parquet::column::reader::{ColumnReader, ColumnReaderImpl};
use parquet::data_type::{BoolType, ByteArrayType, DataType, DoubleType, Int32Type, Int64Type};
use parquet::file::properties::WriterProperties;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};

use crate::part::{SitePart, part_file};
use crate::tables::TABLES;

/// Rows of a row group: enough that few are needed, few enough that a reader finds the rows of a site quickly.
const GROUP_ROWS: i64 = 131_072;

/// Row groups of a file: what several workers can share.
const FILE_GROUPS: usize = 64;

/// Where a table's rows of a month lie below the folder of tables.
#[must_use]
pub fn table_folder(tables: &Path, table: &str, month: &str) -> PathBuf {
    let folder = tables.join(table);
    if month.is_empty() {
        folder
    } else {
        folder.join(format!("month={month}"))
    }
}

/// Writes the tables of all sites, which are in the order of their names, into an empty folder.
///
/// # Errors
///
/// Where a part cannot be read or the folder cannot be written.
pub fn merge(parts: &Path, sites: &[String], tables: &Path) -> io::Result<()> {
    let mut months: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for site in sites {
        for entry in SitePart::open(&part_file(parts, site))?.entries()? {
            months.entry(entry.table).or_default().insert(entry.month);
        }
    }
    for table in TABLES {
        for month in months.get(table).into_iter().flatten() {
            let folder = table_folder(tables, table, month);
            fs::create_dir_all(&folder)?;
            let mut writer = TableWriter::new(folder);
            for site in sites {
                let bytes = SitePart::open(&part_file(parts, site))?.parquet(table, month)?;
                if let Some(bytes) = bytes {
                    writer.add(bytes).map_err(|error| {
                        io::Error::other(format!("table {table} of site {site}: {error}"))
                    })?;
                }
            }
            writer.finish()?;
        }
    }
    Ok(())
}

/// Writes one table of one month: rows wait until they fill a row group.
struct TableWriter {
    folder: PathBuf,
    waiting: Vec<SerializedFileReader<Bytes>>,
    rows: i64,
    file: Option<SerializedFileWriter<BufWriter<File>>>,
    groups: usize,
    files: usize,
}

impl TableWriter {
    fn new(folder: PathBuf) -> TableWriter {
        TableWriter {
            folder,
            waiting: Vec::new(),
            rows: 0,
            file: None,
            groups: 0,
            files: 0,
        }
    }

    fn add(&mut self, bytes: Bytes) -> io::Result<()> {
        let reader = SerializedFileReader::new(bytes)?;
        self.rows += reader.metadata().file_metadata().num_rows();
        self.waiting.push(reader);
        if self.rows >= GROUP_ROWS {
            self.write_group()?;
        }
        Ok(())
    }

    fn write_group(&mut self) -> io::Result<()> {
        let waiting = std::mem::take(&mut self.waiting);
        self.rows = 0;
        let Some(first) = waiting.first() else {
            return Ok(());
        };
        if self.file.is_none() {
            let path = self.folder.join(format!("part-{:05}.parquet", self.files));
            let properties = WriterProperties::builder()
                .set_compression(Compression::SNAPPY)
                .build();
            let schema = first
                .metadata()
                .file_metadata()
                .schema_descr()
                .root_schema_ptr();
            let file = BufWriter::new(File::create(path)?);
            self.file = Some(SerializedFileWriter::new(
                file,
                schema,
                Arc::new(properties),
            )?);
            self.files += 1;
        }
        let Some(file) = &mut self.file else {
            return Ok(());
        };
        let mut group = file.next_row_group()?;
        let mut place = 0;
        while let Some(mut column) = group.next_column()? {
            for reader in &waiting {
                for at in 0..reader.num_row_groups() {
                    let rows = reader.get_row_group(at)?;
                    let count = rows.metadata().num_rows() as usize;
                    copy(rows.get_column_reader(place)?, &mut column, count)?;
                }
            }
            column.close()?;
            place += 1;
        }
        group.close()?;
        self.groups += 1;
        if self.groups == FILE_GROUPS {
            self.close_file()?;
        }
        Ok(())
    }

    fn close_file(&mut self) -> io::Result<()> {
        self.groups = 0;
        let Some(file) = self.file.take() else {
            return Ok(());
        };
        let mut file = file.into_inner()?;
        file.flush()
    }

    fn finish(mut self) -> io::Result<()> {
        self.write_group()?;
        self.close_file()
    }
}

fn copy(
    reader: ColumnReader,
    writer: &mut SerializedColumnWriter<'_>,
    rows: usize,
) -> io::Result<()> {
    match reader {
        ColumnReader::BoolColumnReader(reader) => copy_typed::<BoolType>(reader, writer, rows),
        ColumnReader::Int32ColumnReader(reader) => copy_typed::<Int32Type>(reader, writer, rows),
        ColumnReader::Int64ColumnReader(reader) => copy_typed::<Int64Type>(reader, writer, rows),
        ColumnReader::DoubleColumnReader(reader) => copy_typed::<DoubleType>(reader, writer, rows),
        ColumnReader::ByteArrayColumnReader(reader) => {
            copy_typed::<ByteArrayType>(reader, writer, rows)
        }
        _ => Err(io::Error::other(format!(
            "the tables have none of {:?}",
            [Physical::FLOAT, Physical::INT96]
        ))),
    }
}

fn copy_typed<T: DataType>(
    mut reader: ColumnReaderImpl<T>,
    writer: &mut SerializedColumnWriter<'_>,
    rows: usize,
) -> io::Result<()> {
    let (mut values, mut levels) = (Vec::new(), Vec::new());
    reader.read_records(rows, Some(&mut levels), None, &mut values)?;
    let writer = writer.typed::<T>();
    writer.write_batch(&values, Some(&levels), None)?;
    Ok(())
}
