//! One Parquet log, read once for all the meters that use it: row group by row group, on all
//! cores, merged in their order.

use std::fs::File;
use std::io::Read;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use chrono_tz::Tz;
use parquet::basic::Compression;
use parquet::column::reader::{ColumnReader, get_column_reader};
use parquet::errors::{ParquetError, Result as ParquetResult};
use parquet::file::reader::{FileReader, Length};
use rayon::prelude::*;

use crate::header::dialect::Dialect;
use crate::header::file_form::FileForm;
use crate::header::layout::Layout;
use crate::header::stamp_of::stamp_of;
use crate::intervals::merger::Merger;
use crate::progress::Progress;
use crate::rows::file_faults::FileFaults;
use crate::rows::file_reading::{self, FileReading};
use crate::rows::parquet::column::{ColumnMeaning, Piece};
use crate::rows::parquet::file::{SharedFile, SharedReader};
use crate::rows::parquet::pages::HonestPages;
use crate::rows::{Chunk, Names, RowReader};
use crate::time::clock::{Clock, Reading};
use crate::time::known::Known;
use message::quietly;
use message::{Message, Messages, Place};
use site::{Meter, TimeFormat};

/// Rows read at a time.
pub(crate) const ROWS: usize = 8192;
/// Rows looked at to learn the step of the log.
const SAMPLE_ROWS: usize = 2000;
/// A column of a row group that claims more is damaged. (bytes)
const LARGEST_COLUMN: i64 = 4 << 30;
/// Times at equal distances take a byte for some twenty rows, and pack well; a file with more rows for
/// each of its bytes is damaged.
const MOST_ROWS_PER_BYTE: u64 = 1024;

/// Is it a Parquet file, by its name or its first bytes?
pub(crate) fn is_parquet(path: &Path) -> bool {
    let named = path
        .extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case("parquet"));
    let begins = || {
        let mut first = [0; 4];
        let read = File::open(path).and_then(|mut file| file.read_exact(&mut first));
        read.is_ok() && first == *b"PAR1"
    };
    named || begins()
}

