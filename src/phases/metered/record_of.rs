//! From the logs below a metered place to a record.

use std::collections::BTreeMap;

use super::blocks::{Count, Counted, runs};
use super::nodes::{NodeWithLog, common_length, length_of};
use crate::changes::{PowerRecord, RecordedLoad, TrialConnection};
use crate::options::{LoadOptions, lag_of, shares_of};
use electrical::Phase;
use metering::{IntervalTable, Logs};
use site::{Connection, Quantity, Site};

/// Accuracy class of a meter that declares none. Common practice: sub-meters of class 1 on transformers of class 1. (%)
const UNKNOWN_CLASS_PCT: f64 = 2.0;
/// How unevenly a three-phase machine draws, a standard deviation of one phase. Common practice. (1)
const UNEVEN: f64 = 0.15;
/// Reactive power is compared as well up to so many intervals; beyond, active power suffices.
const REACTIVE_ROWS: usize = 50_000;
/// Loads are left out, those with the fewest readings first, until so much of the time is left. (1)
const LEAST_TIME: f64 = 0.5;

/// Whose a load of the record is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum JudgedRecord {
    /// Machines that are on the same phase.
    Machines(Vec<usize>),
    /// A phase that is known: of a board below, or of a three-phase machine.
    KnownPhase,
}

/// A load on the common count before it is known which rows stay.
struct GatheredRows {
    judged: JudgedRecord,
    series: Vec<Counted>,
    connections: Vec<TrialConnection>,
    gain_error: f64,
    own_clock: bool,
}

/// The record of a place, and whose its loads are; `known` are the probabilities that shorter intervals gave.
pub(crate) fn record_at(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
    node: &NodeWithLog,
    interval_s: i64,
    known: &BTreeMap<usize, Vec<f64>>,
) -> Option<(PowerRecord, Vec<JudgedRecord>)> {
    let above = logs.of(node.meter)?;
    let table = &above.table;
    let since = site
        .works
        .last()
        .map_or(i64::MIN, |work| work.done.timestamp());
    let from_s = table.starts().iter().copied().find(|&at| at >= since)?;
    let from_s = from_s.div_euclid(interval_s) * interval_s;
    let to_s = table.starts().last()? + i64::from(table.interval_s());
    let count = Count {
        from_s,
        length_s: interval_s,
        len: usize::try_from((to_s - from_s).div_euclid(interval_s)).ok()?,
    };
    let reactive = table.by_phase(|phase| Quantity::ReactivePower(Some(phase)));
    let reactive = reactive.filter(|_| count.len <= REACTIVE_ROWS);
    let own_s = i64::from(table.interval_s());
    let active = table.by_phase(|phase| Quantity::ActivePower(Some(phase)));
    let mut supply: Vec<Counted> = if let Some(active) = active {
        active
            .iter()
            .map(|phase| count.means(table.starts(), own_s, phase.iter()))
            .collect()
    } else {
        // Only currents are logged: at nominal voltage.
        let volts = site.supply.phase_voltage_v();
        let phasors = above.phasors()?;
        let kw = |k: usize| {
            let amps = phasors.series[k].iter();
            amps.map(move |amps| amps.map(|amps| amps.re * volts / 1000.0))
        };
        (0..3)
            .map(|k| count.means(table.starts(), own_s, kw(k)))
            .collect()
    };
    if let Some(reactive) = &reactive {
        let kvar = reactive.iter();
        supply.extend(kvar.map(|phase| count.means(table.starts(), own_s, phase.iter())));
    }
    let place = ComparedPlace {
        site,
        logs,
        node,
        count,
        channels: supply.len(),
    };
    let mut loads = place.machines(options, known);
    loads.extend(place.boards_below());
    let rows = rows_of(&supply, &mut loads);
    let judged = loads.iter().map(|load| load.judged.clone()).collect();
    let record = PowerRecord {
        step_s: interval_s as f64,
        runs: runs(&rows),
        supply: supply.iter().map(|channel| channel.of(&rows)).collect(),
        loads: loads
            .into_iter()
            .map(|load| RecordedLoad {
                series: load.series.iter().map(|series| series.of(&rows)).collect(),
                connections: load.connections,
                gain_error: load.gain_error,
                own_clock: load.own_clock,
            })
            .collect(),
    };
    Some((record, judged))
}

