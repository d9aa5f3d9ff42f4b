//! Files of a tariff: prices over time, and critical days.

use std::path::{Component, Path};

use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeZone};
use chrono_tz::Tz;
use rust_decimal::Decimal;

use super::file::read_file;
use super::table::{Located, SiteTable};
use message::{Message, Messages};
use tariff::PriceSeries;
use user_tables::{Lines, NamedColumns, text_of};

/// Where the files of a tariff are, and the zone of their times.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TariffFiles<'f> {
    pub(crate) folder: &'f Path,
    pub(crate) zone: Tz,
    /// Ids of the meters of the supply; `None` where the site is not known.
    pub(crate) supply_meters: Option<&'f [String]>,
}

impl TariffFiles<'_> {
    /// Prices over time, as a table names their file.
    pub(crate) fn prices(&self, table: &SiteTable<'_, '_>) -> Option<PriceSeries> {
        let file = table.required_text("file");
        let word = |key: &'static str, usual: &str| {
            table
                .text(key)
                .map_or_else(|| usual.to_owned(), |text| text.value)
        };
        let called = word("called", "pass-through");
        let (time, column) = (word("time", "time"), word("column", "price_per_kwh"));
        let scale = table.decimal("scale").unwrap_or(Decimal::ONE);
        let add = table.decimal("add_per_kwh").unwrap_or_default();
        table.finish();
        let file = file?;
        let text = self.text(table, &file)?;
        let mut messages = Messages::new();
        let mut lines = Lines::new(&file.value, &text, None);
        let header = lines.next().unwrap_or_else(|| lines.none());
        let columns = NamedColumns::of(header, "a price");
        let mut sound = has_columns(&columns, [&time, &column], &mut messages);
        let mut prices: Vec<(i64, Decimal)> = Vec::new();
        for line in lines {
            if !sound {
                break;
            }
            let row = columns.row(line);
            let start = row.cell(&time).and_then(|text| {
                let before = prices.last().map(|(start_s, _)| *start_s);
                self.moment(text, before)
            });
            let price = row.plain_number(&column);
            let price = price.and_then(|text| text.parse::<Decimal>().ok());
            match (start, price) {
                (Some(start), Some(price))
                    if prices.last().is_none_or(|(last, _)| *last < start) =>
                {
                    prices.push((start, price * scale + add));
                }
                (Some(_), Some(_)) => {
                    let expected = "times that ascend, each once";
                    row.fault(
                        "price-time",
                        &time,
                        "is not after the one above",
                        expected,
                        &mut messages,
                    );
                    sound = false;
                }
                (None, _) => {
                    let expected = "a time such as `2026-03-09 00:30`, or with its offset";
                    row.fault(
                        "price-time",
                        &time,
                        "is not a time",
                        expected,
                        &mut messages,
                    );
                    sound = false;
                }
                (_, None) => {
                    row.fault(
                        "not-a-number",
                        &column,
                        "is not a number",
                        "a price",
                        &mut messages,
                    );
                    sound = false;
                }
            }
        }
        if sound && prices.is_empty() {
            messages.push(Message::error(
                "no-price",
                format!("`{}` has no price", file.value),
            ));
        }
        for message in messages.all() {
            table.source.push(message.clone());
        }
        (!prices.is_empty() && sound).then(|| PriceSeries::new(&called, prices))
    }

    /// Dates in the column `date` of a file.
    pub(crate) fn dates(
        &self,
        table: &SiteTable<'_, '_>,
        file: &Located<String>,
    ) -> Vec<NaiveDate> {
        let Some(text) = self.text(table, file) else {
            return Vec::new();
        };
        let mut messages = Messages::new();
        let mut lines = Lines::new(&file.value, &text, None);
        let header = lines.next().unwrap_or_else(|| lines.none());
        let columns = NamedColumns::of(header, "a date");
        let mut dates = Vec::new();
        if has_columns(&columns, ["date"], &mut messages) {
            for line in lines {
                dates.extend(columns.row(line).date("date", &mut messages));
            }
        }
        for message in messages.all() {
            table.source.push(message.clone());
        }
        dates
    }

    /// A time with its offset, or local: of a repeated hour the first, unless it is not after the time before.
    fn moment(&self, text: &str, before: Option<i64>) -> Option<i64> {
        let spaced = text.replacen(' ', "T", 1);
        let offsets = ["%Y-%m-%dT%H:%M:%S%:z", "%Y-%m-%dT%H:%M%:z"];
        let zulu = spaced.strip_suffix('Z').map(|text| format!("{text}+00:00"));
        let with_offset = zulu.as_deref().unwrap_or(&spaced);
        let mut known = offsets.iter();
        if let Some(time) = known.find_map(|form| DateTime::parse_from_str(with_offset, form).ok())
        {
            return Some(time.timestamp());
        }
        let forms = ["%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M", "%d/%m/%YT%H:%M"];
        let local = forms
            .iter()
            .find_map(|form| NaiveDateTime::parse_from_str(&spaced, form).ok())?;
        let found = self.zone.from_local_datetime(&local);
        let first = found.earliest()?.timestamp();
        match before {
            Some(before) if first <= before => found.latest().map(|time| time.timestamp()),
            _ => Some(first),
        }
    }

    fn text(&self, table: &SiteTable<'_, '_>, file: &Located<String>) -> Option<String> {
        let inside = Path::new(&file.value)
            .components()
            .all(|part| matches!(part, Component::Normal(_)));
        let read = if inside {
            read_file(&self.folder.join(&file.value))
        } else {
            Err(std::io::Error::other("it is outside the site folder"))
        };
        let text = match read {
            Ok(bytes) => text_of(&file.value, bytes),
            Err(error) => Err(Message::error(
                "cannot-read",
                format!("cannot read `{}`: {error}", file.value),
            )
            .at(
                table.source.place(&file.span),
                "expected a CSV inside the site folder",
            )
            .help("put the file there and save it as UTF-8")
            .into()),
        };
        text.map_err(|message| table.source.push(*message)).ok()
    }
}

fn has_columns<const N: usize>(
    columns: &NamedColumns<'_>,
    names: [&str; N],
    messages: &mut Messages,
) -> bool {
    let mut sound = true;
    for name in names {
        if columns.get(name).is_none() {
            sound = false;
            let known: Vec<&str> = columns.header.cells().collect();
            messages.push(
                Message::error("missing-column", format!("the file has no column `{name}`"))
                    .at(
                        columns.header.place(0),
                        format!("it has {}", known.join(", ")),
                    )
                    .help("name the columns in the tariff, or change the header"),
            );
        }
    }
    sound
}
