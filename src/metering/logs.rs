//! All logs of a site: which file serves which meters, read once each, finished into tables.

use std::collections::BTreeMap;
use std::path::PathBuf;

use chrono::{NaiveDate, TimeZone};
use chrono_tz::Tz;

use super::carbon_factors::{CarbonFactors, read_factors};
use super::clamp::{Round, SwitchingTest, read_rounds, read_switching};
use super::log_contents::{LogBody, LogPart, parts_of};
use super::log_files::{Files, files_of_meters, shown, size_of_file};
use super::meter_files::MeterFiles;
use super::meter_log::MeterLog;
use super::point_search::PointSearch;
use super::progress::{Progress, Unwatched};
use crate::rows::channels;
use crate::rows::file_reading::FileReading;
use crate::rows::parquet::log as parquet_log;
use crate::rows::text_log::{self, PlainText};
use crate::source::text_source::TextInput;
use crate::time::known::Known;
use message::{Messages, Place};
use site::{Meter, Site, Stamp};
use user_tables::Understood;

/// Which part of the logs is looked at: local dates, the second exclusive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Period {
    /// First local date, inclusive.
    pub from: Option<NaiveDate>,
    /// Last local date, exclusive.
    pub to: Option<NaiveDate>,
}

impl Period {
    /// The period in Unix seconds, half-open.
    pub fn seconds(self, zone: Tz) -> (i64, i64) {
        let midnight = |date: NaiveDate| {
            let local = date.and_hms_opt(0, 0, 0).unwrap_or_default();
            // Where midnight is skipped by the clock change, the day starts an hour later.
            zone.from_local_datetime(&local)
                .earliest()
                .or_else(|| {
                    zone.from_local_datetime(&(local + chrono::Duration::hours(1)))
                        .earliest()
                })
                .map(|time| time.timestamp())
        };
        (
            self.from.and_then(midnight).unwrap_or(i64::MIN),
            self.to.and_then(midnight).unwrap_or(i64::MAX),
        )
    }
}

/// The logs of a site.
#[derive(Clone, Debug, Default)]
pub struct Logs {
    /// One entry per meter of the site, in its order.
    pub meters: Vec<MeterLog>,
    /// Columns of each file that no meter uses.
    pub unused_columns: Vec<(String, Vec<String>)>,
    /// Rounds of readings with a clamp meter, in order of time.
    pub rounds: Vec<Round>,
    /// Machines that were switched on purpose, in order of time.
    pub switching: Vec<SwitchingTest>,
    /// How the file of readings was understood.
    pub readings_understood: Understood,
    /// The user's carbon factors over time, where site.toml names a file of them.
    pub carbon: Option<CarbonFactors>,
}

impl Logs {
    /// The log of a meter, if there is one.
    pub fn of(&self, meter: usize) -> Option<&MeterLog> {
        self.meters.iter().find(|log| log.meter == meter)
    }
}

/// Reads the logs of all meters of a site and its rounds of readings. Faults become messages.
pub fn read_logs(site: &Site, period: Period, messages: &mut Messages) -> Logs {
    read_logs_watched(site, period, &Unwatched, messages)
}

