//! Power factor by phase and by block, and the capacitors that would lift it.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::Serialize;

use super::super::clock;
use super::super::metered::Metered;
use super::super::settings::DemandSettings;
use crate::meter::blocks::Block;
use electrical::{
    CAPACITOR_CAUTION, Phase, PowerFactor, capacitance_uf, correction_power, mean_power_factor,
};
use metering::IntervalTable;
use site::{Quantity, Site};
use statistics::quantile;
use units::{KilovarHours, KilowattHours, Vars, Volts, Watts, rank};

/// Blocks below this share of the largest apparent power are near idle: their power factor costs little and
/// says little. (%)
const LOADED_FROM_PCT: f64 = 20.0;

/// Power factor of a meter over its demand periods.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct PowerFactorStudy {
    /// The meter's id.
    pub meter: String,
    /// kWh/√(kWh² + kvarh²) over the blocks.
    pub mean: Option<f64>,
    /// The same of each phase, over the intervals that have both its powers.
    pub by_phase: [Option<f64>; 3],
    /// Blocks from this share of the largest apparent power are looked at. (%)
    pub loaded_from_pct: f64,
    /// How many there are.
    pub blocks: usize,
    /// Lowest power factor of them.
    pub lowest: f64,
    /// When; start of the block, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub lowest_at: Option<DateTime<FixedOffset>>,
    /// Power factor that 5 % of them do not reach (type 7).
    pub p5: f64,
    /// Their median.
    pub median: f64,
    /// Lagging power factor that correction aims at.
    pub target_power_factor: f64,
    /// Capacitors are rounded up to a multiple of this. (kvar)
    pub kvar_step: f64,
    /// Such a step in delta: what a capacitance meter shows of each of its three parts. (µF)
    pub step_uf: Option<f64>,
    /// The block that needs most capacitors.
    pub worst: CorrectionNeed,
    /// The block in the middle, by what it needs.
    pub typical: CorrectionNeed,
    /// The block of the largest apparent power, which a charge per kVA looks at.
    pub at_max_kva: CorrectionNeed,
    /// Share of all blocks in which capacitors for the typical block, never switched off, would lead. (%)
    pub typical_bank_leads_pct: f64,
    /// Caution before capacitors are connected.
    pub caution: &'static str,
}

/// What a block needs to reach the target.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct CorrectionNeed {
    /// Start of the block, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub at: Option<DateTime<FixedOffset>>,
    /// Active power. (kW)
    pub kw: f64,
    /// Reactive power, lagging positive. (kvar)
    pub kvar: f64,
    /// Apparent power. (kVA)
    pub kva: f64,
    /// Power factor.
    pub power_factor: f64,
    /// Capacitors that just reach the target; 0 where it is reached. (kvar)
    pub needed_kvar: f64,
    /// The same in whole steps. (kvar)
    pub in_steps_kvar: f64,
    /// Apparent power with these. (kVA)
    pub kva_corrected: f64,
}

/// Energy-weighted power factor of each phase.
pub(crate) fn by_phase(table: &IntervalTable) -> [Option<f64>; 3] {
    Phase::ALL.map(|phase| {
        let active = table.values(Quantity::ActivePower(Some(phase)))?;
        let reactive = table.values(Quantity::ReactivePower(Some(phase)))?;
        let (mut p, mut q) = (0.0, 0.0);
        for (kw, kvar) in active.iter().zip(reactive.iter()) {
            if let (Some(kw), Some(kvar)) = (kw, kvar) {
                p += kw;
                q += kvar;
            }
        }
        factor(p, q)
    })
}

fn factor(active: f64, reactive: f64) -> Option<f64> {
    mean_power_factor(KilowattHours(active), KilovarHours(reactive))
        .ok()
        .flatten()
}

