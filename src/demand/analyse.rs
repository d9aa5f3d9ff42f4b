//! The whole answer, meter by meter.

use super::meter_work::{AsLogged, MeterWork};
use super::metered::Metered;
use super::result::EnergyResult;
use super::self_consumption::self_consumption;
use super::settings::DemandSettings;
use super::study::{by_phase, study};
use crate::above::all_loads::all_loads;
use crate::above::fine::Fine;
use crate::above::reconcile::reconcile;
use crate::meter::carbon::carbon;
use crate::meter::meter_energy::MeterEnergy;
use crate::meter::sliding::sliding_maximum;
use crate::supply_bills::billed;
use baseline::Change;
use metering::Logs;
use site::{Measured, Site};

/// Energy, demand, neutral and unbalance of every meter with a log, and main meters against those
/// below them.
///
/// Demand periods last `window_min` minutes, or as long as the site says; they begin on the site's
/// local clock. Where the site has a tariff, the meter of the supply is billed.
pub fn analyse(site: &Site, logs: &Logs, window_min: Option<u32>) -> EnergyResult {
    let settings = DemandSettings {
        window_min,
        ..DemandSettings::default()
    };
    analyse_with(site, logs, &settings)
}

/// As [`analyse`], with all that can be set.
pub fn analyse_with(site: &Site, logs: &Logs, settings: &DemandSettings) -> EnergyResult {
    let window_min = settings.window_min.unwrap_or(site.demand_window_min);
    let mut notes = Vec::new();
    let mut metered = Vec::new();
    let mut meters = Vec::new();
    let mut supply = Vec::new();
    let mut registers = Vec::new();
    let mut estimated = Vec::new();
    let mut as_it_is = false;
    // Only clocks of meters below one another are compared.
    let has_submeters = site
        .meters
        .iter()
        .any(|meter| meter.measures != Measured::SUPPLY);
    for log in &logs.meters {
        let work = MeterWork::new(site, log, window_min, &mut notes);
        let Some(mut energy) = work.finish(&mut notes) else {
            continue;
        };
        let unaltered = log.unaltered();
        let as_logged = unaltered
            .as_ref()
            .and_then(|log| AsLogged::new(site, log, window_min));
        if site.has_tariff() && site.meters[log.meter].measures == Measured::SUPPLY {
            let (usage, billed) = match &as_logged {
                Some(own) => (own.work.supply_part(&own.energy), &own.energy),
                None => (work.supply_part(&energy), &energy),
            };
            registers.push((
                energy.id.clone(),
                billed.energy_import_kwh,
                energy.register_energy_kwh,
            ));
            estimated.extend(estimated_note(billed));
            supply.push(usage);
            as_it_is |= as_logged.is_some();
        }
        if let Some(own) = &as_logged {
            energy.energy_kwh_as_logged = own.energy.energy_kwh;
            energy.energy_kwh_by_phase_as_logged = own.energy.energy_kwh_by_phase;
            energy.max_demand_kw_as_logged = own.energy.max_demand_kw;
            energy.neutral_rms_a_as_logged = own.energy.neutral_rms_a;
            energy.neutral_max_a_as_logged = own.energy.neutral_max_a;
        }
        metered.push(Metered {
            meter: log.meter,
            interval_s: log.table.interval_s(),
            resolution_s: log.table.resolution_s(),
            energy_kwh: energy.energy_kwh,
            from_s: energy.from.timestamp(),
            to_s: energy.to.timestamp(),
            may_return: work.may_return(),
            sliding: sliding_maximum(site.timezone, &log.table, work.draw, window_min),
            power_factor_by_phase: by_phase(&log.table),
            fine: if has_submeters {
                Fine::of(&log.table, work.draw)
            } else {
                Fine::default()
            },
            blocks: work.blocks,
            quarters: work.quarters,
        });
        meters.push(energy);
    }
    let (mut cost, by_day) = billed(site, &supply, &mut notes);
    if let Some(bill) = &mut cost {
        bill.notes.extend(estimated);
        bill.notes
            .extend(registers.iter().filter_map(register_note));
        if as_it_is {
            notes.push(format!(
                "the bill is worked out from the log of meter `{}` as it is; the energies in the other tables are corrected for the faults of the meter",
                bill.meter
            ));
        }
    }
    if cost.is_none() && site.has_tariff() {
        notes.push(
            "site.toml has a tariff, but no meter at the supply has energy: there is no bill"
                .to_owned(),
        );
    }
    let reconciliation = reconcile(site, &metered, &mut notes);
    let export_known = |index: usize| {
        let energy: &MeterEnergy = &meters[index];
        energy.energy_export_kwh.is_some()
    };
    let self_consumption = self_consumption(site, &metered, export_known, &mut notes);
    EnergyResult {
        all_loads: all_loads(site, &metered, window_min),
        carbon: carbon(site, logs, &meters),
        meters,
        reconciliation,
        self_consumption,
        cost,
        cost_by_day: by_day,
        breakdown: None,
        comparison: None,
        breakdown_costs: Vec::new(),
        breakdown_notes: Vec::new(),
        study: study(site, &metered, settings),
        change: Change::default(),
        since: None,
        notes,
    }
}

