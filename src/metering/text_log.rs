//! One text log, read once for all the meters that use it: fixed-size chunks cut at line ends,
//! parsed on all cores, merged in chunk order.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use chrono_tz::Tz;

use super::chunks::{Chunks, in_order};
use super::clock::{Clock, Reading};
use super::dialect::Dialect;
use super::grid::Grid;
use super::layout::ColumnPlan;
use super::layout::Layout;
use super::logs::LoggedColumn;
use super::merger::Merger;
use super::meter_part::MeterPart;
use super::progress::Progress;
use super::rows::{Counts, RowReader};
use crate::message::{Message, Messages, Place};
use crate::site::{Meter, RepeatedHour};

/// How much of the beginning is looked at to learn how the log is written.
const SAMPLE_BYTES: usize = 256 << 10;
/// Faster logs are gathered into intervals of this length. (s)
const SHORTEST_INTERVAL_S: i64 = 60;

/// What one file gave for each of its meters.
#[derive(Debug)]
pub(super) struct FileReading {
    pub(super) grids: Vec<Grid>,
    pub(super) parts: Vec<MeterPart>,
    pub(super) counts: Counts,
    pub(super) columns: Vec<Vec<LoggedColumn>>,
    pub(super) unused: Vec<String>,
}

/// Reads a file. `known` holds the grids that earlier files of the same meters gave.
pub(super) fn read(
    path: &Path,
    name: &str,
    meters: &[&Meter],
    known: &[Option<Grid>],
    zone: Tz,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Option<FileReading> {
    let open = || -> io::Result<(File, Vec<u8>)> {
        let mut file = File::open(path)?;
        let mut sample = Vec::with_capacity(SAMPLE_BYTES);
        (&mut file)
            .take(SAMPLE_BYTES as u64)
            .read_to_end(&mut sample)?;
        Ok((file, sample))
    };
    let (file, mut sample) = match open() {
        Ok(opened) => opened,
        Err(error) => {
            messages.push(
                Message::error(
                    "cannot-read",
                    format!("cannot read the log `{name}`: {error}"),
                )
                .at(Place::file(name), ""),
            );
            return None;
        }
    };
    let mark = sample.starts_with(b"\xef\xbb\xbf");
    if mark {
        sample.drain(..3);
    }
    let first = meters.first()?;
    let dialect = Dialect::detect(&sample, first.separator, first.decimal);
    let layout = Layout::find(name, &sample, &dialect, meters, messages)?;
    let clock = Clock::new(&first.time, zone);
    let times = sample_times(&sample[layout.bytes_before..], &dialect, &layout, &clock);
    let grids: Vec<Grid> = meters
        .iter()
        .zip(known)
        .map(|(meter, known)| known.unwrap_or_else(|| learn_grid(meter, &times)))
        .collect();
    let name_of_time = layout.names.get(layout.time_cell).cloned();
    let plans: Vec<(Grid, &[ColumnPlan])> = grids
        .iter()
        .copied()
        .zip(layout.meters.iter().map(Vec::as_slice))
        .collect();
    let reader = RowReader::new(
        dialect,
        clock,
        (layout.time_cell, name_of_time.unwrap_or_default()),
        &first.missing,
        &plans,
    );
    let mut merger = Merger::new(&reader, layout.lines_before);
    let begun = sample.get(layout.bytes_before..).unwrap_or_default();
    let rest = Watched {
        input: file,
        progress,
    };
    progress.advance(sample.len() as u64);
    if let Err(error) = in_order(
        Chunks::new(begun.chain(rest)),
        |chunk| reader.read(chunk),
        |chunk| merger.take(chunk),
    ) {
        messages.push(
            Message::error(
                "cannot-read",
                format!("cannot read the log `{name}`: {error}"),
            )
            .at(Place::file(name), ""),
        );
        return None;
    }
    let (parts, counts) = merger.finish();
    let place = |line: usize, cell: usize| {
        let text = line_of(path, line);
        Place::in_record(name, line + 1, &text, reader.separator(), cell)
    };
    report_faults(name, &place, &layout, &counts, meters, &parts, messages)?;
    Some(FileReading::new(grids, parts, counts, layout))
}

impl FileReading {
    pub(super) fn new(
        grids: Vec<Grid>,
        parts: Vec<MeterPart>,
        counts: Counts,
        layout: Layout,
    ) -> FileReading {
        let logged = |column: &ColumnPlan| LoggedColumn {
            quantity: column.quantity,
            column: layout.names[column.cell].clone(),
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
        }
    }
}

/// Tells how much has been read.
struct Watched<'p, R> {
    input: R,
    progress: &'p dyn Progress,
}

impl<R: Read> Read for Watched<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let got = self.input.read(buffer)?;
        self.progress.advance(got as u64);
        Ok(got)
    }
}

/// Readable times of the first rows, in file order.
fn sample_times(bytes: &[u8], dialect: &Dialect, layout: &Layout, clock: &Clock) -> Vec<i64> {
    let mut clock = clock.clone();
    bytes
        .split(|&byte| byte == b'\n')
        .take(2000)
        .filter_map(|line| {
            let record = dialect.split(line);
            match clock.read(record.get(layout.time_cell)?) {
                Reading::At(at) | Reading::Skipped(at) => Some(at),
                Reading::Repeated { .. } | Reading::Unreadable => None,
            }
        })
        .collect()
}

/// The most frequent distance between readings, and where the intervals start.
pub(super) fn learn_grid(meter: &Meter, times: &[i64]) -> Grid {
    let shared = times.windows(2).filter(|pair| pair[0] == pair[1]).count();
    let steps: Vec<i64> = times
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .filter(|&step| step > 0)
        .collect();
    let mut cadence_s = most_frequent(&steps).unwrap_or(SHORTEST_INTERVAL_S);
    if cadence_s > 30 {
        // Jitter of a few seconds around a whole minute is not a cadence.
        let minute = (cadence_s + 30).div_euclid(60) * 60;
        if (cadence_s - minute).abs() <= 5 {
            cadence_s = minute;
        }
    }
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
    if counts.usable == 0 {
        let message = Message::error("no-usable-row", format!("no row of `{name}` can be used"));
        let message = match (&counts.first_bad_time, &counts.first_bad_cell) {
            (Some(fault), _) => message
                .at(
                    place(fault.line, fault.cell),
                    format!("expected a time as declared, found `{}`", fault.text),
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
                format!("expected a time, found `{}`", fault.text),
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
                            layout.names[column.cell], meter.id
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
    let Ok(file) = File::open(path) else {
        return String::new();
    };
    let mut reader = io::BufReader::new(file);
    let mut buffer = Vec::new();
    for _ in 0..=line {
        buffer.clear();
        // Only for drawing: a file that vanished meanwhile gives an empty line.
        if reader.read_until(b'\n', &mut buffer).unwrap_or(0) == 0 {
            break;
        }
    }
    let text = String::from_utf8_lossy(&buffer);
    text.trim_start_matches('\u{feff}')
        .trim_end_matches(['\n', '\r'])
        .to_owned()
}
