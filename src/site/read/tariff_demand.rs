//! Reads charges for demand and for an agreed capacity.

use rust_decimal::Decimal;

use super::table::SiteTable;
use crate::read::date::read_date;
use crate::read::tariff_bands::{read_months, read_window};
use message::Message;
use tariff::{
    CapacityCharge, ContractedDemand, DemandCharge, DemandMeasure, DemandUnit, ExcessBy,
    ExcessCapacity, RateTime,
};

/// All charges for demand.
pub(crate) fn read_demand(tariff: &SiteTable<'_, '_>) -> Vec<DemandCharge> {
    let tables = tariff.table_or_tables("demand");
    let mut charges: Vec<DemandCharge> = Vec::new();
    for table in &tables {
        let Some(charge) = read_charge(table) else {
            continue;
        };
        if charges.iter().any(|known| known.name == charge.name) {
            table.source.push(
                Message::error(
                    "charge-twice",
                    format!("two charges have the line `{}`", charge.line()),
                )
                .at(table.source.place(&table.span), "the second one")
                .help("give each its own `charge = \"…\"`, such as \"peak\" and \"off-peak\""),
            );
        }
        charges.push(charge);
    }
    charges
}

fn read_charge(table: &SiteTable<'_, '_>) -> Option<DemandCharge> {
    if table.value("per").is_none() {
        table.missing("per");
    }
    let per = table.word(
        "per",
        &[
            ("kW", DemandUnit::Kilowatt),
            ("kVA", DemandUnit::KilovoltAmpere),
        ],
    );
    let rate = one_rate(
        table,
        [
            ("rate_per_month", RateTime::Month),
            ("rate_per_day", RateTime::Day),
        ],
    );
    let name = table.text("charge").map(|name| name.value);
    let window = read_window(table);
    let nth = table.whole("nth_highest");
    let mean = table.whole("mean_of_highest");
    let one_per_day = table.flag("one_per_day").unwrap_or(false);
    let sum_of_maxima = table.word(
        "of_meters",
        &[("maximum-of-sum", false), ("sum-of-maxima", true)],
    );
    let over_months = table.whole("over_months").map_or(1, |months| months.value);
    let ratchet_months = table
        .whole("ratchet_months")
        .map_or(0, |months| months.value);
    let ratchet_share = table.decimal("ratchet_share");
    let ratchet_season = read_months(table, "ratchet_season");
    let contracted = read_contracted(table);
    let at_least = table.decimal("at_least");
    table.finish();
    if let (Some(_), Some(mean)) = (&nth, &mean) {
        table.source.push(
            Message::error(
                "two-statistics",
                "`nth_highest` and `mean_of_highest` cannot both say which demand is billed",
            )
            .at(table.source.place(&mean.span), "a second rule")
            .help("keep one of the two"),
        );
    }
    let highest = mean
        .as_ref()
        .or(nth.as_ref())
        .map_or(1, |count| count.value);
    let (rate, by) = rate?;
    Some(DemandCharge {
        name,
        measure: DemandMeasure {
            per: per?,
            window: window?,
            highest,
            mean: mean.is_some(),
            one_per_day: one_per_day && highest > 1,
            sum_of_maxima: sum_of_maxima.unwrap_or(false),
        },
        rate,
        by,
        over_months,
        ratchet_months,
        ratchet_share: ratchet_share.unwrap_or_default(),
        ratchet_season: ratchet_season?,
        contracted,
        at_least: at_least.unwrap_or_default(),
    })
}

/// The one rate of two keys that is written.
fn one_rate(
    table: &SiteTable<'_, '_>,
    keys: [(&'static str, RateTime); 2],
) -> Option<(Decimal, RateTime)> {
    let [(first, _), (second, _)] = keys;
    let rates: Vec<(Decimal, RateTime)> = keys
        .iter()
        .filter_map(|(key, by)| Some((table.decimal(key)?, *by)))
        .collect();
    match rates[..] {
        [rate] => Some(rate),
        [] => {
            if table.value(first).is_none() && table.value(second).is_none() {
                table.missing(first);
            }
            None
        }
        _ => {
            table.source.push(
                Message::error(
                    "two-rates",
                    format!("`{}` has both `{first}` and `{second}`", table.title),
                )
                .at(table.source.place(&table.span), "expected one of the two")
                .help(format!("keep `{first}`, or `{second}`")),
            );
            None
        }
    }
}

fn read_contracted(table: &SiteTable<'_, '_>) -> Option<ContractedDemand> {
    let demand = table.decimal("contracted");
    let lower_share = table.decimal("contracted_lower_share");
    let upper_share = table.decimal("contracted_upper_share");
    let excess_factor = table.decimal("excess_factor");
    let any = lower_share.or(upper_share).or(excess_factor).is_some();
    if demand.is_none() && any && table.value("contracted").is_none() {
        table.missing("contracted");
    }
    Some(ContractedDemand {
        demand: demand?,
        lower_share: lower_share.unwrap_or_default(),
        upper_share,
        excess_factor: excess_factor.unwrap_or_default(),
    })
}

/// The agreed capacity.
pub(crate) fn read_capacity(tariff: &SiteTable<'_, '_>) -> Option<CapacityCharge> {
    let table = tariff.table("capacity")?;
    let kva = table.required_decimal("kva");
    let rate = one_rate(
        &table,
        [
            ("rate_per_kva_day", RateTime::Day),
            ("rate_per_kva_month", RateTime::Month),
        ],
    );
    let by_day = table.decimal("excess_rate_per_kva_day");
    let by_month = table.decimal("excess_rate_per_kva_month");
    let excess_by = table.word(
        "excess_by",
        &[("month", ExcessBy::Month), ("day", ExcessBy::Day)],
    );
    let mut changes = Vec::new();
    for change in table.tables("changes") {
        let from = change.required_text("from");
        let from = from.and_then(|from| read_date(change.source, &from));
        let kva = change.required_decimal("kva");
        change.finish();
        changes.extend(from.zip(kva));
    }
    changes.sort_by_key(|(from, _)| *from);
    table.finish();
    let (rate, by) = rate?;
    let excess_by = excess_by.unwrap_or(ExcessBy::Month);
    // Excess of single days has a price by the day; else it is charged as the capacity is.
    let wanted = match (by, excess_by) {
        (RateTime::Day, _) | (_, ExcessBy::Day) => by_day,
        (RateTime::Month, ExcessBy::Month) => by_month,
    };
    if wanted.is_none() && by_day.or(by_month).is_some() {
        table.source.push(
            Message::error(
                "excess-rate",
                "the excess must be priced as the capacity is, by the day or by the month; excess of single days, by the day",
            )
            .at(table.source.place(&table.span), "two units of time")
            .help("write `rate_per_kva_day` with `excess_rate_per_kva_day`, or both by the month"),
        );
    }
    Some(CapacityCharge {
        kva: kva?,
        changes,
        rate,
        by,
        excess: wanted.map(|rate| ExcessCapacity {
            by: excess_by,
            rate,
        }),
    })
}
