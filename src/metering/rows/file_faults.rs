//! Messages on what could not be read in a file of a log.

use crate::header::layout::Layout;
use crate::intervals::meter_part::MeterPart;
use crate::rows::{Counts, Fault};
use chrono::NaiveDate;

use message::{Message, Messages, Place};
use site::{Meter, RepeatedHour, TimeFormat};

/// A file that was read, and what of it could not be.
pub(crate) struct FileFaults<'f> {
    pub(crate) name: &'f str,
    /// The place of a line (from 0) and a cell, as a message draws it.
    pub(crate) place: &'f dyn Fn(usize, usize) -> Place,
    pub(crate) layout: &'f Layout,
    pub(crate) counts: &'f Counts,
    pub(crate) meters: &'f [&'f Meter],
    pub(crate) parts: &'f [MeterPart],
}

impl FileFaults<'_> {
    /// Turns what could not be read into messages; `None` where the file is of no use.
    pub(crate) fn report(&self, messages: &mut Messages) -> Option<()> {
        if let Some(refusal) = self.refusal() {
            messages.push(refusal);
            return None;
        }
        if let Some(warning) = self.unreadable_times() {
            messages.push(warning);
        }
        let without = self.columns_without_numbers();
        let complete = without.is_empty();
        for error in without {
            messages.push(error);
        }
        complete.then_some(())?;
        if let Some(warning) = self.unreadable_cells() {
            messages.push(warning);
        }
        Some(())
    }

    /// Why nothing of the file can be taken.
    fn refusal(&self) -> Option<Message> {
        self.no_rows()
            .or_else(|| self.repeated_hour_refused())
            .or_else(|| self.columns_move())
            .or_else(|| self.no_usable_row())
    }

    fn no_rows(&self) -> Option<Message> {
        let name = self.name;
        (self.counts.rows == 0).then(|| {
            Message::error(
                "empty-log",
                format!("the log `{name}` has a header but no rows"),
            )
            .at(Place::file(name), "")
            .help("export the log again, or remove the file from the meter's `files`")
        })
    }

    fn repeated_hour_refused(&self) -> Option<Message> {
        let (name, rows) = (self.name, self.counts.repeated_hour.count);
        let first = self.meters.first()?;
        let refused = first.time.repeated_hour == RepeatedHour::Error && rows > 0;
        refused.then(|| {
            Message::error(
                "repeated-hour",
                format!("{rows} rows of `{name}` are in the hour that the clock change repeats"),
            )
            .at(Place::file(name), "")
            .help("log UTC or an offset, or write `repeated_hour = \"by-order\"`")
        })
    }

    fn columns_move(&self) -> Option<Message> {
        let name = self.name;
        let fault = self.counts.first_other_header.as_ref()?;
        let message = Message::error(
            "columns-move",
            format!("a header among the rows of `{name}` names other columns"),
        );
        let expected = format!(
            "expected `{}` as in the first header",
            self.layout.name(fault.cell)
        );
        Some(
            message
                .at(self.place_of(fault), expected)
                .help("split the file there and list both parts in `files`"),
        )
    }

    fn no_usable_row(&self) -> Option<Message> {
        if self.counts.usable > 0 {
            return None;
        }
        let name = self.name;
        let message = Message::error("no-usable-row", format!("no row of `{name}` can be used"));
        Some(
            match (&self.counts.first_bad_time, &self.counts.first_bad_cell) {
                (Some(fault), _) => {
                    let form = self.expected_form();
                    let expected = format!("expected a time {form}, found `{}`", fault.text);
                    message
                        .at(self.place_of(fault), expected)
                        .help(self.time_help(&fault.text))
                }
                (None, Some(fault)) => message
                    .at(self.place_of(fault), expected_number(fault))
                    .help("under `[meter.columns]`, name columns with numbers"),
                (None, None) => message.at(Place::file(name), ""),
            },
        )
    }

    fn expected_form(&self) -> String {
        match self.meters.first().map(|meter| &meter.time.format) {
            Some(TimeFormat::Pattern(pattern)) => format!("written as `{pattern}`"),
            Some(TimeFormat::UnixSeconds) => "in seconds since 1970".to_owned(),
            Some(TimeFormat::UnixMillis) => "in milliseconds since 1970".to_owned(),
            _ => "such as `2026-03-09 10:30`".to_owned(),
        }
    }

    /// What to write for a time that cannot be read: where it is a date without an hour, that the hour is missing.
    fn time_help(&self, found: &str) -> String {
        const NO_HOUR: &str =
            "if the time of day is in another column, name both: `columns = [\"date\", \"time\"]`";
        let pattern = match self.meters.first().map(|meter| &meter.time.format) {
            Some(TimeFormat::Pattern(pattern)) => pattern.as_str(),
            _ => "%Y-%m-%d",
        };
        let date = pattern.split([' ', 'T']).next().unwrap_or_default();
        let is_date = NaiveDate::parse_from_str(found.trim(), date).is_ok();
        if is_date && pattern == date {
            format!(
                "`{pattern}` reads a date without an hour: a log needs the time of day as well; {NO_HOUR}"
            )
        } else if is_date {
            format!("`{found}` is a date without an hour; {NO_HOUR}")
        } else {
            "set `format` and `zone` under the meter's `time`; `tapoff explain meter.time.format` shows how".to_owned()
        }
    }

    fn unreadable_times(&self) -> Option<Message> {
        let (name, rows) = (self.name, self.counts.bad_time.count);
        let fault = self.counts.first_bad_time.as_ref()?;
        let message = Message::warning(
            "unreadable-time",
            format!("{rows} rows of `{name}` have no readable time and are excluded"),
        );
        let text = &fault.text;
        let expected = format!("expected a time between 1970 and 2100, found `{text}`");
        Some(message.at(self.place_of(fault), expected))
    }

    /// Columns that hold words alone, where the first cell without a number stands in one.
    fn columns_without_numbers(&self) -> Vec<Message> {
        let Some(fault) = &self.counts.first_bad_cell else {
            return Vec::new();
        };
        let mut without = Vec::new();
        let meters = self.meters.iter().zip(self.parts);
        for ((meter, part), columns) in meters.zip(&self.layout.meters) {
            for (column, &numbers) in columns.iter().zip(&part.numbers()) {
                if numbers > 0 || fault.cell != column.cell {
                    continue;
                }
                let name = self.layout.name(column.cell);
                let message = Message::error(
                    "no-number-in-column",
                    format!("column `{name}` of meter `{}` has no number", meter.id),
                );
                without.push(
                    message
                        .at(self.place_of(fault), expected_number(fault))
                        .help(
                            "name another column under `[meter.columns]`, or remove the quantity",
                        ),
                );
            }
        }
        without
    }

    fn unreadable_cells(&self) -> Option<Message> {
        let (name, cells) = (self.name, self.counts.bad_cell.count);
        let fault = self.counts.first_bad_cell.as_ref()?;
        let message = Message::warning(
            "unreadable-cell",
            format!("{cells} cells of `{name}` are not numbers and are excluded"),
        );
        Some(message.at(self.place_of(fault), expected_number(fault)))
    }

    fn place_of(&self, fault: &Fault) -> Place {
        (self.place)(fault.line, fault.cell)
    }
}

fn expected_number(fault: &Fault) -> String {
    format!("expected a number, found `{}`", fault.text)
}
