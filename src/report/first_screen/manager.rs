//! For the manager: energy, bill, maximum demand, and what one kilowatt less saves.

use crate::conductor::supply_meter;
use crate::format::{length, number, percent};
use crate::header::SiteHeader;
use demand::EnergyResult;
use units::{format_moment, grouped_digits};

#[derive(Debug)]
pub(crate) struct ManagerAnswer {
    /// What, how much, and a remark.
    pub(crate) figures: Vec<ManagerFigure>,
}

#[derive(Debug)]
pub(crate) struct ManagerFigure {
    pub(crate) label: &'static str,
    pub(crate) value: String,
    pub(crate) remark: String,
}

impl ManagerAnswer {
    pub(super) fn new(header: &SiteHeader, energy: &EnergyResult) -> ManagerAnswer {
        let mut figures = Vec::new();
        let mut add = |label, value: String, remark: String| {
            figures.push(ManagerFigure {
                label,
                value,
                remark,
            });
        };
        let supply = supply_meter(energy);
        if let Some(supply) = supply {
            if let Some(kwh) = supply.energy_kwh {
                let period = format!("in {}", length(supply.from, supply.to));
                add("Energy", format!("{}\u{A0}kWh", number(kwh, 0)), period);
            }
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
                    format!("; {} of the time has no readings", percent(gaps))
                };
                let remark = format!("for this period, tax included{gaps}");
                add("Bill", money(&bill.total.to_string()), remark);
                let months = bill.months.iter();
                let worth = months
                    .filter(|month| month.marginal_kilowatt.is_some())
                    .max_by(|one, other| one.covered_s.total_cmp(&other.covered_s))
                    .and_then(|month| month.marginal_kilowatt.as_ref());
                if let Some(worth) = worth {
                    let when = worth
                        .at
                        .map_or(String::new(), |at| at.format(" in %B").to_string());
                    let blocks = match worth.blocks {
                        1 => "one demand period must come down".to_owned(),
                        many => format!("{many} demand periods must come down"),
                    };
                    add(
                        "1\u{A0}kW less at the peak saves",
                        money(&worth.saving.to_string()),
                        format!("{}; {blocks}", when.trim()),
                    );
                }
            }
            None => add(
                "Bill",
                "not known".to_owned(),
                "no tariff is declared".to_owned(),
            ),
        }
        if let Some(supply) = supply {
            let demand = supply.max_demand_kw.zip(supply.max_demand_at);
            if let Some((kw, at)) = demand {
                let when = format_moment(at);
                let remark = format!("{when}, {}\u{A0}min", supply.demand_window_min);
                add(
                    "Maximum demand",
                    format!("{}\u{A0}kW", number(kw, 1)),
                    remark,
                );
            }
        }
        ManagerAnswer { figures }
    }
}
