//! The whole answer, meter by meter.

use chrono::DateTime;

use super::clock;
use super::metered::Metered;
use super::result::EnergyResult;
use super::settings::DemandSettings;
use super::study::{by_phase, study};
use crate::above::fine::Fine;
use crate::above::reconcile::reconcile;
use crate::meter::basis::{self, FigureBasis};
use crate::meter::blocks::{self, Block};
use crate::meter::carbon::carbon;
use crate::meter::data_problems::data_problems;
use crate::meter::demand_trace::DemandTrace;
use crate::meter::energy::{self, Reactive};
use crate::meter::meter_energy::MeterEnergy;
use crate::meter::profile;
use crate::meter::quarters::{Quarter, quarters};
use crate::meter::sliding::sliding_maximum;
use crate::meter::unbalance;
use crate::meter::usage;
use analysis::{Course, MeterAnalysis, NetPower, logs_what_is_returned};
use baseline::Change;
use metering::{AngleBasis, Logs, MeterLog, PhasePhasors};
use site::{Measured, Meter, Site};
use tariff::{Usage, bill, cost_by_day};
use units::Watts;

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
    let mut cost = None;
    let mut by_day = Vec::new();
    for log in &logs.meters {
        let work = MeterWork::new(site, log, window_min, &mut notes);
        let Some(mut energy) = work.finish(&mut notes) else {
            continue;
        };
        let unaltered = log.unaltered();
        let as_logged = unaltered
            .as_ref()
            .and_then(|log| AsLogged::new(site, log, window_min));
        if site.meter_of(Measured::SUPPLY) == Some(log.meter) {
            let usage = match &as_logged {
                Some(own) => own.work.usage(&own.energy),
                None => work.usage(&energy),
            };
            cost = bill(&site.terms(), &usage);
            by_day = cost_by_day(&site.terms(), &usage);
            if cost.is_some() && as_logged.is_some() {
                notes.push(format!(
                    "the bill rests on the log of meter `{}` as it is, as a supplier would bill it; the energies beside it are corrected for the faults of the meter",
                    energy.id
                ));
            }
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
            energy_kwh: energy.energy_kwh,
            may_return: work.may_return(),
            sliding: sliding_maximum(site.timezone, &log.table, work.draw, window_min),
            power_factor_by_phase: by_phase(&log.table),
            fine: Fine::of(&log.table, work.draw),
            blocks: work.blocks,
            quarters: work.quarters,
        });
        meters.push(energy);
    }
    if cost.is_none() && !site.tariffs.is_empty() {
        notes.push(
            "site.toml has a tariff, but no meter at the supply has energy: there is no bill"
                .to_owned(),
        );
    }
    let reconciliation = reconcile(site, &metered, &mut notes);
    EnergyResult {
        carbon: carbon(site, logs, &meters),
        meters,
        reconciliation,
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

/// What the supply's meter saw, in blocks of this length; `None` where no meter of the supply has energy.
#[must_use]
pub fn supply_usage(site: &Site, logs: &Logs, window_min: u32) -> Option<Usage> {
    let log = logs.of(site.meter_of(Measured::SUPPLY)?)?;
    let unaltered = log.unaltered();
    let own = AsLogged::new(site, unaltered.as_ref().unwrap_or(log), window_min)?;
    let usage = own.work.usage(&own.energy);
    (!usage.quarters.is_empty()).then_some(usage)
}

/// A meter's figures by its log as it is.
struct AsLogged<'a> {
    work: MeterWork<'a>,
    energy: MeterEnergy,
}

impl<'a> AsLogged<'a> {
    fn new(site: &'a Site, log: &'a MeterLog, window_min: u32) -> Option<AsLogged<'a>> {
        let work = MeterWork::new(site, log, window_min, &mut Vec::new());
        let energy = work.finish(&mut Vec::new())?;
        Some(AsLogged { work, energy })
    }
}

/// One meter while it is worked on.
struct MeterWork<'a> {
    site: &'a Site,
    log: &'a MeterLog,
    meter: &'a Meter,
    draw: NetPower<'a>,
    reactive: Reactive,
    quarters: Vec<Quarter>,
    lagging: Option<Vec<(i64, f64)>>,
    blocks: Vec<Block>,
    window_min: u32,
}

