//! What the files of one meter gave, put together and finished into its log.

use std::sync::OnceLock;

use chrono::TimeZone;

use super::logged_column::LoggedColumn;
use super::meter_log::MeterLog;
use super::rows::Counts;
use crate::clean::clock_resets::without_resets;
use crate::clean::put_right::clean;
use crate::header::file_form::FileForm;
use crate::intervals::meter_part::MeterPart;
use crate::rows::line_problems::LineProblems;
use crate::source::text_source::Encoding;
use crate::table::gaps;
use crate::table::quality::{Action, QualityEntry};
use crate::time::cadence::Steps;
use crate::time::grid::Grid;
use crate::time::known::Known;
use message::{Message, Messages};
use site::{Meter, Quantity, Site};

/// So many times of each of several short files show their cadence.
const FEW: usize = 16;

/// What the files of one meter gave so far.
#[derive(Debug, Default)]
pub(super) struct MeterFiles {
    /// Names of the files, in the order of reading.
    files: Vec<String>,
    forms: Vec<FileForm>,
    pub(super) known: Option<Known>,
    /// The first times of the files, as long as they are too few to show a cadence.
    few: Vec<i64>,
    /// What stands in the way of putting the last file to the others.
    pub(super) differs: Option<Message>,
    part: Option<MeterPart>,
    columns: Vec<LoggedColumn>,
    counts: Counts,
    /// What the files hold and was not read.
    not_read: Vec<QualityEntry>,
}

impl MeterFiles {
    pub(super) fn take(
        &mut self,
        form: &FileForm,
        known: Known,
        part: MeterPart,
        columns: Vec<LoggedColumn>,
        counts: &Counts,
    ) {
        let grid = known.grid;
        self.known.get_or_insert(known);
        let number = self.files.len();
        self.files.push(form.name.clone());
        self.forms.push(form.clone());
        let part = part.placed(|spot| spot.in_file(number));
        let counts = counts.clone().placed(|spot| spot.in_file(number));
        self.counts.merge(counts, 0);
        match &mut self.part {
            Some(known) if same_quantities(&self.columns, &columns) => known.merge(grid, part),
            Some(_) => {
                self.differs = Some(other_columns(
                    &self.files[0],
                    &self.columns,
                    &form.name,
                    &columns,
                ));
            }
            None => {
                self.part = Some(part);
                self.columns = columns;
            }
        }
    }

    /// Remembers what a file holds and was not read.
    pub(super) fn note_not_read(&mut self, entries: &[QualityEntry]) {
        self.not_read.extend_from_slice(entries);
    }

    /// Remembers the times of files that are too short to show a cadence.
    pub(super) fn note_times(&mut self, times: &[i64]) {
        let alone = self.files.len() == 1 && times.len() < 2;
        if alone || self.files.len() > 1 && !self.few.is_empty() {
            self.few.extend(times.iter().take(FEW));
        }
    }

    /// The grid that all files show, where it is not the one that the first showed.
    pub(super) fn other_grid(&self, meter: &Meter) -> Option<Known> {
        let known = self.known.as_ref()?;
        let learned =
            (self.few.len() > 1).then(|| Grid::learned(meter, known.grid.stamp, &self.few));
        let grid = learned.unwrap_or(known.grid);
        let (cadences, _) = self.counts.steps.cadences();
        let grid = grid.for_all(&cadences).or(learned)?;
        Some(Known {
            grid,
            format: known.format.clone(),
        })
    }

    pub(super) fn finish(
        self,
        meter: usize,
        site: &Site,
        window: (i64, i64),
        messages: &mut Messages,
    ) -> Option<MeterLog> {
        let (known, mut part) = (self.known?, self.part?);
        let grid = known.grid;
        part.settle(grid);
        let whole = part.intervals.span(|bin| grid.start_of_bin(bin));
        let lines = LineProblems::of(&part, &self.counts);
        // What a reading is spread over may reach into the window from outside.
        let read = if grid.spread_from_s.is_some() {
            (i64::MIN, i64::MAX)
        } else {
            window
        };
        let (starts, columns) = part.intervals.finish(|bin| grid.start_of_bin(bin), read);
        if starts.is_empty() {
            messages.push(empty_period(site, meter, whole));
            return None;
        }
        let (starts, columns, resets) = without_resets(starts, columns);
        let clean = clean(
            site,
            &site.meters[meter],
            grid,
            &self.columns,
            starts,
            columns,
            window,
        );
        if clean.table.is_empty() {
            messages.push(empty_period(site, meter, whole));
            return None;
        }
        let coverage = gaps::coverage(clean.table.starts(), grid.base_s);
        let mut quality: Vec<QualityEntry> = coverage.entries();
        quality.extend(self.not_read);
        quality.extend(resets);
        quality.extend(changed_cadence(&self.counts.steps, grid));
        quality.extend(foreign_characters(&self.forms));
        quality.extend(lines.entries(&self.files, &clean.table));
        quality.extend(clean.quality);
        Some(MeterLog {
            meter,
            table: clean.table,
            as_logged: None,
            faults: Vec::new(),
            cadence_s: grid.logged_every_s() as u32,
            coverage,
            register_energy_kwh: clean.register_energy_kwh,
            register_step_kwh: clean.register_step_kwh,
            register_check: clean.register_check,
            quality,
            columns: self.columns,
            files: self.forms,
            rows: self.counts.rows,
            plain_rows: self.counts.fast,
            known: Some(known),
            phase_voltage_v: site.supply.phase_voltage_v(),
            phasors: OnceLock::new(),
        })
    }
}

