//! Reads levies, taxes and rounding.

use rust_decimal::Decimal;

use super::table::{Located, SiteTable};
use message::{Message, did_you_mean};
use tariff::{EnergyRates, Levy, LevyBase, LineChoice, Rounding, RoundingWay, Tariff, Tax};

/// Levies and discounts, in order.
pub(crate) fn read_levies(tariff: &SiteTable<'_, '_>, names: &mut LineNames) -> Vec<Levy> {
    let mut levies = Vec::new();
    for table in tariff.tables("levies") {
        let name = table.required_text("levy");
        if table.value("per").is_none() {
            table.missing("per");
        }
        let per = table.word(
            "per",
            &[
                ("kWh", LevyBase::Kwh),
                ("demand", LevyBase::Demand),
                ("day", LevyBase::Day),
                ("month", LevyBase::Month),
                ("%", LevyBase::Percent),
            ],
        );
        let rate = table.required_decimal("rate");
        let free = table.decimal("free");
        let on = names.choice(&table);
        table.finish();
        if let (Some(per), false) = (per, on.0.is_empty())
            && per != LevyBase::Percent
        {
            table.source.push(
                Message::error("levy-on", "`on` chooses lines for a percentage alone")
                    .at(
                        table.source.place(&table.span),
                        "expected `per = \"%\"`, or no `on`",
                    )
                    .help("take `on` out"),
            );
        }
        let (Some(name), Some(per), Some(rate)) = (name, per, rate) else {
            continue;
        };
        names.add(&table, &name);
        levies.push(Levy {
            name: name.value,
            per,
            rate,
            free: free.unwrap_or_default(),
            on,
        });
    }
    levies
}

/// Taxes, in order; `tax_pct` is one on all of the bill.
pub(crate) fn read_taxes(tariff: &SiteTable<'_, '_>, names: &mut LineNames) -> Vec<Tax> {
    let single = tariff.located_decimal("tax_pct");
    let mut taxes = Vec::new();
    for table in tariff.tables("taxes") {
        let name = table.required_text("tax");
        if table.value("pct").is_none() {
            table.missing("pct");
        }
        let pct = table.located_decimal("pct");
        let free = table.decimal("free");
        let on = names.choice(&table);
        table.finish();
        let (Some(name), Some(pct)) = (name, pct) else {
            continue;
        };
        question(&table, &pct);
        names.add(&table, &name);
        taxes.push(Tax {
            name: name.value,
            pct: pct.value,
            free: free.unwrap_or_default(),
            on,
        });
    }
    if let Some(pct) = single {
        question(tariff, &pct);
        if !taxes.is_empty() {
            tariff.source.push(
                Message::error(
                    "two-taxes",
                    "`tax_pct` and `taxes` cannot both say what is taxed",
                )
                .at(tariff.source.place(&pct.span), "a tax on all of the bill")
                .help("write it as one of the `taxes`"),
            );
        }
        taxes.push(Tax::on_all("tax", pct.value));
    }
    taxes
}

/// Less than one per cent is more likely a share.
fn question(table: &SiteTable<'_, '_>, pct: &Located<Decimal>) {
    if pct.value > Decimal::ZERO && pct.value < Decimal::ONE {
        let percent = (pct.value * Decimal::ONE_HUNDRED).normalize();
        table.source.push(
            Message::warning(
                "tax-below-one",
                format!("a tax of {} % is read as written", pct.value.normalize()),
            )
            .at(
                table.source.place(&pct.span),
                format!("is it {percent} %, written as a share?"),
            )
            .help(format!("write `{percent}` for {percent} %")),
        );
    }
}

/// How the contract rounds.
pub(crate) fn read_rounding(tariff: &SiteTable<'_, '_>) -> Rounding {
    let usual = Rounding::default();
    let Some(table) = tariff.table("rounding") else {
        return usual;
    };
    let way = |key: &'static str| {
        table.word(
            key,
            &[
                ("half-up", RoundingWay::HalfUp),
                ("half-even", RoundingWay::HalfEven),
                ("down", RoundingWay::Down),
                ("up", RoundingWay::Up),
            ],
        )
    };
    let decimals = |key: &'static str| table.whole(key).map(|decimals| decimals.value);
    let rounding = Rounding {
        quantity_decimals: decimals("quantity_decimals").unwrap_or(usual.quantity_decimals),
        quantities: way("quantities").unwrap_or(usual.quantities),
        amount_decimals: decimals("amount_decimals"),
        amounts: way("amounts").unwrap_or(usual.amounts),
    };
    table.finish();
    rounding
}

/// Names of the lines that a tariff can have, for `on`.
#[derive(Debug)]
pub(crate) struct LineNames(Vec<String>);

impl LineNames {
    /// Those of all that comes before levies and taxes.
    pub(crate) fn of(tariff: &Tariff) -> LineNames {
        let kinds = LineChoice::KINDS.iter().map(|kind| (*kind).to_owned());
        let mut names: Vec<String> = kinds.collect();
        names.extend(tariff.demand.iter().map(tariff::DemandCharge::line));
        names.extend(
            [
                "excess capacity",
                "power factor",
                "standing monthly",
                "minimum",
            ]
            .map(str::to_owned),
        );
        let sets = tariff.more_energy.iter();
        let sets = sets.map(|set| (set.name.clone(), &set.rates));
        let first = tariff
            .energy
            .iter()
            .map(|rates| ("energy".to_owned(), rates));
        for (set, rates) in first.chain(sets) {
            if let EnergyRates::Bands(table) = rates {
                let bands = table.bands().iter();
                names.extend(bands.map(|band| format!("{set} {}", band.name)));
            }
            names.push(set);
        }
        LineNames(names)
    }

    fn add(&mut self, table: &SiteTable<'_, '_>, name: &Located<String>) {
        if self.0.contains(&name.value) {
            table.source.push(
                Message::error(
                    "charge-twice",
                    format!("two charges have the line `{}`", name.value),
                )
                .at(table.source.place(&name.span), "the second one")
                .help("give each a name of its own"),
            );
        }
        self.0.push(name.value.clone());
    }

    /// The lines that `on` names.
    pub(crate) fn choice(&self, table: &SiteTable<'_, '_>) -> LineChoice {
        let words = table.texts("on");
        for word in &words {
            if !self.0.contains(&word.value) {
                let known = self.0.iter().map(String::as_str);
                table.source.push(
                    Message::error(
                        "unknown-line",
                        format!(
                            "no line before `{}` is called `{}`",
                            table.title, word.value
                        ),
                    )
                    .at(
                        table.source.place(&word.span),
                        format!("expected one of {}", self.0.join(", ")),
                    )
                    .maybe_help(did_you_mean(&word.value, known)),
                );
            }
        }
        LineChoice(words.into_iter().map(|word| word.value).collect())
    }
}
