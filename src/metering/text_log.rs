//! One text log, read once for all the meters that use it: fixed-size chunks cut at line ends,
//! parsed on all cores, merged in chunk order.

use std::io::{self, Read};
use std::path::Path;

use chrono_tz::Tz;

use super::chunks::{Chunks, in_order};
use super::clock::{Clock, Reading};
use super::dialect::Dialect;
use super::grid::Grid;
use super::headers::Header;
use super::layout::{ColumnPlan, Layout, TimeCells};
use super::logs::LoggedColumn;
use super::merger::Merger;
use super::meter_part::MeterPart;
use super::progress::{Progress, Unwatched};
use super::rows::{Counts, Names, RowReader};
use super::steps::settled;
use super::text_source::{Encoding, TextSource, why_not_unpacked};
use super::time_format::{self, pattern_of};
use crate::message::{Message, Messages, Place};
use crate::site::{Meter, RepeatedHour, TimeColumn, TimeFormat};

/// Faster logs are gathered into intervals of this length. (s)
const SHORTEST_INTERVAL_S: i64 = 60;

/// Readings that lie further apart have a gap between them. (s)
const LONGEST_STEP_S: i64 = 366 * 86_400;

/// What earlier files of a meter showed.
#[derive(Clone, Debug)]
pub(super) struct Known {
    pub(super) grid: Grid,
    pub(super) format: TimeFormat,
}

/// How a file is written, as far as that was to be found out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileForm {
    /// Its name inside the site folder.
    pub name: String,
    /// How its characters are written; `None` for a file that is not text.
    pub encoding: Option<Encoding>,
    /// Packed with gzip?
    pub packed: bool,
    /// What separates its cells.
    pub separator: Option<char>,
    /// Its decimal sign.
    pub decimal: Option<char>,
    /// Line of its header, from 1.
    pub header_line: Option<usize>,
    /// Line of its row of units, from 1.
    pub units_line: Option<usize>,
    /// How its times are written.
    pub time_format: Option<String>,
}

/// What one file gave for each of its meters.
#[derive(Debug)]
pub(super) struct FileReading {
    pub(super) grids: Vec<Grid>,
    pub(super) parts: Vec<MeterPart>,
    pub(super) counts: Counts,
    pub(super) columns: Vec<Vec<LoggedColumn>>,
    pub(super) unused: Vec<String>,
    pub(super) form: FileForm,
    /// The first times, in file order. (Unix s)
    pub(super) times: Vec<i64>,
    pub(super) format: TimeFormat,
}