/// Rows that follow each other at several distances.
fn changed_cadence(steps: &Steps, grid: Grid) -> Option<QualityEntry> {
    let (cadences, changes) = steps.cadences();
    (changes > 0).then(|| {
        let list: Vec<String> = cadences
            .iter()
            .map(|(step, _)| format!("{step} s"))
            .collect();
        QualityEntry {
            kind: "cadence-change".to_owned(),
            count: changes,
            note: format!(
                "a reading every {}; averaged over intervals of {} s",
                list.join(" or "),
                grid.base_s
            ),
            action: Some(Action::Kept),
            ..QualityEntry::default()
        }
    })
}

/// Files whose characters had to be guessed.
fn foreign_characters(forms: &[FileForm]) -> Option<QualityEntry> {
    let foreign: Vec<&FileForm> = forms
        .iter()
        .filter(|form| form.encoding == Some(Encoding::Windows1252))
        .collect();
    let (first, last) = (foreign.first()?, foreign.last()?);
    Some(QualityEntry {
        kind: "encoding".to_owned(),
        count: foreign.len() as u64,
        first_file: Some(first.name.clone()),
        last_file: Some(last.name.clone()),
        note: "files that are not UTF-8; read as Windows-1252 (which includes Latin-1)".to_owned(),
        action: Some(Action::Kept),
        ..QualityEntry::default()
    })
}

fn same_quantities(a: &[LoggedColumn], b: &[LoggedColumn]) -> bool {
    let quantities = |columns: &[LoggedColumn]| -> Vec<Quantity> {
        columns.iter().map(|column| column.quantity).collect()
    };
    quantities(a) == quantities(b)
}

/// Files of one meter with other quantities.
fn other_columns(
    first: &str,
    known: &[LoggedColumn],
    file: &str,
    columns: &[LoggedColumn],
) -> Message {
    let lacks = |of: &[LoggedColumn], from: &[LoggedColumn]| -> Vec<String> {
        let missing = from
            .iter()
            .filter(|column| !of.iter().any(|other| other.quantity == column.quantity));
        missing
            .map(|column| format!("`{}`", column.quantity))
            .collect()
    };
    let (fewer, more) = (lacks(columns, known), lacks(known, columns));
    let mut differences = Vec::new();
    if !fewer.is_empty() {
        differences.push(format!("has no {}", fewer.join(", ")));
    }
    if !more.is_empty() {
        differences.push(format!("also has {}", more.join(", ")));
    }
    if differences.is_empty() {
        differences.push("has other import or export columns".to_owned());
    }
    Message::error(
        "files-differ",
        format!("`{file}` has other quantities than `{first}`"),
    )
    .note(format!("`{file}` {}", differences.join(" and ")))
    .help("under `[meter.columns]`, name the columns that all files have")
}

/// Says when the log has readings, since it has none in the window.
fn empty_period(site: &Site, meter: usize, whole: Option<(i64, i64)>) -> Message {
    let local = |at: i64| {
        let at = site.timezone.timestamp_opt(at, 0).single()?;
        Some(units::format_date(at.date_naive()))
    };
    let message = Message::error(
        "empty-period",
        format!(
            "meter `{}` has no reading in the selected period",
            site.meters[meter].id
        ),
    );
    let message = match whole.and_then(|(first, last)| Some((local(first)?, local(last)?))) {
        Some((first, last)) => message.note(format!("its log has readings from {first} to {last}")),
        None => message,
    };
    message.help("check `--from` and `--to`: local dates; the date of `--to` is excluded")
}