impl<'a> MeterWork<'a> {
    fn new(site: &'a Site, log: &'a MeterLog, window_min: u32, notes: &mut Vec<String>) -> Self {
        let meter = &site.meters[log.meter];
        let draw = NetPower::of(log);
        let quarters = quarters(&log.table, draw);
        let blocks = blocks::demand_blocks(site.timezone, &log.table, &quarters, window_min);
        let blocks = match blocks {
            Ok(blocks) => blocks,
            Err(why) => {
                if draw.power_kw.is_some() {
                    notes.push(format!("meter `{}` {why}", meter.id));
                }
                Vec::new()
            }
        };
        MeterWork {
            site,
            log,
            meter,
            reactive: energy::reactive(log, draw),
            lagging: usage::lagging_by_quarter(log, draw),
            draw,
            quarters,
            blocks,
            window_min,
        }
    }

    /// May what is measured export? It logs export, or generation is declared there.
    fn may_return(&self) -> bool {
        logs_what_is_returned(&self.log.table) || self.site.generates_at(self.meter.measures)
    }

    /// The figures; `None` of a table without rows.
    fn finish(&self, notes: &mut Vec<String>) -> Option<MeterEnergy> {
        let table = &self.log.table;
        let (&first, &last) = (table.starts().first()?, table.starts().last()?);
        self.note_energy(notes);
        let analysis = MeterAnalysis::of(self.log);
        let phasors = analysis.phasors();
        let courses = analysis.phases();
        let phases = courses.as_ref().and_then(|courses| {
            let [l1, l2, l3] = courses.each_ref().map(Course::level);
            Some([l1?, l2?, l3?])
        });
        let both = analysis.neutral();
        let computed = both.computed.as_ref().and_then(Course::level);
        let neutral = both.known().and_then(Course::level);
        if computed.is_some() {
            self.note_phasors(phasors, notes);
        }
        let limit_a = unbalance::limit_of(self.site, self.meter.measures);
        let unbalance = courses
            .as_ref()
            .and_then(|courses| unbalance::currents(courses, limit_a));
        let energy_kwh = self.draw.net_energy_kwh(self.log);
        let reactive = self.reactive;
        // Where nothing but energy given is seen, there is no demand.
        let largest = blocks::largest(&self.blocks, |block| Some(block.kw).filter(|kw| *kw >= 0.0));
        let largest_kva = blocks::largest(&self.blocks, |block| block.kva);
        let zone = self.site.timezone;
        Some(MeterEnergy {
            id: self.meter.id.clone(),
            measures: self.site.measured_name(self.meter.measures).to_owned(),
            from: DateTime::from_timestamp(first, 0)?,
            to: DateTime::from_timestamp(last + i64::from(table.interval_s()), 0)?,
            interval_s: table.interval_s(),
            intervals: table.len(),
            energy_kwh,
            energy_kwh_by_phase: energy::by_phase(table),
            energy_kwh_as_logged: None,
            energy_kwh_by_phase_as_logged: None,
            max_demand_kw_as_logged: None,
            neutral_rms_a_as_logged: None,
            neutral_max_a_as_logged: None,
            register_energy_kwh: self.log.register_energy_kwh,
            register_check: self.log.register_check,
            reactive_energy_import_kvarh: reactive.import_kvarh,
            reactive_energy_export_kvarh: reactive.export_kvarh,
            max_demand_kw: largest.map(|(_, kw)| kw),
            max_demand_at: largest.and_then(|(block, _)| clock::stamp(zone, block.start_s)),
            max_demand_kva: largest_kva.map(|(_, kva)| kva),
            demand_window_min: self.window_min,
            load_factor: largest.and_then(|(_, kw)| load_factor(self.draw.mean_kw()?, kw)),
            power_factor: energy::power_factor(energy_kwh, reactive),
            neutral_rms_a: neutral.map(|level| level.rms_a),
            neutral_max_a: neutral.map(|level| level.max_a),
            neutral_computed_rms_a: computed.map(|level| level.rms_a),
            neutral_sample_max_a: analysis.neutral_sample_max_a(),
            phase_rms_a: phases.map(|levels| levels.map(|level| level.rms_a)),
            phase_max_a: phases.map(|levels| levels.map(|level| level.max_a)),
            current_unbalance_mean_pct: unbalance.map(|unbalance| unbalance.mean_pct),
            current_unbalance_p95_pct: unbalance.map(|unbalance| unbalance.p95_pct),
            voltage_unbalance_p95_pct: unbalance::voltages_p95(table),
            coverage_pct: self.log.coverage.percent(),
            basis: FigureBasis::of(self.log, self.draw, reactive, phasors),
            quality: data_problems(self.log, self.meter, self.draw, self.may_return())
                .into_iter()
                .chain(self.log.quality.clone())
                .collect(),
            trace: DemandTrace {
                covered_s: self.log.coverage.stretches(first, last),
                quarters: self.quarters.clone(),
                lagging_kvarh: self.lagging.clone().unwrap_or_default(),
                ..profile::trace(zone, &self.site.holidays, &self.quarters, &self.blocks)
            },
        })
    }

