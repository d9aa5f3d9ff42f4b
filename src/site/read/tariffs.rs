//! Reads `[[tariff]]`.

use chrono::NaiveDate;

use super::table::SiteTable;
use crate::model::site_tariffs::MeterTariffs;
use crate::read::date::read_date;
use crate::read::price_file::TariffFiles;
use crate::read::tariff_bands::read_bands;
use crate::read::tariff_blocks::read_blocks;
use crate::read::tariff_demand::{read_capacity, read_demand};
use crate::read::tariff_levies::{LineNames, read_levies, read_rounding, read_taxes};
use crate::read::tariff_net_metering::read_net_metering;
use crate::read::tariff_reactive::{read_power_factor, read_reactive};
use message::Message;
use tariff::{EnergyRates, EnergySet, LossFactors, Proration, Tariff};

/// The tariffs, ascending by date: those of the supply, and those of single meters of it.
pub(crate) fn read(
    root: &SiteTable<'_, '_>,
    files: TariffFiles<'_>,
) -> (Vec<Tariff>, Vec<MeterTariffs>) {
    let mut found: Vec<MeterTariffs> = Vec::new();
    for table in root.tables("tariff") {
        let meter = read_meter(&table, files);
        let Some(tariff) = read_one(&table, files) else {
            continue;
        };
        let at = found.iter().position(|own| own.meter == meter);
        let at = at.unwrap_or_else(|| {
            found.push(MeterTariffs {
                meter,
                tariffs: Vec::new(),
            });
            found.len() - 1
        });
        let tariffs = &mut found[at].tariffs;
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
    for own in &mut found {
        own.tariffs.sort_by_key(|tariff| tariff.from);
    }
    // The only meter of the supply is the supply.
    let is_general = |own: &MeterTariffs| {
        own.meter.is_empty()
            || files
                .supply_meters
                .is_some_and(|known| *known == [own.meter.clone()])
    };
    let (general, of_meters): (Vec<_>, Vec<_>) = found.into_iter().partition(is_general);
    let general = general.into_iter().flat_map(|own| own.tariffs).collect();
    (general, of_meters)
}

/// The meter of the supply that a tariff bills; empty: all that have none of their own.
fn read_meter(table: &SiteTable<'_, '_>, files: TariffFiles<'_>) -> String {
    let Some(meter) = table.text("meter") else {
        return String::new();
    };
    if let Some(known) = files.supply_meters
        && !known.contains(&meter.value)
    {
        table.source.push(
            Message::error(
                "tariff-meter",
                format!("`{}` is no meter of the supply", meter.value),
            )
            .at(
                table.source.place(&meter.span),
                format!("expected one of {}", known.join(", ")),
            )
            .help(
                "write the `id` of a `[[meter]]` with `measures = \"supply\"`, or take `meter` out",
            ),
        );
    }
    meter.value
}

fn read_one(table: &SiteTable<'_, '_>, files: TariffFiles<'_>) -> Option<Tariff> {
    let from = table
        .required_text("from")
        .and_then(|from| read_date(table.source, &from));
    let critical = critical_days(table, files);
    let more_energy = read_sets(table, files, &critical);
    let keys = ["energy", "energy_blocks", "energy_prices", "holidays"];
    let mut tariff = Tariff {
        from: from.unwrap_or_default(),
        energy: read_rates(table, keys, files, &critical),
        more_energy,
        by_kvah: table
            .word("energy_unit", &[("kWh", false), ("kVAh", true)])
            .unwrap_or(false),
        losses: read_losses(table),
        export: read_export(table, files, &critical),
        net_metering: None,
        standing_per_day: table.decimal("standing_per_day"),
        standing_per_month: table.decimal("standing_per_month"),
        demand: read_demand(table),
        capacity: read_capacity(table),
        reactive: read_reactive(table),
        power_factor: read_power_factor(table),
        levies: Vec::new(),
        minimum_per_month: table.decimal("minimum_per_month"),
        taxes: Vec::new(),
        rounding: read_rounding(table),
        proration: table
            .word(
                "monthly_charges",
                &[
                    ("by-period", Proration::ByPeriod),
                    ("by-30-days", Proration::By30Days),
                    ("by-365-days", Proration::By365Days),
                ],
            )
            .unwrap_or_default(),
    };
    let mut names = LineNames::of(&tariff);
    tariff.levies = read_levies(table, &mut names);
    tariff.net_metering = read_net_metering(table, &tariff, &names);
    tariff.taxes = read_taxes(table, &mut names);
    table.finish();
    from.map(|_| tariff)
}

/// Further prices of energy.
fn read_sets(
    tariff: &SiteTable<'_, '_>,
    files: TariffFiles<'_>,
    critical: &[NaiveDate],
) -> Vec<EnergySet> {
    let mut sets: Vec<EnergySet> = Vec::new();
    for table in tariff.tables("energy_sets") {
        let name = table.required_text("set");
        let keys = ["bands", "blocks", "prices", "holidays"];
        let rates = read_rates(&table, keys, files, critical);
        let is_written = keys[..3].iter().any(|key| table.value(key).is_some());
        table.finish();
        if !is_written {
            table.source.push(
                Message::error("no-energy-price", "a set of prices has no price")
                    .at(
                        table.source.place(&table.span),
                        "expected `bands`, `blocks` or `prices`",
                    )
                    .help("add `bands = [ { band = \"all\", rate_per_kwh = 0.03 } ]`"),
            );
        }
        let (Some(name), Some(rates)) = (name, rates) else {
            continue;
        };
        let is_taken = name.value == "energy" || sets.iter().any(|set| set.name == name.value);
        if is_taken {
            table.source.push(
                Message::error(
                    "charge-twice",
                    format!("two prices of energy are called `{}`", name.value),
                )
                .at(table.source.place(&name.span), "the second one")
                .help("give each set a name of its own, such as \"network\""),
            );
        }
        sets.push(EnergySet {
            name: name.value,
            rates,
        });
    }
    sets
}

/// Bands, blocks or prices from a file, by the keys for each and for their holidays.
fn read_rates(
    table: &SiteTable<'_, '_>,
    [bands, blocks, prices, holidays]: [&'static str; 4],
    files: TariffFiles<'_>,
    critical: &[NaiveDate],
) -> Option<EnergyRates> {
    let own_days = dates(table, holidays);
    let by_time = read_bands(table, bands);
    if let (Some(by_time), true) = (&by_time, critical.is_empty())
        && by_time.names_critical_days()
    {
        let span = table
            .value(bands)
            .map_or(table.span.clone(), toml::Spanned::span);
        table.source.push(
            Message::warning("no-critical-day", "a band is for critical days, and there are none")
                .at(table.source.place(&span), "such a band never applies")
                .help("add `critical_days = [\"2026-01-12\"]` or `critical_days_file = \"critical-days.csv\"`"),
        );
    }
    let by_time = by_time.map(|table| table.with_days(own_days, critical.to_vec()));
    let by_amount = read_blocks(table, blocks);
    let by_file = table.table(prices).and_then(|table| files.prices(&table));
    let written: Vec<&'static str> = [bands, blocks, prices]
        .into_iter()
        .filter(|key| table.value(key).is_some())
        .collect();
    if let [first, second, ..] = written[..]
        && let Some(value) = table.value(second)
    {
        table.source.push(
            Message::error(
                "two-energy-prices",
                format!("`{first}` and `{second}` cannot both price the energy of one `{}`", table.title),
            )
            .at(table.source.place(&value.span()), "a second price of energy")
            .help("keep bands for prices by time, or blocks for prices by amount; a further price of the same energy is one of the `energy_sets`"),
        );
    }
    by_time
        .map(EnergyRates::Bands)
        .or(by_amount.map(EnergyRates::Blocks))
        .or(by_file.map(EnergyRates::Series))
}

/// Dates of a list; `None` where it is not written.
fn dates(table: &SiteTable<'_, '_>, key: &'static str) -> Option<Vec<NaiveDate>> {
    let texts = table.texts(key);
    table.value(key)?;
    let dates = texts
        .iter()
        .filter_map(|text| read_date(table.source, text));
    Some(dates.collect())
}

fn critical_days(tariff: &SiteTable<'_, '_>, files: TariffFiles<'_>) -> Vec<NaiveDate> {
    let mut days = dates(tariff, "critical_days").unwrap_or_default();
    if let Some(file) = tariff.text("critical_days_file") {
        days.extend(files.dates(tariff, &file));
    }
    days
}

fn read_losses(tariff: &SiteTable<'_, '_>) -> LossFactors {
    let usual = LossFactors::default();
    let Some(table) = tariff.table("losses") else {
        return usual;
    };
    let losses = LossFactors {
        energy: table.decimal("energy").unwrap_or(usual.energy),
        demand: table.decimal("demand").unwrap_or(usual.demand),
    };
    table.finish();
    losses
}

fn read_export(
    tariff: &SiteTable<'_, '_>,
    files: TariffFiles<'_>,
    critical: &[NaiveDate],
) -> Option<EnergyRates> {
    let table = tariff.table("export")?;
    let keys = ["bands", "blocks", "prices", "holidays"];
    let rates = read_rates(&table, keys, files, critical);
    table.finish();
    rates
}