/// Rows that all have; loads that would cost most of the time are left out.
fn rows_of(supply: &[Counted], loads: &mut Vec<GatheredRows>) -> Vec<usize> {
    let len = supply.first().map_or(0, |channel| channel.known.len());
    let base: Vec<usize> = (0..len)
        .filter(|&row| supply.iter().all(|channel| channel.known[row]))
        .collect();
    loop {
        let has = |load: &GatheredRows, row: usize| load.series.iter().all(|one| one.known[row]);
        let rows: Vec<usize> = base
            .iter()
            .copied()
            .filter(|&row| loads.iter().all(|load| has(load, row)))
            .collect();
        if rows.len() as f64 >= LEAST_TIME * base.len() as f64 || loads.is_empty() {
            return rows;
        }
        let missing = |load: &GatheredRows| base.iter().filter(|&&row| !has(load, row)).count();
        let counts: Vec<usize> = loads.iter().map(missing).collect();
        let worst = (0..counts.len()).max_by_key(|&at| counts[at]).unwrap_or(0);
        loads.remove(worst);
    }
}

struct ComparedPlace<'s> {
    site: &'s Site,
    logs: &'s Logs,
    node: &'s NodeWithLog,
    count: Count,
    channels: usize,
}

impl ComparedPlace<'_> {
    /// The machines, those of one circuit of one or two phases together.
    fn machines(
        &self,
        options: &[Option<LoadOptions>],
        known: &BTreeMap<usize, Vec<f64>>,
    ) -> Vec<GatheredRows> {
        let mut gathered: Vec<GatheredRows> = Vec::new();
        let mut by_circuit: BTreeMap<usize, usize> = BTreeMap::new();
        for &machine in &self.node.machines {
            let length = length_of(self.site, self.logs, self.node, machine);
            if length.is_none_or(|length| self.count.length_s % length != 0) {
                continue;
            }
            let Some(own) = &options[machine] else {
                gathered.extend(self.three_phase(machine));
                continue;
            };
            let Some(series) = self.series(machine) else {
                continue;
            };
            let lag = lag_of(&self.site.machines[machine]);
            let has_reactive = series.len() > 1;
            let shares = |connection: Connection| {
                shares_of(connection, (!has_reactive).then_some(lag), self.channels)
            };
            if let Some(&first) = own.circuit.and_then(|circuit| by_circuit.get(&circuit)) {
                let together: &mut GatheredRows = &mut gathered[first];
                for (trial, &connection) in together.connections.iter_mut().zip(&own.connections) {
                    trial.shares.extend(shares(connection));
                }
                together.series.extend(series);
                if let JudgedRecord::Machines(machines) = &mut together.judged {
                    machines.push(machine);
                }
                continue;
            }
            if let Some(circuit) = own.circuit {
                by_circuit.insert(circuit, gathered.len());
            }
            let priors = known.get(&machine).unwrap_or(&own.priors);
            gathered.push(GatheredRows {
                judged: JudgedRecord::Machines(vec![machine]),
                series,
                connections: own
                    .connections
                    .iter()
                    .zip(priors)
                    .map(|(&connection, &prior)| TrialConnection {
                        prior: prior.max(1e-12),
                        shares: shares(connection),
                    })
                    .collect(),
                gain_error: self.gain_error(machine),
                own_clock: self.own_clock(self.site.machine_meter(machine)),
            });
        }
        gathered
    }

    /// Active power of a machine, and its reactive power where it is logged and compared.
    fn series(&self, machine: usize) -> Option<Vec<Counted>> {
        let log = self.logs.of(self.site.machine_meter(machine)?)?;
        let table = &log.table;
        let total = sum_of(table, Quantity::ActivePower)?;
        let sign = self.sign_of(machine, &total);
        let mut series = vec![self.counted(table, &total, sign)];
        if self.channels > 3
            && let Some(reactive) = sum_of(table, Quantity::ReactivePower)
        {
            series.push(self.counted(table, &reactive, sign));
        }
        Some(series)
    }

    /// A reversed transformer shows a load's power as negative; a generator's own meter may count what it makes as positive.
    fn sign_of(&self, machine: usize, total: &[Option<f64>]) -> f64 {
        let known: f64 = total.iter().flatten().sum();
        if known * self.site.machines[machine].flow() < 0.0 {
            -1.0
        } else {
            1.0
        }
    }

    fn counted(&self, table: &IntervalTable, values: &[Option<f64>], sign: f64) -> Counted {
        let signed = values.iter().map(|value| value.map(|value| sign * value));
        self.count
            .means(table.starts(), i64::from(table.interval_s()), signed)
            .bridged()
    }

    /// A three-phase machine: a load on each phase, whose share is its own where only the sum is logged.
    fn three_phase(&self, machine: usize) -> Vec<GatheredRows> {
        let Some(meter) = self.site.machine_meter(machine) else {
            return Vec::new();
        };
        let Some(log) = self.logs.of(meter) else {
            return Vec::new();
        };
        let Some(total) = sum_of(&log.table, Quantity::ActivePower) else {
            return Vec::new();
        };
        let sign = self.sign_of(machine, &total);
        if let Some(phases) = self.phases_of(meter, sign) {
            return phases;
        }
        let third = self.counted(&log.table, &total, sign / 3.0);
        (0..3)
            .map(|k| self.known_phase(third.clone(), k, UNEVEN, meter))
            .collect()
    }

    /// The three phases of a meter, each a load whose phase is known; `None` where it does not log them.
    fn phases_of(&self, meter: usize, sign: f64) -> Option<Vec<GatheredRows>> {
        let table = &self.logs.of(meter)?.table;
        let active = table.by_phase(|phase| Quantity::ActivePower(Some(phase)))?;
        let gain_error = self.meter_error(meter);
        Some(
            active
                .iter()
                .enumerate()
                .map(|(k, phase)| {
                    let values = phase.to_vec();
                    self.known_phase(self.counted(table, &values, sign), k, gain_error, meter)
                })
                .collect(),
        )
    }

    fn known_phase(
        &self,
        series: Counted,
        k: usize,
        gain_error: f64,
        meter: usize,
    ) -> GatheredRows {
        GatheredRows {
            judged: JudgedRecord::KnownPhase,
            series: vec![series],
            connections: vec![TrialConnection {
                prior: 1.0,
                shares: shares_of(Connection::ToNeutral(Phase::ALL[k]), None, self.channels)[..1]
                    .to_vec(),
            }],
            gain_error,
            own_clock: self.own_clock(Some(meter)),
        }
    }

    /// Boards below with meters of their own.
    fn boards_below(&self) -> Vec<GatheredRows> {
        let here = |&&meter: &&usize| {
            let below = self.logs.of(meter);
            let above = self.logs.of(self.node.meter);
            below.zip(above).is_some_and(|(below, above)| {
                self.count.length_s % common_length(&below.table, &above.table) == 0
            })
        };
        let meters = self.node.below.iter().filter(here);
        meters
            .filter_map(|&meter| self.phases_of(meter, 1.0))
            .flatten()
            .collect()
    }

    fn meter_error(&self, meter: usize) -> f64 {
        self.site.meters[meter]
            .class_pct
            .unwrap_or(UNKNOWN_CLASS_PCT)
            / 100.0
    }

    fn gain_error(&self, machine: usize) -> f64 {
        let own = self.site.machine_meter(machine);
        let own = own.map_or(UNKNOWN_CLASS_PCT / 100.0, |meter| self.meter_error(meter));
        own.hypot(self.meter_error(self.node.meter))
    }

    /// Columns of one log have one clock.
    fn own_clock(&self, meter: Option<usize>) -> bool {
        meter.is_some_and(|meter| {
            self.site.meters[meter].files != self.site.meters[self.node.meter].files
        })
    }
}

/// A power of a log in total, the sum of the phases that it has where no total is logged.
fn sum_of(
    table: &IntervalTable,
    quantity: impl Fn(Option<Phase>) -> Quantity,
) -> Option<Vec<Option<f64>>> {
    if let Some(total) = table.values(quantity(None)) {
        return Some(total.to_vec());
    }
    let phases: Vec<_> = Phase::ALL
        .into_iter()
        .filter_map(|phase| table.values(quantity(Some(phase))))
        .collect();
    let len = phases.first()?.len();
    Some(
        (0..len)
            .map(|row| phases.iter().map(|phase| phase.get(row)).sum())
            .collect(),
    )
}
