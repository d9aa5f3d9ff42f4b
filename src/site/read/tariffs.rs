//! Reads `[[tariff]]`.

use super::table::SiteTable;
use crate::read::date::read_date;
use crate::read::tariff_bands::read_bands;
use message::Message;
use tariff::{
    CapacityCharge, DemandCharge, DemandUnit, EnergyBlock, EnergyRates, PowerFactorSurcharge,
    ReactiveCharge, Tariff,
};

/// The tariffs, ascending by date.
pub(crate) fn read(root: &SiteTable<'_, '_>) -> Vec<Tariff> {
    let mut tariffs: Vec<Tariff> = Vec::new();
    for table in root.tables("tariff") {
        let Some(tariff) = read_one(&table) else {
            continue;
        };
        if tariffs.iter().any(|known| known.from == tariff.from) {
            table.source.push(
                Message::error(
                    "tariff-twice",
                    format!("two tariffs take effect on {}", tariff.from),
                )
                .at(
                    table.source.place(&table.span),
                    "the second one begins here",
                )
                .help("give each `[[tariff]]` its own `from`: it holds until the next one begins"),
            );
            continue;
        }
        tariffs.push(tariff);
    }
    tariffs.sort_by_key(|tariff| tariff.from);
    tariffs
}

fn read_one(table: &SiteTable<'_, '_>) -> Option<Tariff> {
    let from = table
        .required_text("from")
        .and_then(|from| read_date(table.source, &from));
    let bands = read_bands(table);
    let blocks = read_blocks(table);
    if bands.is_some()
        && let Some(blocks) = table.value("energy_blocks")
    {
        table.source.push(
            Message::error(
                "two-energy-prices",
                "`energy` and `energy_blocks` cannot both price the energy of one `[[tariff]]`",
            )
            .at(
                table.source.place(&blocks.span()),
                "a second price of energy",
            )
            .help("keep `energy` for prices by time, or `energy_blocks` for prices by amount"),
        );
    }
    let tariff = Tariff {
        from: from.unwrap_or_default(),
        energy: bands
            .map(EnergyRates::Bands)
            .or(blocks.map(EnergyRates::Blocks)),
        standing_per_day: table.decimal("standing_per_day"),
        demand: read_demand(table),
        capacity: read_capacity(table),
        reactive: read_reactive(table),
        power_factor: read_power_factor(table),
        tax_pct: table.decimal("tax_pct"),
    };
    table.finish();
    from.map(|_| tariff)
}

fn read_blocks(tariff: &SiteTable<'_, '_>) -> Option<Vec<EnergyBlock>> {
    let tables = tariff.tables("energy_blocks");
    let last = tables.len().checked_sub(1)?;
    let mut blocks: Vec<EnergyBlock> = Vec::new();
    for (index, table) in tables.iter().enumerate() {
        let end = table.located_decimal("up_to_kwh_per_month");
        let rate = table.required_decimal("rate_per_kwh");
        table.finish();
        let is_wrong = match &end {
            Some(end) => {
                index == last
                    || blocks.iter().any(|block| {
                        block
                            .up_to_kwh_per_month
                            .is_some_and(|known| known >= end.value)
                    })
            }
            None => index != last && table.value("up_to_kwh_per_month").is_none(),
        };
        if is_wrong {
            table.source.push(
                Message::error(
                    "energy-blocks",
                    "the blocks of a price by amount must ascend, and only the last has no end",
                )
                .at(
                    table.source.place(&table.span),
                    "expected a larger `up_to_kwh_per_month` than before, and none in the last block",
                )
                .help(
                    "write `energy_blocks = [ { up_to_kwh_per_month = 5000, rate_per_kwh = 0.20 }, { rate_per_kwh \
                     = 0.17 } ]`",
                ),
            );
        }
        blocks.push(EnergyBlock {
            up_to_kwh_per_month: end.map(|end| end.value),
            rate_per_kwh: rate.unwrap_or_default(),
        });
    }
    Some(blocks)
}

fn read_demand(tariff: &SiteTable<'_, '_>) -> Option<DemandCharge> {
    let table = tariff.table("demand")?;
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
    let rate = table.required_decimal("rate_per_month");
    let months = table
        .whole("ratchet_months")
        .map_or(0, |months| months.value);
    let share = table.decimal("ratchet_share");
    table.finish();
    Some(DemandCharge {
        per: per?,
        rate_per_month: rate?,
        ratchet_months: months,
        ratchet_share: share.unwrap_or_default(),
    })
}

fn read_capacity(tariff: &SiteTable<'_, '_>) -> Option<CapacityCharge> {
    let table = tariff.table("capacity")?;
    let kva = table.required_decimal("kva");
    let rate = table.required_decimal("rate_per_kva_day");
    table.finish();
    Some(CapacityCharge {
        kva: kva?,
        rate_per_kva_day: rate?,
    })
}

fn read_reactive(tariff: &SiteTable<'_, '_>) -> Option<ReactiveCharge> {
    let table = tariff.table("reactive")?;
    let free = table.required_decimal("free_share_of_kwh");
    let rate = table.required_decimal("rate_per_kvarh");
    table.finish();
    Some(ReactiveCharge {
        free_share_of_kwh: free?,
        rate_per_kvarh: rate?,
    })
}

fn read_power_factor(tariff: &SiteTable<'_, '_>) -> Option<PowerFactorSurcharge> {
    let table = tariff.table("power_factor")?;
    let below = table.required_decimal("below");
    let rate = table.required_decimal("surcharge_per_kwh_per_pct");
    table.finish();
    Some(PowerFactorSurcharge {
        below: below?,
        surcharge_per_kwh_per_pct: rate?,
    })
}
