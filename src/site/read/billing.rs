//! Reads `[billing]`.

use super::date::read_date;
use super::table::SiteTable;
use message::Message;
use tariff::{BillingPeriods, PeriodStart, PriceChange};

/// When billing periods begin.
pub(crate) fn read(root: &SiteTable<'_, '_>) -> BillingPeriods {
    let Some(table) = root.table("billing") else {
        return BillingPeriods::default();
    };
    let day = table.whole("day_of_month");
    let begin = table.texts("periods_begin");
    let price_change = table.word(
        "price_changes",
        &[
            ("within-period", PriceChange::WithinPeriod),
            ("next-period", PriceChange::NextPeriod),
        ],
    );
    table.finish();
    let mut dates = Vec::new();
    for text in &begin {
        let Some(date) = read_date(table.source, text) else {
            continue;
        };
        if dates.last().is_some_and(|last| *last >= date) {
            table.source.push(
                Message::error(
                    "periods-begin",
                    format!("{date} is not after the date before it"),
                )
                .at(table.source.place(&text.span), "expected ascending dates")
                .help("write the first day of each billing period, earliest first"),
            );
        }
        dates.push(date);
    }
    if let (Some(day), false) = (&day, begin.is_empty()) {
        table.source.push(
            Message::error(
                "two-period-starts",
                "`day_of_month` and `periods_begin` cannot both say when periods begin",
            )
            .at(table.source.place(&day.span), "a second rule")
            .help("keep one of the two"),
        );
    }
    let start = match (day.map(|day| day.value), dates.is_empty()) {
        (_, false) => PeriodStart::Dates(dates),
        (None | Some(1), true) => PeriodStart::CalendarMonths,
        (Some(day), true) => PeriodStart::DayOfMonth(day),
    };
    BillingPeriods {
        start,
        price_change: price_change.unwrap_or_default(),
    }
}
