//! Reads `[meter.time]`: which columns hold the time, and by which clock.

use crate::model::meter::{RepeatedHour, TimeColumn, TimeFormat, Zone};
use crate::read::table::{Located, SiteTable, Source};
use message::{Message, Place};

pub(super) fn read_time(table: &SiteTable<'_, '_>) -> TimeColumn {
    let columns = read_time_columns(table);
    let format = table
        .text("format")
        .map_or(TimeFormat::Recognised, |format| {
            match format.value.as_str() {
                "unix-s" => TimeFormat::UnixSeconds,
                "unix-ms" => TimeFormat::UnixMillis,
                _ => {
                    check_pattern(table.source, &format);
                    TimeFormat::Pattern(format.value)
                }
            }
        });
    let zone = table.text("zone").map_or(Zone::Local, |zone| {
        read_zone(&zone.value).unwrap_or_else(|| {
            table.source.push(
                Message::error("time-zone", format!("`{}` is not a clock", zone.value)).at(
                    table.source.place(&zone.span),
                    "expected `local`, `UTC` or an offset such as `+01:00`",
                ),
            );
            Zone::Local
        })
    });
    let midnight_closes_day = table
        .word("midnight", &[("closes-day", true), ("opens-day", false)])
        .unwrap_or(false);
    let repeated_hour = table
        .word(
            "repeated_hour",
            &[
                ("by-order", RepeatedHour::ByOrder),
                ("error", RepeatedHour::Error),
            ],
        )
        .unwrap_or(RepeatedHour::ByOrder);
    table.finish();
    TimeColumn {
        columns,
        format,
        zone,
        midnight_closes_day,
        repeated_hour,
    }
}

/// One column, or those of date and time of day.
fn read_time_columns(table: &SiteTable<'_, '_>) -> Vec<String> {
    let one = table.text_or_number("column");
    let two = table.texts("columns");
    let places: Vec<Place> = two
        .iter()
        .chain(&one)
        .map(|text| table.source.place(&text.span))
        .collect();
    let sound = if one.is_some() {
        two.is_empty()
    } else {
        two.len() != 1 && two.len() <= 2
    };
    if let Some(place) = places.first().filter(|_| !sound) {
        table.source.push(
            Message::error("time-columns", "the time is in one column or in two").at(
                place.clone(),
                "expected `column = \"time\"` or `columns = [\"date\", \"time\"]`",
            ),
        );
    }
    let texts = if two.is_empty() {
        one.into_iter().collect()
    } else {
        two
    };
    texts.into_iter().map(|text| text.value).collect()
}

fn check_pattern(source: &Source<'_>, format: &Located<String>) {
    use chrono::format::{Item, StrftimeItems};
    if format.value.contains("%Z") {
        source.push(
            Message::error("time-format", format!("`{}` has the name of a zone, which does not say an offset", format.value))
                .at(source.place(&format.span), "expected no `%Z`")
                .note("a name such as EST or IST is used for several zones; without `format`, UTC, GMT, BST, CET and CEST are understood")
                .help("leave out `format`, or log offsets and write `%z` instead of `%Z`"),
        );
        return;
    }
    let wrong = StrftimeItems::new(&format.value).any(|item| matches!(item, Item::Error));
    if wrong || !format.value.contains('%') {
        source.push(
            Message::error(
                "time-format",
                format!("`{}` is not a time format", format.value),
            )
            .at(
                source.place(&format.span),
                "expected a pattern such as `%Y-%m-%d %H:%M`, or `unix-s`, `unix-ms`",
            ),
        );
    }
}

fn read_zone(text: &str) -> Option<Zone> {
    match text {
        "local" => Some(Zone::Local),
        "UTC" | "utc" | "Z" => Some(Zone::Offset(0)),
        _ => {
            let sign = match text.as_bytes().first()? {
                b'+' => 1,
                b'-' => -1,
                _ => return None,
            };
            let (hours, minutes) = text[1..].split_once(':')?;
            let (hours, minutes): (i32, i32) = (hours.parse().ok()?, minutes.parse().ok()?);
            (hours <= 14 && minutes < 60)
                .then_some(Zone::Offset(sign * (hours * 3600 + minutes * 60)))
        }
    }
}
