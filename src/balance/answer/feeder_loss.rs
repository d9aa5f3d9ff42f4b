//! The feeder losses before and after, and their cost.

use super::amounts::kwh_per_year;
use crate::answer::result::FeederLoss;
use crate::form::loss::{heat_over_time, loss_form};
use crate::pose::from_site::Posed;
use crate::problem::solution::Solution;
use site::Site;
use tariff::energy_price_at;

/// Feeder losses before and after; `None` where no feeder is declared.
pub(super) fn feeder_loss(
    site: &Site,
    posed: &Posed,
    now: Option<&[usize]>,
    solution: &Solution,
    least: Option<f64>,
) -> Option<FeederLoss> {
    let form = loss_form(&posed.problem)?;
    let prices = prices(site, posed);
    let cost = |turns: &[usize]| {
        let heat = heat_over_time(&posed.problem, turns);
        let sum: f64 = heat
            .iter()
            .zip(prices.as_ref()?)
            .map(|(watts, price)| watts * price)
            .sum();
        Some(kwh_per_year(sum / heat.len() as f64))
    };
    Some(FeederLoss {
        before_kwh_per_year: now.map(|now| kwh_per_year(form.value(now))),
        after_kwh_per_year: kwh_per_year(form.value(&solution.choices)),
        before_cost_per_year: now.and_then(cost),
        after_cost_per_year: cost(&solution.choices),
        lower_bound_kwh_per_year: least.map(kwh_per_year),
    })
}

/// The price of energy in every interval; `None` where an interval has none.
fn prices(site: &Site, posed: &Posed) -> Option<Vec<f64>> {
    let terms = site.terms();
    if terms.tariffs.is_empty() || posed.grid.by_hand {
        return None;
    }
    let starts = posed.grid.starts.iter();
    starts
        .map(|&start| energy_price_at(&terms, start))
        .collect()
}