    /// What is billed, if this is the meter of the supply.
    fn usage(&self, energy: &MeterEnergy) -> Usage {
        Usage {
            meter: energy.id.clone(),
            from_s: energy.from.timestamp(),
            to_s: energy.to.timestamp(),
            window_min: self.window_min,
            ..usage::usage(
                self.lagging.as_deref(),
                &self.quarters,
                &self.blocks,
                energy.energy_kwh,
            )
        }
    }

    fn note_energy(&self, notes: &mut Vec<String>) {
        let id = &self.meter.id;
        let table = &self.log.table;
        if self.draw.power_kw.is_none() {
            notes.push(format!(
                "meter `{id}` logs neither power nor energy of all its phases: its energy and demand are not known"
            ));
        } else if self.draw.from_register {
            let step = self.log.register_step_kwh.filter(|step| *step > 0.0);
            let fineness = step.map_or_else(String::new, |step| {
                let kw = step * 3600.0 / f64::from(table.interval_s());
                format!(": one step is {step} kWh, {kw:.1} kW over an interval")
            });
            notes.push(format!(
                "meter `{id}` logs a register and no power: its demand is only as fine as the steps of the register{fineness}"
            ));
        }
        notes.extend(basis::notes(id, self.log));
        let late_s = blocks::lateness_s(self.site.timezone, table, i64::from(table.interval_s()));
        if late_s > 0 && !self.blocks.is_empty() {
            notes.push(format!(
                "intervals of meter `{id}` start {} off the clock: those across the boundary of a demand period are split between the two",
                blocks::minutes(late_s)
            ));
        }
        if self.reactive.import_kvarh.is_some() && self.reactive.export_kvarh.is_none() {
            notes.push(format!(
                "meter `{id}` does not log leading reactive energy: its power factor counts lagging reactive energy only"
            ));
        }
    }

    fn note_phasors(&self, phasors: Option<&PhasePhasors>, notes: &mut Vec<String>) {
        let Some(phasors) = phasors else { return };
        let id = &self.meter.id;
        match phasors.angle {
            AngleBasis::Powers => {}
            AngleBasis::PowerFactor => notes.push(format!(
                "meter `{id}` logs power factors without a reliable sign: its neutral current is computed with lagging currents"
            )),
            AngleBasis::Unity => notes.push(format!(
                "meter `{id}` does not log the phase angles of its currents: its neutral current is computed with the same power factor on all phases"
            )),
        }
        if !phasors.current_logged {
            notes.push(format!(
                "meter `{id}` does not log all phase currents: the others are computed from power and voltage"
            ));
        }
    }
}

/// Mean power over maximum demand; `None` where nothing is drawn.
fn load_factor(mean_kw: f64, maximum_kw: f64) -> Option<f64> {
    electrical::load_factor(Watts::from_kilo(mean_kw), Watts::from_kilo(maximum_kw))
        .ok()
        .flatten()
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