/// Reads a file. `known` holds the grids that earlier files of the same meters gave.
pub(super) fn read(
    path: &Path,
    name: &str,
    meters: &[&Meter],
    known: &[Option<Known>],
    zone: Tz,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Option<FileReading> {
    let refuse = |(error, packed): (io::Error, bool), messages: &mut Messages| {
        messages.push(unreadable(name, &error, packed));
        None
    };
    let source = match TextSource::open(path, progress) {
        Ok(source) => source,
        Err(fault) => return refuse(fault, messages),
    };
    let sample = source.sample;
    let first = meters.first()?;
    let dialect = Dialect::detect(&sample, first.separator, first.decimal, first.thousands);
    let layout = Layout::find(name, &sample, &dialect, meters, messages)?;
    let begun = sample.get(layout.header.bytes_before..).unwrap_or_default();
    let stamps = first_stamps(begun, &dialect, layout.time);
    let format = time_format(name, &first.time.format, known, &stamps, messages)?;
    let time = TimeColumn {
        format: format.clone(),
        ..first.time.clone()
    };
    let two = layout.time.second.is_some();
    let clock = Clock::new(&time, zone).of_two_cells(two.then_some(dialect.separator));
    let times = times_of(&stamps, &clock);
    let grids: Vec<Grid> = meters
        .iter()
        .zip(known)
        .map(|(meter, known)| {
            known
                .as_ref()
                .map_or_else(|| learn_grid(meter, &times), |known| known.grid)
        })
        .collect();
    let plans: Vec<(Grid, &[ColumnPlan])> = grids
        .iter()
        .copied()
        .zip(layout.meters.iter().map(Vec::as_slice))
        .collect();
    let form = FileForm {
        name: name.to_owned(),
        encoding: Some(source.encoding),
        packed: source.packed,
        separator: Some(dialect.separator as char),
        decimal: Some(dialect.decimal as char),
        header_line: first.header.then_some(layout.header.line),
        units_line: layout.header.units.as_ref().map(|(line, ..)| *line),
        time_format: Some(pattern_of(&format)),
    };
    let reader = RowReader::new(
        dialect,
        clock,
        layout.time,
        names_of_rows(first, &layout.header),
        &first.missing,
        &plans,
    );
    let mut merger = Merger::new(&reader, layout.header.lines_before);
    let rest = source.rest;
    if let Err(error) = in_order(
        Chunks::new(begun.chain(rest)),
        |chunk| reader.read(chunk),
        |chunk| merger.take(chunk),
    ) {
        return refuse((error, source.packed), messages);
    }
    let (parts, counts) = merger.finish();
    let place = |line: usize, cell: usize| {
        let text = line_of(path, line);
        Place::in_record(name, line + 1, &text, reader.separator(), cell)
    };
    report_faults(name, &place, &layout, &counts, meters, &parts, messages)?;
    Some(FileReading::new(
        grids,
        parts,
        counts,
        layout,
        (form, format, times),
    ))
}

impl FileReading {
    pub(super) fn new(
        grids: Vec<Grid>,
        parts: Vec<MeterPart>,
        counts: Counts,
        layout: Layout,
        (form, format, times): (FileForm, TimeFormat, Vec<i64>),
    ) -> FileReading {
        let logged = |column: &ColumnPlan| LoggedColumn {
            quantity: column.quantity,
            column: layout.name(column.cell).to_owned(),
            unit: column.unit.clone(),
            scale: column.factor,
            reason: column.reason,
        };
        FileReading {
            grids,
            parts,
            counts,
            columns: layout
                .meters
                .iter()
                .map(|columns| columns.iter().map(logged).collect())
                .collect(),
            unused: layout.unused,
            form,
            format,
            times,
        }
    }
}

fn unreadable(name: &str, error: &io::Error, packed: bool) -> Message {
    if packed && error.kind() != io::ErrorKind::NotFound {
        let why = why_not_unpacked(error);
        return Message::error(
            "damaged-log",
            format!("the log `{name}` is not a whole gzip file: {why}"),
        )
        .at(Place::file(name), "")
        .help("export or copy the log again");
    }
    Message::error(
        "cannot-read",
        format!("cannot read the log `{name}`: {error}"),
    )
    .at(Place::file(name), "")
}

/// What may stand between the rows once more.
fn names_of_rows(meter: &Meter, header: &Header) -> Names {
    if !meter.header {
        return Names::default();
    }
    let units = header.units.as_ref();
    Names {
        header: header.names.clone(),
        units: units.map(|(.., units)| units.clone()).unwrap_or_default(),
    }
}

/// Stamps of the first rows, in file order.
fn first_stamps(bytes: &[u8], dialect: &Dialect, time: TimeCells) -> Vec<Vec<u8>> {
    let lines = bytes.split(|&byte| byte == b'\n').take(2000);
    lines
        .map(|line| {
            let record = dialect.split(line);
            let mut stamp = Vec::new();
            let cell = |cell: usize| record.get(cell).unwrap_or_default();
            time.stamp(b' ', cell, &mut stamp);
            stamp
        })
        .filter(|stamp| !stamp.trim_ascii().is_empty())
        .collect()
}

/// The declared format, that of an earlier file, or the one that the stamps show.
fn time_format(
    name: &str,
    declared: &TimeFormat,
    known: &[Option<Known>],
    stamps: &[Vec<u8>],
    messages: &mut Messages,
) -> Option<TimeFormat> {
    if *declared != TimeFormat::Recognised {
        return Some(declared.clone());
    }
    match time_format::recognise(stamps) {
        Ok(format) => Some(format),
        Err(open) => {
            let patterns = [&open.day_first, &open.month_first];
            let earlier = known
                .iter()
                .flatten()
                .find(|known| patterns.contains(&&pattern_of(&known.format)));
            if let Some(known) = earlier {
                return Some(known.format.clone());
            }
            messages.push(
                Message::error(
                    "ambiguous-date",
                    format!(
                        "day and month of `{}` in `{name}` may change places",
                        open.stamp
                    ),
                )
                .at(Place::file(name), "")
                .help(format!(
                    "set `format = \"{}\"` or `format = \"{}\"` under the meter's `time`",
                    open.day_first, open.month_first
                )),
            );
            None
        }
    }
}

/// Readable times among stamps.
fn times_of(stamps: &[Vec<u8>], clock: &Clock) -> Vec<i64> {
    let mut clock = clock.clone();
    let times = stamps.iter().filter_map(|stamp| match clock.read(stamp) {
        Reading::At(at) | Reading::Skipped(at) => Some(at),
        Reading::Repeated { .. } | Reading::Unreadable => None,
    });
    times.collect()
}

/// The most frequent distance between readings, and where the intervals start.
pub(super) fn learn_grid(meter: &Meter, times: &[i64]) -> Grid {
    let shared = times.windows(2).filter(|pair| pair[0] == pair[1]).count();
    let steps: Vec<i64> = times
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .filter(|step| (1..=LONGEST_STEP_S).contains(step))
        .collect();
    let cadence_s = settled(most_frequent(&steps).unwrap_or(SHORTEST_INTERVAL_S));
    let mut grid = Grid {
        readings: meter.readings,
        stamp: meter.stamp,
        cadence_s,
        base_s: cadence_s.max(SHORTEST_INTERVAL_S),
        anchor_s: 0,
        within_second: 2 * shared > times.len(),
    };
    if !grid.is_fast() {
        let offsets: Vec<i64> = times
            .iter()
            .map(|&at| grid.start_of(at).rem_euclid(grid.base_s))
            .collect();
        grid.anchor_s = most_frequent(&offsets).unwrap_or(0);
    }
    grid
}

/// The smallest of the most frequent values.
fn most_frequent(values: &[i64]) -> Option<i64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable();
    let mut best: Option<(usize, i64)> = None;
    for run in sorted.chunk_by(|a, b| a == b) {
        if best.is_none_or(|(count, _)| run.len() > count) {
            best = Some((run.len(), run[0]));
        }
    }
    best.map(|(_, value)| value)
}