/// How much of a bill rests on values that the source estimated.
fn estimated_note(energy: &MeterEnergy) -> Option<String> {
    let share = energy.estimated_pct.filter(|share| *share > 0.0)?;
    Some(format!(
        "the source of meter `{}` marks {} of its energy as estimated or substituted",
        energy.id,
        units::format_percent(share)
    ))
}

/// What the register counted compared with what is billed, where they differ by more than a register's last digits.
fn register_note((id, billed, register): &(String, Option<f64>, Option<f64>)) -> Option<String> {
    const SHARE: f64 = 0.002;
    let (billed, register) = ((*billed)?, (*register)?);
    let more = register - billed;
    (more.abs() > 1.0_f64.max(SHARE * billed)).then(|| {
        format!(
            "the register of meter `{id}` counted {}, {} than the {} of the intervals that are billed: a supplier bills by the register",
            units::format_kwh(register),
            if more > 0.0 {
                format!("{} more", units::format_kwh(more))
            } else {
                format!("{} less", units::format_kwh(-more))
            },
            units::format_kwh(billed),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{logs_of, power_table, site};

    fn of_hours(loads: &[(f64, usize)]) -> MeterEnergy {
        let values: Vec<Option<f64>> = loads
            .iter()
            .flat_map(|&(load, hours)| vec![Some(load); hours])
            .collect();
        let logs = logs_of([power_table(0, 3600, &values)]);
        let result = analyse(&site(&[]), &logs, None);
        assert!(result.notes.is_empty(), "{:?}", result.notes);
        result.meters.into_iter().next().expect("one meter")
    }

    fn percent(share: Option<f64>) -> f64 {
        100.0 * share.unwrap_or(f64::NAN)
    }

    /// Mehta & Mehta, Principles of Power System, 4th ed. (S. Chand 2005), example 3.10: 1200 MWh a
    /// day, 50 MW on average, load factor 71.4 %.
    #[test]
    fn load_factor_of_a_published_day() {
        let day = of_hours(&[
            (40.0, 6),
            (50.0, 4),
            (60.0, 2),
            (50.0, 4),
            (70.0, 4),
            (40.0, 4),
        ]);
        assert!(
            day.energy_kwh
                .is_some_and(|energy| (energy - 1200.0).abs() < 1e-9)
        );
        assert!(
            day.max_demand_kw
                .is_some_and(|kw| (kw - 70.0).abs() < 1e-12)
        );
        assert!((percent(day.load_factor) - 71.4).abs() < 0.05);
        let at = day.max_demand_at.map(|at| at.to_rfc3339());
        assert_eq!(at.as_deref(), Some("1970-01-01T16:00:00+00:00"));
    }

    /// The same, example 3.18: 925 MWh, load factor 55.06 %.
    #[test]
    fn load_factor_of_another_published_day() {
        let day = of_hours(&[
            (20.0, 8),
            (40.0, 3),
            (50.0, 5),
            (35.0, 3),
            (70.0, 3),
            (40.0, 2),
        ]);
        assert!(
            day.energy_kwh
                .is_some_and(|energy| (energy - 925.0).abs() < 1e-9)
        );
        assert!((percent(day.load_factor) - 55.06).abs() < 0.005);
    }

    #[test]
    fn a_window_that_intervals_do_not_fill_is_told() {
        let logs = logs_of([power_table(0, 3600, &[Some(5.0)])]);
        let result = analyse(&site(&[]), &logs, Some(30));
        let meter = &result.meters[0];
        assert_eq!((meter.max_demand_kw, meter.load_factor), (None, None));
        assert_eq!(meter.energy_kwh, Some(5.0));
        assert!(
            result.notes[0].contains("meter `main` logs every 60 min"),
            "{:?}",
            result.notes
        );
    }

    /// Steps of 2, 4 and, over a missing reading, 6 kWh: 12 kWh in all, but only the hours of the
    /// first two are known.
    #[test]
    fn a_register_alone_gives_energy_and_demand() {
        let readings = [10.0, 12.0, 16.0, f64::NAN, 22.0];
        let readings = readings.map(|kwh| (!kwh.is_nan()).then_some(kwh));
        let starts = (0..5).map(|hour| hour * 3600).collect();
        let columns = vec![("energy_import_kwh".to_owned(), readings.to_vec())];
        let logs = logs_of([metering::IntervalTable::of_columns(starts, 3600, columns)]);
        let result = analyse(&site(&[]), &logs, None);
        let meter = &result.meters[0];
        assert_eq!(meter.energy_kwh, Some(12.0));
        assert_eq!(meter.max_demand_kw, Some(4.0));
        assert_eq!(meter.load_factor, Some(0.75));
        assert_eq!(result.notes.len(), 1);
    }
}