/// `None` without a loaded block whose reactive energy is known.
pub(super) fn of(
    site: &Site,
    meter: &Metered,
    settings: &DemandSettings,
) -> Option<PowerFactorStudy> {
    let known: Vec<LoadedBlock> = meter.blocks.iter().filter_map(LoadedBlock::of).collect();
    let largest = known.iter().map(|block| block.kva).reduce(f64::max)?;
    let mut loaded: Vec<(LoadedBlock, f64)> = known
        .iter()
        .filter(|block| block.kva >= LOADED_FROM_PCT / 100.0 * largest && block.kw > 0.0)
        .filter_map(|&block| Some((block, block.needs(settings.target_power_factor)?)))
        .collect();
    let factors: Vec<f64> = loaded.iter().map(|(block, _)| block.factor()).collect();
    let lowest = loaded
        .iter()
        .min_by(|(a, _), (b, _)| rank(a.factor()).total_cmp(&rank(b.factor())))?
        .0;
    let at_max_kva = *loaded.iter().max_by(|(a, _), (b, _)| {
        rank(a.kva)
            .total_cmp(&rank(b.kva))
            .then(b.start_s.cmp(&a.start_s))
    })?;
    loaded.sort_by(|(a, x), (b, y)| {
        rank(*x)
            .total_cmp(&rank(*y))
            .then(b.start_s.cmp(&a.start_s))
    });
    let (worst, typical) = (*loaded.last()?, loaded[(loaded.len() - 1) / 2]);
    let need = |(block, kvar): (LoadedBlock, f64)| block.need(site, kvar, settings.kvar_step);
    let typical = need(typical);
    let leading = known
        .iter()
        .filter(|block| block.kvar < typical.in_steps_kvar - 1e-9)
        .count();
    let sum = |value: fn(&LoadedBlock) -> f64| known.iter().map(value).sum::<f64>();
    Some(PowerFactorStudy {
        meter: site.meters[meter.meter].id.clone(),
        mean: factor(sum(|block| block.kw), sum(|block| block.kvar)),
        by_phase: meter.power_factor_by_phase,
        loaded_from_pct: LOADED_FROM_PCT,
        blocks: loaded.len(),
        lowest: lowest.factor(),
        lowest_at: clock::stamp(site.timezone, lowest.start_s),
        p5: quantile(&factors, 0.05)?,
        median: quantile(&factors, 0.5)?,
        target_power_factor: settings.target_power_factor,
        kvar_step: settings.kvar_step,
        step_uf: step_uf(site, settings.kvar_step),
        worst: need(worst),
        typical_bank_leads_pct: 100.0 * leading as f64 / known.len() as f64,
        typical,
        at_max_kva: need(at_max_kva),
        caution: CAPACITOR_CAUTION,
    })
}

fn step_uf(site: &Site, kvar_step: f64) -> Option<f64> {
    let part = Vars::from_kilo(kvar_step / 3.0);
    let line = Volts(site.supply.line_voltage_v);
    capacitance_uf(part, line, site.supply.frequency_hz).ok()
}

/// A block whose reactive energy is known.
#[derive(Clone, Copy, Debug)]
struct LoadedBlock {
    start_s: i64,
    kw: f64,
    kvar: f64,
    kva: f64,
}

impl LoadedBlock {
    fn of(block: &Block) -> Option<LoadedBlock> {
        Some(LoadedBlock {
            start_s: block.start_s,
            kw: block.kw,
            kvar: block.kvar?,
            kva: block.kva?,
        })
    }

    fn factor(&self) -> f64 {
        (self.kw / self.kva).min(1.0)
    }

    /// Capacitors that lift it to the target, 0 where it is there. (kvar)
    fn needs(&self, target: f64) -> Option<f64> {
        let now = if self.kvar < 0.0 {
            PowerFactor::leading(self.factor())
        } else {
            PowerFactor::lagging(self.factor())
        };
        let target = PowerFactor::lagging(target).ok()?;
        let needed = correction_power(Watts::from_kilo(self.kw), now.ok()?, target).ok()?;
        Some(needed.kilo().max(0.0))
    }

