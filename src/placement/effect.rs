//! Effect of new machines at the supply: neutral, phases, unbalance, demand.

use num_complex::Complex64;

use super::carried::Carried;
use super::demand_blocks::{complete_blocks, largest_mean};
use super::load::NewLoad;
use super::supply_effect::SupplyEffect;
use super::supply_figures::SupplyFigures;
use analysis::{MeterAnalysis, NetPower};
use balance::{BasedOn, NodeFigures, Standing};
use electrical::Phase;
use metering::{Logged, Logs};
use site::{Node, Site};

/// The data from which the effect of any load is calculated.
#[derive(Debug)]
pub(super) struct EffectAtSupply {
    blocks: Vec<std::ops::Range<usize>>,
    /// Present figures of the supply's meter.
    measured: Option<NodeFigures>,
    /// Active power of the supply. (kW)
    active_kw: Option<Vec<f64>>,
    /// Power of the supply, P + jQ. [kW, kvar]
    power: Option<Vec<Complex64>>,
}

impl EffectAtSupply {
    pub(super) fn new(site: &Site, logs: &Logs, standing: &Standing) -> EffectAtSupply {
        let is_logged = standing.based_on() == BasedOn::Logs;
        let blocks = if is_logged {
            complete_blocks(site, standing.starts(), standing.interval_s())
        } else {
            Vec::new()
        };
        let active_kw = active(logs, standing);
        let power = active_kw
            .as_ref()
            .and_then(|active| power(logs, standing, active));
        EffectAtSupply {
            blocks,
            measured: standing.measured(Node::Supply).cloned(),
            active_kw,
            power,
        }
    }

    /// The supply with loads at their turns; without loads, as it is.
    pub(super) fn figures(&self, supply: &Carried, loads: &[(&NewLoad, usize)]) -> SupplyFigures {
        let length = supply.beyond.len();
        let mut phases_a = [0; 3].map(|_| vec![0.0; length]);
        let mut neutral_a = vec![0.0; length];
        let directions = Phase::ALL.map(Phase::direction);
        for interval in 0..length {
            let mut phases = [0, 1, 2].map(|k| supply.phases[k][interval]);
            let mut harmonics = [0.0; 3];
            let mut beyond = supply.beyond[interval];
            for &(load, turn) in loads {
                for position in 0..3 {
                    let more = load.expected.currents.at(position, interval);
                    let k = (position + turn) % 3;
                    phases[k] += more;
                    harmonics[k] += load.third_harmonic * more.norm();
                }
                beyond += load.third_in_neutral_a(interval);
            }
            let sum = (0..3).map(|k| phases[k] * directions[k]).sum::<Complex64>()
                + supply.neutral_alone[interval];
            neutral_a[interval] = (sum.norm_sqr() + beyond * beyond).sqrt();
            for k in 0..3 {
                phases_a[k][interval] = (phases[k].norm_sqr() + harmonics[k] * harmonics[k]).sqrt();
            }
        }
        let most = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
        let rms = |values: &[f64], more: f64| {
            let sum: f64 = values.iter().map(|a| a * a).sum();
            (sum / values.len().max(1) as f64 + more).max(0.0).sqrt()
        };
        let [l1, l2, l3, unresolved] = supply.unresolved_square;
        let more = [l1, l2, l3];
        let phase_rms = [0, 1, 2].map(|k| rms(&phases_a[k], more[k]));
        let mean = phase_rms.iter().sum::<f64>() / 3.0;
        let deviation = phase_rms
            .iter()
            .map(|rms| (rms - mean).abs())
            .fold(0.0, f64::max);
        let block = |values: &[f64]| largest_mean(&self.blocks, |interval| values[interval]);
        SupplyFigures {
            neutral_rms_a: rms(&neutral_a, unresolved),
            neutral_max_a: most(&neutral_a),
            phase_max_a: [0, 1, 2].map(|k| most(&phases_a[k])),
            demand_period_neutral_max_a: block(&neutral_a),
            demand_period_phase_max_a: block(&phases_a[0])
                .zip(block(&phases_a[1]))
                .zip(block(&phases_a[2]))
                .map(|((l1, l2), l3)| [l1, l2, l3]),
            unbalance_pct: (mean > 0.0).then(|| 100.0 * deviation / mean),
        }
    }

    /// Maximum demand with loads or without. [kW, kVA]
    pub(super) fn demand(&self, loads: &[&NewLoad]) -> [Option<f64>; 2] {
        let more = |interval: usize| -> Complex64 {
            loads.iter().map(|load| load.expected_power(interval)).sum()
        };
        let kw = self.active_kw.as_ref().and_then(|base| {
            largest_mean(&self.blocks, |interval| base[interval] + more(interval).re)
        });
        let kva = self.power.as_ref().and_then(|base| {
            let at = |interval: usize| base[interval] + more(interval);
            let means = self.blocks.iter().map(|block| {
                (block.clone().map(at).sum::<Complex64>() / block.len() as f64).norm()
            });
            means.max_by(f64::total_cmp)
        });
        [kw, kva]
    }

    /// The supply now: as measured where it has a meter.
    fn now(&self, supply: &Carried) -> SupplyFigures {
        let computed = self.figures(supply, &[]);
        match &self.measured {
            Some(measured) => SupplyFigures {
                neutral_rms_a: measured.neutral_rms_a,
                neutral_max_a: measured.neutral_max_a,
                phase_max_a: measured.phase_max_a,
                unbalance_pct: measured.current_unbalance_pct,
                ..computed
            },
            None => computed,
        }
    }

    /// Effect of loads at their turns at the supply.
    pub(super) fn effect(&self, supply: &Carried, loads: &[(&NewLoad, usize)]) -> SupplyEffect {
        let (now, with) = (self.now(supply), self.figures(supply, loads));
        let alone: Vec<&NewLoad> = loads.iter().map(|&(load, _)| load).collect();
        SupplyEffect::new([&now, &with], [self.demand(&[]), self.demand(&alone)])
    }
}

/// Active power of the supply's meter on the intervals; `None` where a reading is missing. (kW)
fn active(logs: &Logs, standing: &Standing) -> Option<Vec<f64>> {
    on_intervals(logs, standing, |power| power.power_kw)
}

/// P + jQ likewise. [kW, kvar]
fn power(logs: &Logs, standing: &Standing, active: &[f64]) -> Option<Vec<Complex64>> {
    let reactive = on_intervals(logs, standing, |power| power.reactive_kvar)?;
    let pairs = active.iter().zip(reactive);
    Some(pairs.map(|(&kw, kvar)| Complex64::new(kw, kvar)).collect())
}

fn on_intervals(
    logs: &Logs,
    standing: &Standing,
    series: fn(NetPower<'_>) -> Option<Logged<'_>>,
) -> Option<Vec<f64>> {
    let log = logs.of(standing.main_meter()?)?;
    let values = series(MeterAnalysis::of(log).net_power())?;
    let starts = log.table.starts();
    let row = |start: &i64| starts.binary_search(start).ok();
    standing
        .starts()
        .iter()
        .map(|start| values.get(row(start)?))
        .collect()
}