/// Reads a file. `known` holds the grids that earlier files of the same meters gave.
pub(crate) fn read(
    path: &Path,
    name: &str,
    meters: &[&Meter],
    known: &[Option<Known>],
    zone: Tz,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Option<FileReading> {
    let file = match SharedFile::open(path) {
        Ok(file) => file,
        Err(error) => {
            let text = format!("cannot read the log `{name}`: {error}");
            messages.push(Message::error("cannot-read", text).at(Place::file(name), ""));
            return None;
        }
    };
    // The reader library stops hard at some damaged files.
    let read = AssertUnwindSafe(|| read_file(file, name, meters, known, zone, progress, messages));
    match quietly(|| catch_unwind(read)) {
        Ok(Ok(reading)) => reading,
        Ok(Err(error)) => damaged(name, &error.to_string(), messages),
        Err(_) => damaged(name, "its structure contradicts itself", messages),
    }
}

fn damaged<T>(name: &str, why: &str, messages: &mut Messages) -> Option<T> {
    messages.push(
        Message::error(
            "damaged-log",
            format!("the log `{name}` is not a whole Parquet file: {why}"),
        )
        .at(Place::file(name), "")
        .help("export or copy the log again"),
    );
    None
}

fn read_file(
    file: SharedFile,
    name: &str,
    meters: &[&Meter],
    known: &[Option<Known>],
    zone: Tz,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> ParquetResult<Option<FileReading>> {
    let length = file.len();
    let reader = file.reader()?;
    refuse_lies(&reader, length)?;
    if let Some(packing) = foreign_packing(&reader) {
        messages.push(refused_packing(name, packing));
        return Ok(None);
    }
    let Some(first) = meters.first() else {
        return Ok(None);
    };
    let dialect = Dialect {
        separator: b',',
        decimal: first.decimal.unwrap_or(b'.'),
        thousands: first.thousands,
    };
    let header = header_of(&reader);
    let Some(layout) = Layout::find(name, &header, &dialect, meters, messages) else {
        return Ok(None);
    };
    if layout.time.second.is_some() {
        messages.push(two_time_columns(name));
        return Ok(None);
    }
    let Some(meanings) = meanings(name, &reader, &layout, &first.time.format, messages) else {
        return Ok(None);
    };
    let mut clock = Clock::new(&first.time, zone);
    let times = sample_times(&reader, &layout, &meanings, &mut clock)?;
    let stamp = stamp_of(first, &layout, false);
    let grids = file_reading::grids(meters, known, stamp.0, &times);
    let plans = file_reading::plans(&grids, &layout);
    let rows = RowReader::new(
        dialect,
        clock.clone(),
        layout.time,
        Names::default(),
        &first.missing,
        &plans,
    );
    let group = RowGroups {
        reader: &reader,
        rows: &rows,
        meanings: &meanings,
        time_cell: layout.time.first,
        clock: &clock,
        progress,
    };
    let mut merger = Merger::new(&rows, 0);
    group.read_all(&mut merger)?;
    let (parts, counts) = merger.finish();
    let place = |row: usize, cell: usize| {
        let text = format!("row {}, column {}", row + 1, layout.name(cell));
        Place::in_line(name, row + 1, &text, 0..text.len())
    };
    let faults = FileFaults {
        name,
        place: &place,
        layout: &layout,
        counts: &counts,
        meters,
        parts: &parts,
    };
    let read = faults.report(messages);
    let form = FileForm {
        name: name.to_owned(),
        encoding: None,
        packed: false,
        separator: None,
        decimal: None,
        header_line: None,
        units_line: None,
        time_format: None,
        format: None,
        stamp: stamp.1,
    };
    let format = first.time.format.clone();
    Ok(read.map(|()| FileReading::new(grids, parts, counts, layout, (form, format, times))))
}

fn refused_packing(name: &str, packing: &str) -> Message {
    Message::error(
        "log-compression",
        format!("the log `{name}` is compressed with {packing}"),
    )
    .at(Place::file(name), "")
    .help("write it with snappy, gzip, lz4 or no compression")
}

fn two_time_columns(name: &str) -> Message {
    Message::error(
        "time-columns",
        format!("`{name}` has date and time of day in two columns"),
    )
    .at(Place::file(name), "")
    .help("write them into one column of times")
}

/// The names of the columns as the header line of a text log.
pub(crate) fn header_of(reader: &SharedReader) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let schema = reader.metadata().file_metadata().schema_descr();
    let names: Vec<String> = (0..schema.num_columns())
        .map(|cell| schema.column(cell).path().string())
        .collect();
    // Memory can be written to.
    let _ = writer.write_record(&names);
    writer.into_inner().unwrap_or_default()
}

/// Sizes that cannot be.
fn refuse_lies(reader: &SharedReader, length: u64) -> ParquetResult<()> {
    let groups = reader.metadata().row_groups();
    let rows: i128 = groups
        .iter()
        .map(|group| i128::from(group.num_rows()))
        .sum();
    if rows > i128::from(length.saturating_mul(MOST_ROWS_PER_BYTE)) {
        return Err(ParquetError::General(format!(
            "it claims to hold {rows} rows in {length} bytes"
        )));
    }
    for group in groups {
        for column in group.columns() {
            let sizes = [column.compressed_size(), column.uncompressed_size()];
            if sizes.iter().any(|size| !(0..LARGEST_COLUMN).contains(size)) {
                return Err(ParquetError::General(format!(
                    "column `{}` claims a size of {} bytes",
                    column.column_path(),
                    sizes[1]
                )));
            }
        }
    }
    Ok(())
}

/// The first compression that cannot be undone here.
fn foreign_packing(reader: &SharedReader) -> Option<&'static str> {
    let groups = reader.metadata().row_groups().iter();
    groups
        .flat_map(parquet::file::metadata::RowGroupMetaData::columns)
        .find_map(|column| match column.compression() {
            Compression::ZSTD(_) => Some("zstd"),
            Compression::BROTLI(_) => Some("brotli"),
            Compression::LZO => Some("lzo"),
            _ => None,
        })
}

/// What each column that is used holds, by its cell.
fn meanings(
    name: &str,
    reader: &SharedReader,
    layout: &Layout,
    format: &TimeFormat,
    messages: &mut Messages,
) -> Option<Vec<Option<ColumnMeaning>>> {
    let schema = reader.metadata().file_metadata().schema_descr();
    let mut meanings = vec![None; schema.num_columns()];
    let mut sound = true;
    let mut refuse = |cell: usize, holds: &str, expected: &str| {
        messages.push(
            Message::error(
                "column-type",
                format!("column `{}` of `{name}` holds {holds}", layout.name(cell)),
            )
            .at(Place::file(name), "")
            .help(format!("name a column with {expected}")),
        );
    };
    let used = layout.meters.iter().flatten().map(|plan| plan.cell);
    let mut used: Vec<usize> = used.collect();
    used.sort_unstable();
    used.dedup();
    for cell in used {
        match ColumnMeaning::of(&schema.column(cell)) {
            Ok(meaning) if meaning.is_number() => meanings[cell] = Some(meaning),
            other => {
                refuse(cell, other.err().unwrap_or("times"), "numbers");
                sound = false;
            }
        }
    }
    match ColumnMeaning::of(&schema.column(layout.time.first)) {
        Ok(meaning) => {
            let unix = matches!(format, TimeFormat::UnixSeconds | TimeFormat::UnixMillis);
            if meaning.is_number() && meaning != ColumnMeaning::Text && !unix {
                let expected = "times, or set `format = \"unix-s\"` or `\"unix-ms\"` under `time`";
                refuse(layout.time.first, "plain numbers", expected);
                sound = false;
            }
            meanings[layout.time.first] = Some(meaning);
        }
        Err(holds) => {
            refuse(layout.time.first, holds, "times");
            sound = false;
        }
    }
    sound.then_some(meanings)
}