    fn need(&self, site: &Site, needed_kvar: f64, step_kvar: f64) -> CorrectionNeed {
        // What rounding leaves of a whole number of steps asks for no further one.
        let steps = (needed_kvar / step_kvar - 1e-9).ceil();
        // `max` with -0 gives either zero, as the compiler likes.
        let in_steps_kvar = if steps > 0.0 { steps * step_kvar } else { 0.0 };
        CorrectionNeed {
            at: clock::stamp(site.timezone, self.start_s),
            kw: self.kw,
            kvar: self.kvar,
            kva: self.kva,
            power_factor: self.factor(),
            needed_kvar,
            in_steps_kvar,
            kva_corrected: self.kw.hypot(self.kvar - in_steps_kvar),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analyse::analyse_with;
    use crate::samples::{logs_of, site};

    fn study(active: &[f64], reactive: &[f64], settings: &DemandSettings) -> PowerFactorStudy {
        let column = |quantity: Quantity, values: &[f64]| {
            (quantity.name(), values.iter().copied().map(Some).collect())
        };
        let starts = (0..active.len() as i64).map(|hour| hour * 3600).collect();
        let columns = vec![
            column(Quantity::ActivePower(None), active),
            column(Quantity::ReactivePower(None), reactive),
            column(Quantity::ActivePower(Some(Phase::L1)), active),
            column(Quantity::ReactivePower(Some(Phase::L1)), reactive),
        ];
        let logs = logs_of([IntervalTable::of_columns(starts, 3600, columns)]);
        let result = analyse_with(&site(&[]), &logs, settings);
        result
            .study
            .power_factor
            .into_iter()
            .next()
            .expect("one meter")
    }

    /// V. K. Mehta, R. Mehta, Principles of Power System, 4th ed. (S. Chand 2005), example 6.4: a 5 kW
    /// motor from 0.75 to 0.90 lagging needs 1.99 kvar. In steps of 0.5 that is 2.0.
    #[test]
    fn a_published_motor_as_a_log() {
        let lagging = 5.0 * (0.75_f64.acos()).tan();
        let settings = DemandSettings {
            target_power_factor: 0.90,
            kvar_step: 0.5,
            ..DemandSettings::default()
        };
        let study = study(&[5.0, 5.0, 0.1], &[lagging, lagging, 0.0], &settings);
        assert_eq!(study.blocks, 2);
        assert!((study.worst.needed_kvar - 1.99).abs() < 5e-3);
        assert!((study.worst.in_steps_kvar - 2.0).abs() < 1e-12);
        assert!((study.median - 0.75).abs() < 1e-9);
        // 5 kW with 4.41 − 2 kvar.
        assert!((study.worst.kva_corrected - 5.0_f64.hypot(lagging - 2.0)).abs() < 1e-9);
        // The idle hour would lead.
        assert!((study.typical_bank_leads_pct - 100.0 / 3.0).abs() < 1e-9);
        let phase = study.by_phase[0].expect("phase L1 is logged");
        assert!((phase - 10.1 / 10.1_f64.hypot(2.0 * lagging)).abs() < 1e-12);
        assert_eq!(study.by_phase[1], None);
    }

    #[test]
    fn what_is_beyond_the_target_needs_nothing() {
        let study = study(&[10.0, 8.0], &[1.0, -6.0], &DemandSettings::default());
        assert!(study.worst.needed_kvar.abs() < 1e-12);
        assert!(study.worst.in_steps_kvar.abs() < 1e-12);
        assert!((study.lowest - 0.8).abs() < 1e-12);
    }

    #[test]
    fn whole_steps_stay_whole() {
        // 4 kW with 3 kvar to unity: exactly 3 kvar.
        let settings = DemandSettings {
            target_power_factor: 1.0,
            kvar_step: 1.5,
            ..DemandSettings::default()
        };
        let study = study(&[4.0], &[3.0], &settings);
        assert!((study.worst.in_steps_kvar - 3.0).abs() < 1e-12);
        assert!((study.worst.kva_corrected - 4.0).abs() < 1e-12);
    }
}