/// Turns what could not be read into messages; `None` where nothing could.
pub(super) fn report_faults(
    name: &str,
    place: &dyn Fn(usize, usize) -> Place,
    layout: &Layout,
    counts: &Counts,
    meters: &[&Meter],
    parts: &[MeterPart],
    messages: &mut Messages,
) -> Option<()> {
    if counts.rows == 0 {
        messages.push(
            Message::error(
                "empty-log",
                format!("the log `{name}` has a header and no rows"),
            )
            .at(Place::file(name), "")
            .help("export the log again, or take the file out of the meter's `files`"),
        );
        return None;
    }
    let strict = meters
        .first()
        .is_some_and(|meter| meter.time.repeated_hour == RepeatedHour::Error);
    if strict && counts.repeated_hour.count > 0 {
        messages.push(
            Message::error(
                "repeated-hour",
                format!(
                    "{} rows of `{name}` lie in the hour that the clock repeats",
                    counts.repeated_hour.count
                ),
            )
            .at(Place::file(name), "")
            .help("log UTC or an offset, or set `repeated_hour = \"by-order\"`"),
        );
        return None;
    }
    if let Some(fault) = &counts.first_other_header {
        messages.push(
            Message::error(
                "columns-move",
                format!("a header between the rows of `{name}` names other columns"),
            )
            .at(
                place(fault.line, fault.cell),
                format!("expected `{}` as above", layout.name(fault.cell)),
            )
            .help("split the file there and name both parts in `files`"),
        );
        return None;
    }
    let declared = meters
        .first()
        .is_some_and(|meter| meter.time.format != TimeFormat::Recognised);
    if counts.usable == 0 {
        let message = Message::error("no-usable-row", format!("no row of `{name}` can be used"));
        let message = match (&counts.first_bad_time, &counts.first_bad_cell) {
            (Some(fault), _) => message
                .at(
                    place(fault.line, fault.cell),
                    if declared {
                        format!("expected a time as declared, found `{}`", fault.text)
                    } else {
                        format!("expected a time in a usual form, found `{}`", fault.text)
                    },
                )
                .help("set `format` and `zone` under the meter's `time`"),
            (None, Some(fault)) => message
                .at(
                    place(fault.line, fault.cell),
                    format!("expected a number, found `{}`", fault.text),
                )
                .help("name the columns that hold numbers under `[meter.columns]`"),
            (None, None) => message.at(Place::file(name), ""),
        };
        messages.push(message);
        return None;
    }
    if let Some(fault) = &counts.first_bad_time {
        messages.push(
            Message::warning(
                "unreadable-time",
                format!(
                    "{} rows of `{name}` have no readable time and are left out",
                    counts.bad_time.count
                ),
            )
            .at(
                place(fault.line, fault.cell),
                format!(
                    "expected a time between 1970 and 2100, found `{}`",
                    fault.text
                ),
            ),
        );
    }
    let mut complete = true;
    for ((meter, part), columns) in meters.iter().zip(parts).zip(&layout.meters) {
        for (column, &numbers) in columns.iter().zip(&part.numbers()) {
            let words_only = counts
                .first_bad_cell
                .as_ref()
                .filter(|fault| numbers == 0 && fault.cell == column.cell);
            if let Some(fault) = words_only {
                complete = false;
                messages.push(
                    Message::error(
                        "no-number-in-column",
                        format!(
                            "column `{}` of meter `{}` holds no number",
                            layout.name(column.cell),
                            meter.id
                        ),
                    )
                    .at(
                        place(fault.line, fault.cell),
                        format!("expected a number, found `{}`", fault.text),
                    )
                    .help("name another column under `[meter.columns]`, or leave the quantity out"),
                );
            }
        }
    }
    complete.then_some(())?;
    if let Some(fault) = &counts.first_bad_cell {
        messages.push(
            Message::warning(
                "unreadable-cell",
                format!(
                    "{} cells of `{name}` hold no number and are left out",
                    counts.bad_cell.count
                ),
            )
            .at(
                place(fault.line, fault.cell),
                format!("expected a number, found `{}`", fault.text),
            ),
        );
    }
    Some(())
}

/// Text of a line (from 0) of a file, for a message.
fn line_of(path: &Path, line: usize) -> String {
    use std::io::BufRead;
    // Only for drawing: a file that vanished meanwhile gives an empty line.
    let Ok(source) = TextSource::open(path, &Unwatched) else {
        return String::new();
    };
    let mut reader = io::BufReader::new(source.sample.chain(source.rest));
    let mut buffer = Vec::new();
    for _ in 0..=line {
        buffer.clear();
        if reader.read_until(b'\n', &mut buffer).unwrap_or(0) == 0 {
            break;
        }
    }
    let text = String::from_utf8_lossy(&buffer);
    text.trim_end_matches(['\n', '\r']).to_owned()
}
