//! For the manager: energy, bill, maximum demand, and what one kilowatt less saves.

use crate::format::{length, number, percent};
use crate::header::SiteHeader;
use crate::site_energy::SiteEnergy;
use demand::EnergyResult;
use tariff::LineKind;
use units::{format_moment, grouped_digits};

#[derive(Debug)]
pub(crate) struct ManagerAnswer {
    /// What, how much, and a remark.
    pub(crate) figures: Vec<ManagerFigure>,
}

#[derive(Debug)]
pub(crate) struct ManagerFigure {
    pub(crate) label: String,
    pub(crate) value: String,
    pub(crate) remark: String,
}

impl ManagerAnswer {
    pub(super) fn new(header: &SiteHeader, energy: &EnergyResult) -> ManagerAnswer {
        let mut figures = Vec::new();
        let mut add = |label: String, value: String, remark: String| {
            figures.push(ManagerFigure {
                label,
                value,
                remark,
            });
        };
        let supply = SiteEnergy::of(energy);
        let whole = supply.as_ref();
        if let Some((supply, kwh)) = whole.and_then(|supply| Some((supply, supply.energy_kwh?))) {
            let label = format!("Energy, {}", length(supply.from, supply.to));
            add(label, format!("{}\u{A0}kWh", number(kwh, 0)), whose(supply));
        }
        match &energy.cost {
            Some(bill) => {
                let currency = bill.currency.as_deref().or(header.currency.as_deref());
                let money = |amount: &str| {
                    let unit = currency.map_or(String::new(), |unit| format!("\u{A0}{unit}"));
                    format!("{}{unit}", grouped_digits(amount))
                };
                let gaps = bill.days_without_readings_pct();
                let gaps = if gaps < 0.05 {
                    String::new()
                } else {
                    format!("{} of the time has no readings", percent(gaps))
                };
                let mut lines = bill.months.iter().flat_map(|month| &month.lines);
                let taxed = lines.any(|line| line.kind == LineKind::Tax && !line.amount.is_zero());
                let tax = if taxed {
                    "tax included"
                } else {
                    "no tax in it"
                };
                let label = format!("Bill as worked out, {tax}");
                add(label, money(&bill.total.to_string()), gaps);
                let months = bill.months.iter();
                let worth = months
                    .filter(|month| month.marginal_kilowatt.is_some())
                    .max_by(|one, other| one.covered_s.total_cmp(&other.covered_s))
                    .and_then(|month| month.marginal_kilowatt.as_ref());
                if let Some(worth) = worth {
                    let month = worth
                        .at
                        .map_or(String::new(), |at| at.format(", %B").to_string());
                    let periods = match worth.blocks {
                        1 => {
                            format!("{tax}, if the highest demand period comes down")
                        }
                        many => {
                            format!("{tax}, if the {many} highest demand periods come down")
                        }
                    };
                    add(
                        format!("1\u{A0}kW less saves once{month}"),
                        money(&worth.saving.to_string()),
                        periods,
                    );
                }
            }
            None => add(
                "Bill".to_owned(),
                "not known".to_owned(),
                "no tariff is declared".to_owned(),
            ),
        }
        if let Some(supply) = supply {
            let demand = supply.max_demand_kw.zip(supply.max_demand_at);
            if let Some((kw, at)) = demand {
                let label = format!("Maximum demand, {}", at.format("%-d\u{A0}%b %H:%M"));
                let remark = format!(
                    "{}\u{A0}min from {}",
                    supply.demand_window_min,
                    format_moment(at)
                );
                add(label, format!("{}\u{A0}kW", number(kw, 1)), remark);
            }
        }
        ManagerAnswer { figures }
    }
}

/// What a figure is of, where it is not the supply's.
fn whose(energy: &SiteEnergy<'_>) -> String {
    match energy.meter {
        Some(_) => String::new(),
        None => "of all loads together".to_owned(),
    }
}
