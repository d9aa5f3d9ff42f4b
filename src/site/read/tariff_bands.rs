//! Reads the energy bands of a tariff, and says where they leave time out or price it twice.

use rust_decimal::Decimal;

use super::table::SiteTable;
use crate::read::tariff_blocks::read_blocks;
use calendar::parse_minute_of_day;
use message::Message;
use tariff::{Band, BandDays, BandTable, Hole, Months, TimeWindow};

/// Bands that a tariff may have.
const MOST: usize = 100;

/// The bands of a key; `None` where there are none, or where they are at fault.
pub(crate) fn read_bands(tariff: &SiteTable<'_, '_>, key: &'static str) -> Option<BandTable> {
    let tables = tariff.tables(key);
    if tables.is_empty() {
        return None;
    }
    let read: Vec<Option<Band>> = tables.iter().map(read_band).collect();
    let bands: Vec<Band> = read.into_iter().collect::<Option<_>>()?;
    if let Some(second) = second_otherwise(&bands).or((bands.len() > MOST).then_some(MOST)) {
        tariff.source.push(
            Message::error(
                "bands",
                format!("one band at most may be `otherwise`, and no more than {MOST} in all"),
            )
            .at(tariff.source.place(&tables[second].span), "one too many"),
        );
        return None;
    }
    match BandTable::new(bands.clone()) {
        Ok(table) => Some(table),
        Err(holes) => {
            for hole in holes {
                complain((tariff, key), &tables, &bands, &hole);
            }
            None
        }
    }
}

fn second_otherwise(bands: &[Band]) -> Option<usize> {
    let mut found = (0..bands.len()).filter(|&index| bands[index].otherwise);
    found.nth(1)
}

fn read_band(table: &SiteTable<'_, '_>) -> Option<Band> {
    let name = table.required_text("band");
    let otherwise = table.flag("otherwise").unwrap_or(false);
    let days = read_days(table);
    let months = read_months(table, "months");
    let from = read_edge(table, "from", 0);
    let to = read_edge(table, "to", 96);
    let blocks = read_blocks(table, "blocks").unwrap_or_default();
    let rate = if blocks.is_empty() {
        table.required_decimal("rate_per_kwh")
    } else {
        table.decimal("rate_per_kwh")
    };
    table.finish();
    let says_when = ["days", "months", "from", "to"]
        .into_iter()
        .find_map(|key| table.value(key));
    if otherwise && let Some(value) = says_when {
        table.source.push(
            Message::error(
                "band-otherwise",
                "a band that holds `otherwise` has no times of its own",
            )
            .at(
                table.source.place(&value.span()),
                "expected `band`, `otherwise` and `rate_per_kwh` alone",
            ),
        );
        return None;
    }
    let band = Band {
        name: name?.value,
        days: days?,
        months: months?,
        from_quarter: from?,
        to_quarter: to?,
        otherwise,
        rate_per_kwh: rate.unwrap_or(Decimal::ZERO),
        blocks,
    };
    if band.from_quarter >= band.to_quarter && !band.days.is_daily() {
        table.source.push(
            Message::error(
                "band-over-midnight",
                format!(
                    "the band `{}` goes over midnight, but not on every day",
                    band.name
                ),
            )
            .at(
                table.source.place(&table.span),
                "whose days: those it begins on, or those it ends on?",
            )
            .help(
                "write two bands of the same name and rate, one up to `24:00` and one from `00:00`",
            ),
        );
        return None;
    }
    Some(band)
}

fn read_days(table: &SiteTable<'_, '_>) -> Option<BandDays> {
    let Some(text) = table.text("days") else {
        return table.value("days").is_none().then(BandDays::daily);
    };
    match BandDays::parse(&text.value) {
        Ok(days) => Some(days),
        Err(expected) => {
            table.source.push(
                Message::error("days", format!("`{}` does not name days", text.value))
                    .at(table.source.place(&text.span), expected.to_string()),
            );
            None
        }
    }
}

pub(crate) fn read_months(table: &SiteTable<'_, '_>, key: &'static str) -> Option<Months> {
    let Some(text) = table.text_or_number(key) else {
        return table.value(key).is_none().then_some(Months::ALL);
    };
    let months = Months::parse(&text.value);
    if months.is_none() {
        table.source.push(
            Message::error("months", format!("`{}` does not name months", text.value)).at(
                table.source.place(&text.span),
                "expected numbers of months such as `1-12`, `11-3` or `6,7,8`",
            ),
        );
    }
    months
}

/// A time of day on a quarter-hour, as its number.
fn read_edge(table: &SiteTable<'_, '_>, key: &'static str, without: usize) -> Option<usize> {
    let Some(text) = table.text(key) else {
        return table.value(key).is_none().then_some(without);
    };
    let minute = parse_minute_of_day(&text.value).filter(|minute| minute % 15 == 0);
    if minute.is_none() {
        table.source.push(
            Message::error(
                "band-edge",
                format!("a band cannot begin or end at `{}`", text.value),
            )
            .at(
                table.source.place(&text.span),
                "expected a full quarter-hour such as `07:00` or `18:45`, up to `24:00`",
            ),
        );
    }
    let quarter = minute.map(|minute| (minute / 15) as usize)?;
    // A band from 24:00 begins with the day, one to 00:00 ends with it.
    Some(match (key, quarter) {
        ("from", 96) => 0,
        ("to", 0) => 96,
        _ => quarter,
    })
}

/// Days, months and hours in which a charge applies.
pub(crate) fn read_window(table: &SiteTable<'_, '_>) -> Option<TimeWindow> {
    let (days, months) = (read_days(table), read_months(table, "months"));
    let (from, to) = (read_edge(table, "from", 0), read_edge(table, "to", 96));
    Some(TimeWindow {
        days: days?,
        months: months?,
        from_quarter: from?,
        to_quarter: to?,
    })
}

fn complain(
    (tariff, key): (&SiteTable<'_, '_>, &str),
    tables: &[SiteTable<'_, '_>],
    bands: &[Band],
    hole: &Hole,
) {
    let when = &hole.when;
    let message = if let Some(&second) = hole.bands.get(1) {
        let names: Vec<String> = hole
            .bands
            .iter()
            .map(|&index| format!("`{}`", bands[index].name))
            .collect();
        Message::error(
            "bands-overlap",
            format!("energy has two prices {when}: {}", names.join(" and ")),
        )
        .at(tariff.source.place(&tables[second].span), "priced twice")
        .help("let each band end where the next one begins")
    } else {
        let span = tariff
            .value(key)
            .map_or(tariff.span.clone(), toml::Spanned::span);
        Message::error("bands-gap", format!("energy has no price {when}"))
            .at(tariff.source.place(&span), "no band holds then")
            .help("add a band, or `{ band = \"other\", otherwise = true, rate_per_kwh = 0.15 }` for all other times")
    };
    tariff
        .source
        .push(message.note("every moment of the year is in exactly one band"));
}