/// As [`read_logs`], and reports the progress.
pub fn read_logs_watched(
    site: &Site,
    period: Period,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Logs {
    read_opened(site, period, OpenedFiles::default(), progress, messages)
}

/// What files hold that were opened, by their path and the number of the group of meters.
pub(crate) type OpenedFiles = BTreeMap<(PathBuf, usize), Vec<LogPart>>;

/// As [`read_logs_watched`], with files that were opened before.
pub(crate) fn read_opened(
    site: &Site,
    period: Period,
    mut opened: OpenedFiles,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Logs {
    let files = files_of_meters(site, messages);
    progress.expect(
        files
            .iter()
            .map(|(path, groups)| size_of_file(path) * groups.len() as u64)
            .sum(),
    );
    let mut grids = vec![None; site.meters.len()];
    let mut found = Messages::new();
    let (mut gathered, mut unused_columns) = read_files(
        site,
        &files,
        &grids,
        &mut opened,
        progress,
        (messages, &mut found),
    );
    // What the beginning of a log showed may not hold for all of it.
    for ((gathered, grid), meter) in gathered.iter().zip(&mut grids).zip(&site.meters) {
        *grid = gathered.other_grid(meter);
    }
    if grids.iter().any(Option::is_some) && !found.has_errors() && !messages.has_errors() {
        found = Messages::new();
        (gathered, unused_columns) = read_files(
            site,
            &files,
            &grids,
            &mut opened,
            &Unwatched,
            (messages, &mut found),
        );
    }
    messages.append(found);
    let window = period.seconds(site.timezone);
    let (rounds, understood) = read_rounds(site, window, messages);
    let switching = read_switching(site, window, messages);
    let carbon = read_factors(site, messages);
    if messages.has_errors() {
        return Logs::default();
    }
    let mut meters: Vec<MeterLog> = Vec::new();
    for (index, gathered) in gathered.into_iter().enumerate() {
        let Some(mut log) = gathered.finish(index, site, window, messages) else {
            continue;
        };
        // A year of minutes from many meters would hold the same times as often.
        let _ = meters
            .iter()
            .any(|other| log.table.share_starts(&other.table));
        meters.push(log);
    }
    Logs {
        meters,
        unused_columns,
        rounds,
        switching,
        readings_understood: understood,
        carbon,
    }
}

/// Reads all files; `grids` are those that a first reading showed to be right. Of the messages, the first are about
/// opening a file, which happens once.
fn read_files(
    site: &Site,
    files: &Files,
    grids: &[Option<Known>],
    opened: &mut OpenedFiles,
    progress: &dyn Progress,
    (opening, messages): (&mut Messages, &mut Messages),
) -> (Vec<MeterFiles>, Vec<(String, Vec<String>)>) {
    let mut gathered: Vec<MeterFiles> = site.meters.iter().map(|_| MeterFiles::default()).collect();
    let mut unused_columns = Vec::new();
    let mut points = PointSearch::default();
    for (path, groups) in files {
        let name = shown(&site.folder, path);
        for (number, group) in groups.iter().enumerate() {
            let key = (path.clone(), number);
            if !opened.contains_key(&key) {
                let first = &site.meters[group[0]];
                let Some(parts) = parts_of(path, &name, first, site.timezone, opening) else {
                    points.failed(group);
                    continue;
                };
                opened.insert(key.clone(), parts);
            }
            let parts = &opened[&key];
            let chosen = points.choose(site, &name, group, parts, messages);
            for (part, group) in parts.iter().zip(chosen) {
                let meters: Vec<&Meter> = group.iter().map(|&index| &site.meters[index]).collect();
                if meters.is_empty() {
                    continue;
                }
                let known: Vec<Option<Known>> = group
                    .iter()
                    .map(|&index| {
                        gathered[index]
                            .known
                            .clone()
                            .or_else(|| grids[index].clone())
                    })
                    .collect();
                let reading = read_part(part, &meters, &known, site.timezone, progress, messages);
                let Some(reading) = reading else { continue };
                if !reading.unused.is_empty() {
                    unused_columns.push((part.name.clone(), reading.unused));
                }
                let parts = reading.parts.into_iter().zip(reading.columns);
                for ((&index, grid), (meter_part, columns)) in
                    group.iter().zip(reading.grids).zip(parts)
                {
                    let known = Known {
                        grid,
                        format: reading.format.clone(),
                    };
                    gathered[index].take(
                        &reading.form,
                        known,
                        meter_part,
                        columns,
                        &reading.counts,
                    );
                    gathered[index].note_times(&reading.times);
                    gathered[index].note_not_read(&part.not_read);
                    if let Some(message) = gathered[index].differs.take() {
                        let message = message.at(Place::file(&part.name), "");
                        messages.push(message);
                    }
                }
            }
        }
    }
    points.unused(messages);
    points.not_found(site, messages);
    (gathered, unused_columns)
}

/// Reads what a file holds of one meter.
fn read_part(
    part: &LogPart,
    meters: &[&Meter],
    known: &[Option<Known>],
    zone: Tz,
    progress: &dyn Progress,
    messages: &mut Messages,
) -> Option<FileReading> {
    let format = part.format.as_deref();
    let plain = |input, stamp| PlainText {
        input,
        name: &part.name,
        stamp,
        format,
    };
    match &part.body {
        LogBody::File(path) if parquet_log::is_parquet(path) => {
            parquet_log::read(path, &part.name, meters, known, zone, progress, messages)
        }
        LogBody::File(path) => {
            let log = plain(TextInput::File(path), None);
            text_log::read(&log, meters, known, zone, progress, messages)
        }
        LogBody::Text(text, stamp) => {
            let said = stamp.map(|stamp| match stamp {
                Stamp::Start => (stamp, "start of the interval (the format)"),
                Stamp::End => (stamp, "end of the interval (the format)"),
            });
            let log = plain(TextInput::Memory(text), said);
            text_log::read(&log, meters, known, zone, &Unwatched, messages)
        }
        LogBody::Channels(point) => {
            channels::read(&part.name, format, point, meters, known, messages)
        }
    }
}
