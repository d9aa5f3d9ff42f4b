//! The sentence with which a section begins: its result.

use super::format::{amps, counted, length, listed, number, percent};
use super::site_energy::SiteEnergy;
use balance::BalanceResult;
use demand::EnergyResult;
use electrical::Phase;
use units::format_moment;

/// What the currents are after the plan, which the charts show next to those of now.
pub(super) fn currents(balance: &BalanceResult) -> String {
    let figures = &balance.after;
    let peaks: Vec<String> = Phase::ALL
        .into_iter()
        .map(|phase| format!("{phase} {}", amps(figures.phase_max_a[phase.index()])))
        .chain([format!("neutral {}", amps(figures.neutral_max_a))])
        .collect();
    let when = match (&balance.before, balance.moves.len()) {
        (Some(_), 0) => "The supply's highest currents".to_owned(),
        (Some(_), _) => "The supply's highest currents after the moves".to_owned(),
        (None, _) => "The supply's highest currents once connected as planned".to_owned(),
    };
    format!("{when}: {}.", listed(&peaks))
}

/// Energy, maximum demand and load factor of the supply, or how many meters there are.
pub(super) fn energy(energy: &EnergyResult) -> String {
    let Some(supply) = SiteEnergy::of(energy) else {
        let meters = counted(energy.meters.len(), "meter", "meters");
        return format!("{meters}, none of them at the supply.");
    };
    let mut parts = Vec::new();
    if let Some(kwh) = supply.energy_kwh {
        parts.push(format!(
            "{}\u{A0}kWh in {}",
            number(kwh, 0),
            length(supply.from, supply.to)
        ));
    }
    if let Some((kw, at)) = supply.max_demand_kw.zip(supply.max_demand_at) {
        parts.push(format!(
            "maximum demand {}\u{A0}kW, {}",
            number(kw, 1),
            format_moment(at)
        ));
    }
    if let Some(factor) = supply.load_factor {
        parts.push(format!("load factor {}", number(factor, 2)));
    }
    if parts.is_empty() {
        return "No energy was logged at the supply.".to_owned();
    }
    let whose = match supply.meter {
        Some(_) => "",
        None => "All loads together: ",
    };
    format!("{whose}{}.", parts.join("; "))
}

/// How much was read, and how many problems there are.
pub(super) fn data(energy: &EnergyResult, problems: usize) -> String {
    let least = energy
        .meters
        .iter()
        .min_by(|one, other| one.coverage_pct.total_cmp(&other.coverage_pct));
    let Some(least) = least else {
        return "No meter was read.".to_owned();
    };
    let problems = match problems {
        0 => "no problem was found in the data".to_owned(),
        many => format!("{} in the data", counted(many, "problem", "problems")),
    };
    let covered = percent(least.coverage_pct);
    match energy.meters.len() {
        1 => format!("{covered} of the period was read; {problems}."),
        _ => format!(
            "Each meter read at least {covered} of its period ({} the least); {problems}.",
            least.id
        ),
    }
}
