//! One text log, read once for all the meters that use it: fixed-size chunks cut at line ends,
//! parsed on all cores, merged in chunk order.

use std::io::{self, Read};

use chrono_tz::Tz;

use super::file_faults::FileFaults;
use super::file_reading::{self, FileReading};
use crate::header::dialect::{Dialect, read_cell};
use crate::header::file_form::FileForm;
use crate::header::layout::Layout;
use crate::header::names::Header;
use crate::header::stamp_of::stamp_of;
use crate::intervals::merger::Merger;
use crate::progress::{Progress, Unwatched};
use crate::rows::{Names, RowReader};
use crate::source::chunks::{Chunks, in_order};
use crate::source::text_source::{TextInput, TextSource, why_not_unpacked};
use crate::time::clock::Clock;
use crate::time::first_times::{first_stamps, time_format, times_of};
use crate::time::known::Known;
use crate::time::time_format::pattern_of;
use message::{Message, Messages, Place, not_text};
use site::{Meter, Stamp, TimeColumn, TimeFormat};

/// A log to be read as a plain table.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PlainText<'l> {
    pub(crate) input: TextInput<'l>,
    /// Its name in messages.
    pub(crate) name: &'l str,
    /// Which end of an interval its times mark, where its format says so, and why.
    pub(crate) stamp: Option<(Stamp, &'l str)>,
    /// The format that it was recognised as.
    pub(crate) format: Option<&'l str>,
}

/// Reads a file. `known` holds the grids that earlier files of the same meters gave.
pub(crate) fn read(
    log: &PlainText<'_>,
    meters: &[&Meter],
    known: &[Option<Known>],
    zone: Tz,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Option<FileReading> {
    let (input, name) = (log.input, log.name);
    let refuse = |(error, packed): (io::Error, bool), messages: &mut Messages| {
        messages.push(unreadable(name, &error, packed));
        None
    };
    let source = match TextSource::open(input, progress) {
        Ok(source) => source,
        Err(fault) => return refuse(fault, messages),
    };
    if let Some(message) = not_text(name, &source.first_bytes) {
        messages.push(message);
        return None;
    }
    let sample = source.sample;
    let first = meters.first()?;
    let dialect = Dialect::detect(&sample, first.separator, first.decimal, first.thousands);
    let layout = Layout::find(name, &sample, &dialect, meters, messages)?;
    let is_declared = first.decimal.is_some() || first.thousands.is_some();
    if let Some(sign) = dialect.unclear_sign(&sample).filter(|_| !is_declared) {
        let cells: Vec<usize> = layout
            .meters
            .iter()
            .flatten()
            .map(|plan| plan.cell)
            .collect();
        if let Some(message) = unclear_sign(log, &dialect, &cells, sign) {
            messages.push(message);
            return None;
        }
    }
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
    let (stamp, why) = match log.stamp {
        Some((stamp, why)) if first.stamp.is_none() => (stamp, why.to_owned()),
        _ => stamp_of(first, &layout, are_dates(&format, &stamps)),
    };
    let grids = file_reading::grids(meters, known, stamp, &times);
    let plans = file_reading::plans(&grids, &layout);
    let form = FileForm {
        name: name.to_owned(),
        encoding: Some(source.encoding),
        packed: source.packed,
        separator: Some(dialect.separator as char),
        decimal: Some(dialect.decimal as char),
        header_line: first.header.then_some(layout.header.line),
        units_line: layout.header.units.as_ref().map(|(line, ..)| *line),
        time_format: Some(pattern_of(&format)),
        format: log.format.map(str::to_owned),
        stamp: why,
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
        let text = line_of(input, line);
        Place::in_record(name, line + 1, &text, reader.separator(), cell)
    };
    let faults = FileFaults {
        name,
        place: &place,
        layout: &layout,
        counts: &counts,
        meters,
        parts: &parts,
    };
    faults.report(messages)?;
    Some(FileReading::new(
        grids,
        parts,
        counts,
        layout,
        (form, format, times),
    ))
}

/// A sign in the numbers that are read may be a decimal sign or separate thousands: both totals. `None` where the numbers
/// in these cells do not have it, or are the same either way.
fn unclear_sign(
    log: &PlainText<'_>,
    dialect: &Dialect,
    cells: &[usize],
    sign: u8,
) -> Option<Message> {
    use std::io::BufRead;
    let source = TextSource::open(log.input, &Unwatched).ok()?;
    let as_decimal = Dialect {
        decimal: sign,
        thousands: None,
        ..dialect.clone()
    };
    let other = if sign == b',' { b'.' } else { b',' };
    let as_thousands = Dialect {
        decimal: other,
        thousands: Some(sign),
        ..dialect.clone()
    };
    let (mut decimal, mut thousands) = (0.0, 0.0);
    for line in io::BufReader::new(source.sample.chain(source.rest)).split(b'\n') {
        let line = line.ok()?;
        let record = dialect.split(&line);
        for text in cells.iter().filter_map(|&cell| record.get(cell)) {
            decimal += read_cell(text, &as_decimal, &[]).number().unwrap_or(0.0);
            thousands += read_cell(text, &as_thousands, &[]).number().unwrap_or(0.0);
        }
    }
    let shown = char::from(sign);
    (decimal.to_bits() != thousands.to_bits()).then(|| {
        Message::error(
            "thousands-or-decimals",
            format!(
                "`{shown}` in the numbers of `{}` may be a decimal sign or separate thousands: they add up to {} or to {}",
                log.name,
                units::plain_figure(decimal),
                units::plain_figure(thousands)
            ),
        )
        .at(Place::file(log.name), "")
        .help(format!("write under the meter: `decimal = \"{shown}\"` or `thousands = \"{shown}\"`"))
    })
}

/// Are all times dates without a time of day?
fn are_dates(format: &TimeFormat, stamps: &[Vec<u8>]) -> bool {
    match format {
        TimeFormat::Pattern(pattern) => !pattern.contains("%H") && !pattern.contains("%I"),
        TimeFormat::Iso | TimeFormat::Recognised => {
            stamps.iter().all(|stamp| stamp.trim_ascii().len() <= 10)
        }
        TimeFormat::UnixSeconds | TimeFormat::UnixMillis => false,
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

/// Header and units, which may be repeated among the rows.
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

/// Text of a line (from 0) of a file, for a message.
fn line_of(input: TextInput<'_>, line: usize) -> String {
    use std::io::BufRead;
    // Only for drawing: a file that vanished meanwhile gives an empty line.
    let Ok(source) = TextSource::open(input, &Unwatched) else {
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