/// Times of the first rows.
fn sample_times(
    reader: &SharedReader,
    layout: &Layout,
    meanings: &[Option<ColumnMeaning>],
    clock: &mut Clock,
) -> ParquetResult<Vec<i64>> {
    let Some(meaning) = meanings[layout.time.first] else {
        return Ok(Vec::new());
    };
    let mut times = Vec::new();
    for number in 0..reader.num_row_groups() {
        let group = reader.get_row_group(number)?;
        let mut column = ParquetColumn::open(&*group, layout.time.first)?;
        let piece = column.read(SAMPLE_ROWS)?;
        for row in 0..piece.len() {
            if let (Reading::At(at) | Reading::Skipped(at), _) = piece.time(row, meaning, clock) {
                times.push(at);
            }
        }
        if times.len() >= SAMPLE_ROWS {
            break;
        }
    }
    Ok(times)
}

/// One column of a row group.
pub(crate) struct ParquetColumn {
    reader: ColumnReader,
    nullable: i16,
}

impl ParquetColumn {
    pub(crate) fn open(
        group: &dyn parquet::file::reader::RowGroupReader,
        cell: usize,
    ) -> ParquetResult<ParquetColumn> {
        let descriptor = group.metadata().schema_descr().column(cell);
        let nullable = descriptor.max_def_level();
        let rows = u64::try_from(group.metadata().num_rows()).unwrap_or_default();
        let pages = HonestPages::new(group.get_column_page_reader(cell)?, nullable > 0, rows);
        Ok(ParquetColumn {
            reader: get_column_reader(descriptor, Box::new(pages)),
            nullable,
        })
    }

    pub(crate) fn read(&mut self, rows: usize) -> ParquetResult<Piece> {
        Piece::read(&mut self.reader, self.nullable, rows)
    }
}

/// Everything needed to read a row group.
struct RowGroups<'r, 'm> {
    reader: &'r SharedReader,
    rows: &'r RowReader<'m>,
    meanings: &'r [Option<ColumnMeaning>],
    time_cell: usize,
    clock: &'r Clock,
    progress: &'r dyn Progress,
}

impl RowGroups<'_, '_> {
    /// As many groups at a time as there are threads, merged in their order.
    fn read_all(&self, merger: &mut Merger) -> ParquetResult<()> {
        let groups: Vec<usize> = (0..self.reader.num_row_groups()).collect();
        for some in groups.chunks(rayon::current_num_threads().max(1)) {
            let read: Vec<ParquetResult<Chunk>> = some
                .par_iter()
                .map(|&number| quietly(|| self.read(number)))
                .collect();
            for chunk in read {
                merger.take(chunk?);
            }
        }
        Ok(())
    }

    fn read(&self, number: usize) -> ParquetResult<Chunk> {
        let group = self.reader.get_row_group(number)?;
        let mut clock = self.clock.clone();
        let mut times = ParquetColumn::open(&*group, self.time_cell)?;
        let cells = self.rows.cells();
        let mut columns = Vec::with_capacity(cells.len());
        for &cell in cells {
            columns.push(ParquetColumn::open(&*group, cell)?);
        }
        let meaning = |cell: usize| self.meanings[cell].unwrap_or(ColumnMeaning::Text);
        let mut pass = self.rows.pass();
        loop {
            let stamps = times.read(ROWS)?;
            let mut pieces = Vec::with_capacity(columns.len());
            for column in &mut columns {
                let piece = column.read(ROWS)?;
                if piece.len() != stamps.len() {
                    return Err(ParquetError::General(
                        "its columns have different lengths".to_owned(),
                    ));
                }
                pieces.push(piece);
            }
            if stamps.len() == 0 {
                let bytes = group.metadata().compressed_size();
                self.progress.advance(bytes.max(0) as u64);
                return Ok(pass.finish());
            }
            for row in 0..stamps.len() {
                let (reading, stamp) = stamps.time(row, meaning(self.time_cell), &mut clock);
                let row_cells = cells.iter().zip(&pieces).map(|(&cell, piece)| {
                    let read = piece.cell(row, meaning(cell), |text| self.rows.read_text(text));
                    self.rows.or_missing(read)
                });
                let text_of = |cell: usize| {
                    let at = cells.partition_point(|&known| known < cell);
                    pieces.get(at).map_or(&[][..], |piece| piece.text(row))
                };
                pass.take_cells(reading, &stamp, row_cells, &text_of);
            }
        }
    }
}
