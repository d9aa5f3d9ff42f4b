//! Reads a credit for exported energy.

use super::table::{Located, SiteTable};
use super::tariff_levies::LineNames;
use message::{Message, did_you_mean};
use rust_decimal::Decimal;
use tariff::{BlockEnd, EnergyBlock, EnergyRates, NetCredit, NetMetering, Tariff};

/// Longest months; a day of February that not every year has is none.
const DAYS: [u32; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// The credit; `None` where there is none, or it is not understood.
pub(crate) fn read_net_metering(
    tariff: &SiteTable<'_, '_>,
    prices: &Tariff,
    names: &LineNames,
) -> Option<NetMetering> {
    let table = tariff.table("net_metering")?;
    if table.value("credit").is_none() {
        table.missing("credit");
    }
    let in_money = table.word("credit", &[("kWh", false), ("money", true)]);
    let settled_on = table.text("settled_on");
    let rate = table.decimal("settlement_rate");
    let opening = table.decimal("opening_credit");
    let sets = table.texts("on");
    let on = names.choice(&table);
    table.finish();
    let refuse = |what: &str, expected: &str, help: &str| {
        table.source.push(
            Message::error("net-metering", what)
                .at(table.source.place(&table.span), expected)
                .help(help),
        );
    };
    if settled_on.is_none() && rate.is_some() {
        refuse(
            "a credit is paid out on no day",
            "expected `settled_on`",
            "add `settled_on = \"04-01\"`",
        );
    }
    let credit = if in_money? {
        if rate.is_some_and(|share| share > Decimal::ONE) {
            refuse(
                "more is paid out than is left",
                "expected a `settlement_rate` from 0 to 1: a share of the money that is left",
                "write `settlement_rate = 0.5` for half of it",
            );
        }
        if prices.export.is_none() {
            refuse(
                "a credit in money needs a price of export",
                "expected `export` in the same `[[tariff]]`",
                "add `export = { blocks = [ { rate_per_kwh = 0.05 } ] }`",
            );
        }
        NetCredit::Money {
            on,
            pays_share: rate.unwrap_or_default(),
        }
    } else {
        check_energy(prices, &sets, refuse);
        check_names(&table, prices, &sets);
        NetCredit::Energy {
            sets: sets.into_iter().map(|set| set.value).collect(),
            pays_per_kwh: rate,
        }
    };
    let settled_on = match settled_on {
        Some(text) => Some(day_of_year(&table, &text)?),
        None => None,
    };
    Some(NetMetering {
        credit,
        settled_on,
        opening: opening.unwrap_or_default(),
    })
}

/// kWh are deducted from what one price holds for, and are paid for once.
fn check_energy(prices: &Tariff, sets: &[Located<String>], refuse: impl Fn(&str, &str, &str)) {
    if prices.export.is_some() {
        refuse(
            "exported energy is both credited in kWh and paid for",
            "expected no `export` in the same `[[tariff]]`",
            "take `export` out, or write `credit = \"money\"`",
        );
    }
    if prices.by_kvah {
        refuse(
            "a credit in kWh cannot be deducted from kVAh",
            "expected `energy_unit = \"kWh\"`",
            "take `energy_unit` out, or write `credit = \"money\"`",
        );
    }
    let by_day = |blocks: &[EnergyBlock]| {
        blocks
            .iter()
            .any(|block| matches!(block.up_to, BlockEnd::PerDay(_)))
    };
    let is_unfit = |rates: &EnergyRates| match rates {
        EnergyRates::Series(_) => true,
        EnergyRates::Blocks(blocks) => by_day(blocks),
        EnergyRates::Bands(table) => table.bands().iter().any(|band| by_day(&band.blocks)),
    };
    let is_netted = |name: &str| sets.is_empty() || sets.iter().any(|set| set.value == name);
    let unfit = named_rates(prices).find(|(name, rates)| is_netted(name) && is_unfit(rates));
    if let Some((name, _)) = unfit {
        refuse(
            &format!(
                "a credit in kWh cannot be deducted from `{name}`: its price changes with the quarter-hour or the day"
            ),
            "expected bands, or blocks by the month",
            "name the other prices of energy in `on`, or write `credit = \"money\"`",
        );
    }
}

fn named_rates(prices: &Tariff) -> impl Iterator<Item = (&str, &EnergyRates)> {
    let first = prices.energy.iter().map(|rates| ("energy", rates));
    let more = prices.more_energy.iter();
    first.chain(more.map(|set| (set.name.as_str(), &set.rates)))
}

fn check_names(table: &SiteTable<'_, '_>, prices: &Tariff, sets: &[Located<String>]) {
    let names: Vec<&str> = named_rates(prices).map(|(name, _)| name).collect();
    for set in sets {
        if !names.is_empty() && !names.contains(&set.value.as_str()) {
            table.source.push(
                Message::error(
                    "net-metering",
                    format!("no price of energy is called `{}`", set.value),
                )
                .at(
                    table.source.place(&set.span),
                    format!("expected one of {}", names.join(", ")),
                )
                .maybe_help(did_you_mean(&set.value, names.iter().copied())),
            );
        }
    }
}

/// Reads `04-01`.
fn day_of_year(table: &SiteTable<'_, '_>, text: &Located<String>) -> Option<(u32, u32)> {
    let read = text.value.split_once('-').and_then(|(month, day)| {
        let month: u32 = month.trim().parse().ok()?;
        let day: u32 = day.trim().parse().ok()?;
        let days = *DAYS.get(usize::try_from(month).ok()?.checked_sub(1)?)?;
        (1..=days).contains(&day).then_some((month, day))
    });
    if read.is_none() {
        table.source.push(
            Message::error(
                "net-metering",
                format!("`{}` is not a day of every year", text.value),
            )
            .at(
                table.source.place(&text.span),
                "expected month and day such as `04-01` for 1 April",
            ),
        );
    }
    read
}
