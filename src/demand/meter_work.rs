//! One meter while its figures are worked out, and the same by its log as it is.

use std::sync::Arc;

use chrono::DateTime;

use super::clock;
use crate::meter::basis::{self, FigureBasis};
use crate::meter::blocks::{self, Block};
use crate::meter::data_problems::data_problems;
use crate::meter::demand_trace::DemandTrace;
use crate::meter::directions::Directions;
use crate::meter::energy::{self, Reactive};
use crate::meter::meter_energy::MeterEnergy;
use crate::meter::profile;
use crate::meter::quarter_hours::QuarterHours;
use crate::meter::quarters::quarters;
use crate::meter::unbalance;
use crate::meter::usage;
use crate::supply_together::SupplyPart;
use analysis::{Course, MeterAnalysis, NetPower, logs_what_is_returned};
use metering::{AngleBasis, MeterLog, PhasePhasors};
use site::{Meter, Site};
use units::Watts;

/// A meter's figures by its log as it is.
pub(super) struct AsLogged<'a> {
    pub(super) work: MeterWork<'a>,
    pub(super) energy: MeterEnergy,
}

impl<'a> AsLogged<'a> {
    pub(super) fn new(site: &'a Site, log: &'a MeterLog, window_min: u32) -> Option<AsLogged<'a>> {
        let work = MeterWork::new(site, log, window_min, &mut Vec::new());
        let energy = work.finish(&mut Vec::new())?;
        Some(AsLogged { work, energy })
    }
}

/// One meter while it is worked on.
pub(super) struct MeterWork<'a> {
    site: &'a Site,
    log: &'a MeterLog,
    meter: &'a Meter,
    pub(super) draw: NetPower<'a>,
    reactive: Reactive,
    pub(super) quarters: Arc<QuarterHours>,
    lagging: Option<Vec<(i64, f64)>>,
    leading: Option<Vec<(i64, f64)>>,
    pub(super) blocks: Arc<[Block]>,
    window_min: u32,
}

impl<'a> MeterWork<'a> {
    pub(super) fn new(
        site: &'a Site,
        log: &'a MeterLog,
        window_min: u32,
        notes: &mut Vec<String>,
    ) -> Self {
        let meter = &site.meters[log.meter];
        let draw = NetPower::of(log);
        let quarters: Arc<QuarterHours> = quarters(&log.table, draw).into();
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
            leading: site
                .terms_of(&meter.id)
                .needs_leading()
                .then(|| usage::leading_by_quarter(log, draw))
                .flatten(),
            draw,
            quarters,
            blocks: blocks.into(),
            window_min,
        }
    }

    /// May what is measured export? It logs export, or generation is declared there.
    pub(super) fn may_return(&self) -> bool {
        logs_what_is_returned(&self.log.table) || self.site.generates_at(self.meter.measures)
    }

    /// The figures; `None` of a table without rows.
    pub(super) fn finish(&self, notes: &mut Vec<String>) -> Option<MeterEnergy> {
        let table = &self.log.table;
        let (&first, &last) = (table.starts().first()?, table.starts().last()?);
        let (from_s, to_s) = table.span()?;
        let directions = Directions::of(self.log, self.draw);
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
            from: DateTime::from_timestamp(from_s, 0)?,
            to: DateTime::from_timestamp(to_s, 0)?,
            interval_s: table.resolution_s(),
            intervals: table.len(),
            energy_kwh,
            energy_import_kwh: directions.import_kwh,
            energy_export_kwh: directions.export_kwh,
            estimated_pct: directions.estimated_pct,
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
            load_factor: largest.and_then(|(_, kw)| load_factor(self.mean_import_kw()?, kw)),
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
                lagging_kvarh: self.lagging.clone().unwrap_or_default(),
                ..profile::trace(zone, &self.site.holidays, &self.quarters, &self.blocks)
            },
        })
    }

    /// Mean of what is imported over the time with readings: what a maximum demand is compared with. (kW)
    fn mean_import_kw(&self) -> Option<f64> {
        let (mut kwh, mut covered_s) = (0.0, 0.0);
        for quarter in self.quarters.iter() {
            kwh += quarter.import_kwh;
            covered_s += quarter.import_covered_s;
        }
        (covered_s > 0.0).then(|| kwh * 3600.0 / covered_s)
    }

    /// What is billed, if this is a meter of the supply.
    pub(super) fn supply_part(&self, energy: &MeterEnergy) -> SupplyPart {
        SupplyPart {
            meter: energy.id.clone(),
            from_s: energy.from.timestamp(),
            to_s: energy.to.timestamp(),
            window_min: self.window_min,
            energy_kwh: energy.energy_kwh,
            quarters: Arc::clone(&self.quarters),
            blocks: Arc::clone(&self.blocks),
            meter_blocks: Vec::new(),
            lagging: self.lagging.clone(),
            leading: self.leading.clone(),
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
