//! The bill, and a supplier's invoice compared with it.

use std::path::Path;

use anyhow::Context;

use super::EnergyArguments;
use super::output::EnergyFormat;
use crate::cli::CommandError;
use crate::cli::loading::read_table;
use crate::export;
use demand::{self, EnergyResult};
use message::{InputErrors, Message, Messages};
use metering::Logs;
use site::{Measured, Site};
use tariff::{Bill, DifferenceEvidence, Terms, Usage, WhatIfTrial, check_invoice, read_invoice};

/// The bill, or the reason why there is none.
pub(super) fn bill_of<'r>(site: &Site, result: &'r EnergyResult) -> anyhow::Result<&'r Bill> {
    if let Some(bill) = &result.cost {
        return Ok(bill);
    }
    let mut messages = Messages::new();
    messages.push(if site.has_tariff() {
        Message::error(
            "no-supply-meter",
            "there is no bill: no meter of the supply logs power or energy",
        )
        .help("the bill is made from the meter with `measures = \"supply\"`: log its active power or energy")
    } else {
        Message::error(
            "no-tariff",
            "there is no bill: `site.toml` has no tariff",
        )
        .help("add `[[tariff]]` with its prices; `tapoff new` writes an example")
    });
    Err(CommandError::Input(InputErrors(messages)).into())
}

/// The meter whose prices are meant; empty: all meters of the supply without prices of their own.
fn chosen_supply<'s>(arguments: &EnergyArguments, site: &'s Site) -> anyhow::Result<&'s str> {
    let own = || site.meter_tariffs.iter().map(|own| own.meter.as_str());
    let meters = site.meters.iter();
    let of_supply = meters.filter(|meter| meter.measures == Measured::SUPPLY);
    let ids: Vec<&str> = of_supply.map(|meter| meter.id.as_str()).collect();
    let has_own = |id: &str| own().any(|meter| meter == id);
    if let Some(chosen) = &arguments.supply {
        if let Some(id) = ids.iter().find(|id| **id == chosen.as_str()) {
            return Ok(if has_own(id) { id } else { "" });
        }
    } else if site.meter_tariffs.is_empty() {
        return Ok("");
    }
    let what = match &arguments.supply {
        Some(chosen) => format!("`{chosen}` is no meter of the supply"),
        None => "the site has several bills: which supply is meant?".to_owned(),
    };
    let mut messages = Messages::new();
    messages.push(
        Message::error("which-supply", what)
            .help(format!("write `--supply` with one of {}", ids.join(", "))),
    );
    Err(CommandError::Input(InputErrors(messages)).into())
}

/// What other terms would have cost, in the format that is asked for.
pub(super) fn what_if(
    arguments: &EnergyArguments,
    site: &Site,
    logs: &Logs,
) -> anyhow::Result<String> {
    let window = arguments.window_min.unwrap_or(site.demand_window_min);
    let meter = chosen_supply(arguments, site)?;
    let mut files = Vec::new();
    // What the prices of all of them need is taken from the log.
    let mut of_all = site.clone();
    for path in &arguments.tariff {
        let mut read = site::read_tariff_file(path, site.timezone).map_err(CommandError::Input)?;
        if read.tariffs.is_empty() {
            read.tariffs = read.of_meters.remove(0).tariffs;
        }
        let mut of_meters = of_all.meter_tariffs.iter_mut();
        let tariffs = match of_meters.find(|own| own.meter == meter) {
            Some(own) => &mut own.tariffs,
            None => &mut of_all.tariffs,
        };
        tariffs.extend(read.tariffs.iter().cloned());
        files.push((path.display().to_string(), read));
    }
    let usage = demand::supply_usage(&of_all, logs, window, meter)
        .context("no meter of the supply logs power or energy")?;
    let own = site.terms_of(meter);
    let others: Vec<(String, Terms<'_>)> = files
        .iter()
        .map(|(name, prices)| {
            let terms = Terms {
                tariffs: &prices.tariffs,
                billing: &prices.billing,
                ..own
            };
            (name.clone(), terms)
        })
        .collect();
    let trial = WhatIfTrial {
        shift_kw: arguments.shift_kw,
        kvar_step: arguments.kvar_step,
        target_power_factor: arguments.target_power_factor,
    };
    let found = tariff::what_if(&own, &usage, &others, &trial)
        .context("the tariff has no prices for the last twelve months of the log")?;
    Ok(match arguments.output.format {
        EnergyFormat::Text => export::what_if_text(&found),
        EnergyFormat::Json => export::json(&found)?,
        EnergyFormat::Csv => export::what_if_table(&found).of_site(&site.name).csv()?,
        EnergyFormat::Xlsx | EnergyFormat::Parquet => anyhow::bail!(
            "a what-if cannot be written as a workbook or Parquet: choose `--format text`, `json` or `csv`"
        ),
    })
}

/// The invoice compared with the bill, in the format that is asked for.
pub(super) fn checked_invoice(
    arguments: &EnergyArguments,
    path: &Path,
    site: &Site,
    logs: &Logs,
) -> anyhow::Result<String> {
    let (name, text) = read_table(path)?;
    let invoice = read_invoice(&name, &text).map_err(CommandError::Input)?;
    let window = arguments.window_min.unwrap_or(site.demand_window_min);
    let supply = chosen_supply(arguments, site)?;
    let usage = demand::supply_usage(site, logs, window, supply)
        .context("no meter of the supply logs power or energy")?;
    let others = [15, 30, 60].into_iter().filter(|&other| other != window);
    let other_windows: Vec<Usage> = others
        .filter_map(|other| demand::supply_usage(site, logs, other, supply))
        .collect();
    let meter = site.meters.iter().find(|meter| meter.id == usage.meter);
    let evidence = DifferenceEvidence {
        terms: &site.terms_of(supply),
        usage: &usage,
        other_windows: &other_windows,
        class_pct: meter.and_then(|meter| meter.class_pct),
    };
    let check = check_invoice(&evidence, &invoice)
        .context("the tariff has no prices for the days of the invoice")?;
    Ok(match arguments.output.format {
        EnergyFormat::Text => export::invoice_text(&check),
        EnergyFormat::Json => export::json(&check)?,
        EnergyFormat::Csv => export::invoice_csv(&site.name, &check)?,
        EnergyFormat::Xlsx | EnergyFormat::Parquet => anyhow::bail!(
            "an invoice check cannot be written as a workbook or Parquet: choose `--format text`, `json` or `csv`"
        ),
    })
}
