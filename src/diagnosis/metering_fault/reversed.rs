//! A current transformer that is turned round.

use super::page::{CAUTION, KIND, SOURCE};
use crate::outcome::{Diagnosis, Report};
use crate::thresholds as limits;
use crate::view::View;
use electrical::Phase;
use finding::{Evidence, Severity};
use metering::Logged;
use site::{Measured, Quantity};

/// Share of the largest power below which an interval says nothing about direction.
const WITH_LOAD: f64 = 0.05;

pub(super) fn check(view: &View<'_>, diagnosis: &mut Diagnosis) {
    let table = view.table();
    let mut judged = false;
    for phase in Phase::ALL {
        let Some(power) = table.values(Quantity::ActivePower(Some(phase))) else {
            continue;
        };
        judged = true;
        if let Some(reversed) = Reversed::of(power, view.interval_s()) {
            diagnosis.found(
                view,
                KIND,
                Some(phase),
                report(view, &reversed, phase.name()),
            );
        } else {
            diagnosis.nothing(view, KIND, Some(phase));
        }
    }
    if judged {
        return;
    }
    match table.values(Quantity::ActivePower(None)) {
        Some(power) => match Reversed::of(power, view.interval_s()) {
            Some(reversed) => {
                diagnosis.found(view, KIND, None, report(view, &reversed, "the meter"));
            }
            None => diagnosis.nothing(view, KIND, None),
        },
        None => diagnosis.needs(view, KIND, None, "active power"),
    }
}

struct Reversed {
    share: f64,
    energy_kwh: f64,
}

impl Reversed {
    fn of(power_kw: Logged<'_>, interval_s: i64) -> Option<Reversed> {
        let largest = power_kw.iter().flatten().map(f64::abs).fold(0.0, f64::max);
        let loaded: Vec<f64> = power_kw
            .iter()
            .flatten()
            .filter(|kw| kw.abs() > WITH_LOAD * largest)
            .collect();
        let negative = loaded.iter().filter(|&&kw| kw < 0.0).count();
        if loaded.is_empty() {
            return None;
        }
        let share = negative as f64 / loaded.len() as f64;
        let energy_kwh = -power_kw.iter().flatten().sum::<f64>() * interval_s as f64 / 3600.0;
        (share >= limits::REVERSED_SHARE).then_some(Reversed { share, energy_kwh })
    }
}

fn report(view: &View<'_>, reversed: &Reversed, what: &str) -> Report {
    let machine = match view.meter.measures {
        Measured::Machine(index) => view.site.machines[index].name.as_str(),
        Measured::Node(_) => "what it measures",
    };
    Report {
        severity: Severity::Warning,
        summary: format!(
            "{what} shows an export of {:.0} kWh from {machine}, which is a load: a current transformer is reversed",
            reversed.energy_kwh
        ),
        evidence: Evidence::default()
            .with("negative_share_of_loaded_intervals_pct", 100.0 * reversed.share)
            .with("energy_with_wrong_sign_kwh", reversed.energy_kwh)
            .maybe("register_counted_kwh", view.log.register_energy_kwh),
        action: "turn the current transformer round, or swap S1 and S2 (circuit dead, CT shorted); correct the energy manually".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    }
}
