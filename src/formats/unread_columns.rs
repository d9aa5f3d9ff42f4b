//! Columns of a table of readings that are taken for no values, because the beginning of the file shows none, and hold
//! numbers all the same.

use std::borrow::Cow;

use super::line_place::place;
use super::table_shape::{TableShape, figure};
use message::{Message, Messages};

/// A column that is not read.
#[derive(Debug)]
struct UnreadColumn {
    column: usize,
    numbers: usize,
    others: usize,
    first: Option<(usize, String)>,
}

/// The columns of a table that are not read, while its rows are gone through.
#[derive(Debug)]
pub(crate) struct UnreadColumns {
    columns: Vec<UnreadColumn>,
}

/// Words in the heading of a column whose numbers are no readings.
const NO_READINGS: [&str; 12] = [
    "date", "time", "day", "month", "year", "week", "hour", "period", "postcode", "phone", "row",
    "no",
];

impl UnreadColumns {
    pub(crate) fn of(shape: &TableShape) -> UnreadColumns {
        let is_reading = |heading: &str| {
            let lower = heading.to_lowercase();
            let mut words = lower.split(|c: char| !c.is_alphanumeric());
            !heading.is_empty() && !words.any(|word| NO_READINGS.contains(&word))
        };
        let columns = shape.names.iter().enumerate();
        let columns = columns.filter(|(at, name)| !shape.uses(*at) && is_reading(name));
        UnreadColumns {
            columns: columns
                .map(|(column, _)| UnreadColumn {
                    column,
                    numbers: 0,
                    others: 0,
                    first: None,
                })
                .collect(),
        }
    }

    pub(crate) fn see(&mut self, line: usize, text: &str, cells: &[Cow<'_, str>]) {
        for own in &mut self.columns {
            match cells.get(own.column).map_or("", Cow::as_ref) {
                "" => {}
                cell if figure(cell).is_some() => {
                    own.numbers += 1;
                    own.first.get_or_insert_with(|| (line, text.to_owned()));
                }
                _ => own.others += 1,
            }
        }
    }

    /// A warning for each column that holds numbers for the most part.
    pub(crate) fn report(self, file: &str, shape: &TableShape, messages: &mut Messages) {
        for own in self.columns {
            let Some((line, text)) = own.first.filter(|_| own.numbers > own.others) else {
                continue;
            };
            let name = &shape.names[own.column];
            messages.push(
                Message::warning(
                    "unread-column",
                    format!(
                        "column `{name}` of `{file}` has {} numbers that are excluded: the first rows of the file show none",
                        own.numbers
                    ),
                )
                .at(place(file, line, &text), "the first")
                .help("if they are readings, move a row with them to the top of the file, or name the columns under `[meter.columns]`"),
            );
        }
    }
}
