//! Adds up the truth while the simulation runs.

use chrono::{DateTime, NaiveDate, NaiveDateTime, SecondsFormat, TimeDelta, Utc};
use num_complex::Complex64;

use super::calendar::{Calendar, Moment, STEP_H, wall_clock};
use super::channel::SubMeters;
use super::faults::{Faults, JOINT_PHASE, REVERSED, ROLLING};
use super::load::Load;
use super::log::Mean;
use super::network::{Network, Node, SUPPLY_NEUTRAL_OHM, SUPPLY_PHASE_OHM};
use super::source::{LEVEL_V, WANDER_V};
use super::truth::{BoardTruth, FaultTruth, LoadTruth, OverloadDay, SourceTruth, Truth};

/// As in `site.toml`.
const SUPPLY_LIMIT_A: f64 = 100.0;
const BOARDS: [(&str, f64); 2] = [("DB1", 80.0), ("DB2", 63.0)];

/// Rounds for the eye; the figures are exact to far more places.
fn round(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

fn instant(utc: DateTime<Utc>) -> String {
    utc.to_rfc3339_opts(SecondsFormat::Secs, true)
}

#[derive(Default)]
struct Board {
    energy_kwh: f64,
    phase_max_a: [f64; 3],
    minutes_above_limit: [u32; 3],
}

/// Sums of the simulation.
pub(crate) struct Tally {
    names: Vec<(&'static str, bool)>,
    load_kwh: Vec<f64>,
    running_h: Vec<f64>,
    kwh: [f64; 3],
    kvarh: f64,
    gap_kwh: f64,
    gap_rows: u32,
    repeated_rows: u32,
    half_hour: [f64; 2],
    max_demand: (f64, DateTime<Utc>),
    max_demand_kva: f64,
    minute: Mean<11>,
    minute_kwh: f64,
    neutral_squares: f64,
    minutes: u32,
    neutral_max_a: f64,
    phase_max_a: [f64; 3],
    boards: [Board; 2],
    overload: Vec<OverloadDay>,
    coldest: (NaiveDate, f64),
    joint_max_w: f64,
}

impl Tally {
    pub(crate) fn new(loads: &[Load]) -> Self {
        Tally {
            names: loads.iter().map(|load| (load.name, load.listed)).collect(),
            load_kwh: vec![0.0; loads.len()],
            running_h: vec![0.0; loads.len()],
            kwh: [0.0; 3],
            kvarh: 0.0,
            gap_kwh: 0.0,
            gap_rows: 0,
            repeated_rows: 0,
            half_hour: [0.0; 2],
            max_demand: (0.0, DateTime::<Utc>::UNIX_EPOCH),
            max_demand_kva: 0.0,
            minute: Mean::new(),
            minute_kwh: 0.0,
            neutral_squares: 0.0,
            minutes: 0,
            neutral_max_a: 0.0,
            phase_max_a: [0.0; 3],
            boards: [Board::default(), Board::default()],
            overload: Vec::new(),
            coldest: (NaiveDate::MIN, f64::INFINITY),
            joint_max_w: 0.0,
        }
    }

    pub(crate) fn add(
        &mut self,
        moment: &Moment,
        outdoor_c: f64,
        network: &Network,
        loads: &[Load],
        faults: &Faults,
    ) {
        for (n, load) in loads.iter().enumerate() {
            self.load_kwh[n] += load.draw.p.iter().sum::<f64>() * STEP_H / 1000.0;
            if load.is_running() {
                self.running_h[n] += STEP_H;
            }
        }
        let power = network.supply.power();
        for (kwh, s) in self.kwh.iter_mut().zip(power) {
            *kwh += s.re * STEP_H / 1000.0;
        }
        let step: Complex64 = power.iter().sum::<Complex64>() / 1000.0;
        self.kvarh += step.im * STEP_H;
        self.minute_kwh += step.re * STEP_H;
        self.half_hour[0] += step.re * STEP_H;
        self.half_hour[1] += step.im * STEP_H;
        for (board, node) in self.boards.iter_mut().zip([&network.db1, &network.db2]) {
            board.energy_kwh += energy(node);
        }
        let date = moment.local.date();
        if date != self.coldest.0 {
            self.coldest = (date, f64::INFINITY);
        }
        self.coldest.1 = self.coldest.1.min(outdoor_c);

        let [i1, i2, i3] = network.supply.phase_a();
        let [a1, a2, a3] = network.db1.phase_a();
        let [b1, b2, b3] = network.db2.phase_a();
        let joint_w = faults.joint_ohm(moment) * network.supply.current[JOINT_PHASE].norm_sqr();
        let i_n = network.supply.neutral_a();
        self.minute
            .add(&[i1, i2, i3, i_n, a1, a2, a3, b1, b2, b3, joint_w]);
        if let Some(end) = moment.closes(60) {
            self.close_minute(end, faults);
        }
        if let Some(end) = moment.closes(1800) {
            self.close_half_hour(end);
        }
    }

    fn close_minute(&mut self, end: DateTime<Utc>, faults: &Faults) {
        let [i1, i2, i3, i_n, a1, a2, a3, b1, b2, b3, joint_w] = self.minute.take();
        let kwh = std::mem::take(&mut self.minute_kwh);
        let stamp = wall_clock(end);
        self.joint_max_w = self.joint_max_w.max(joint_w);
        for ((board, (_, limit)), phases) in self
            .boards
            .iter_mut()
            .zip(BOARDS)
            .zip([[a1, a2, a3], [b1, b2, b3]])
        {
            for (k, amperes) in phases.into_iter().enumerate() {
                board.phase_max_a[k] = board.phase_max_a[k].max(amperes);
                board.minutes_above_limit[k] += u32::from(amperes > limit);
            }
        }
        if faults.is_lost(stamp) {
            self.gap_kwh += kwh;
            self.gap_rows += 1;
            return;
        }
        self.repeated_rows += u32::from(faults.is_repeated(stamp));
        self.minutes += 1;
        self.neutral_squares += i_n * i_n;
        self.neutral_max_a = self.neutral_max_a.max(i_n);
        for (highest, amperes) in self.phase_max_a.iter_mut().zip([i1, i2, i3]) {
            *highest = highest.max(amperes);
        }
        if i1 > SUPPLY_LIMIT_A {
            self.overloaded(stamp, i1);
        }
    }

    fn overloaded(&mut self, stamp: NaiveDateTime, amperes: f64) {
        let date = stamp.date().to_string();
        if self.overload.last().is_none_or(|day| day.date != date) {
            self.overload.push(OverloadDay {
                date,
                minutes: 0,
                highest_a: 0.0,
                lowest_outdoor_c: round(self.coldest.1),
            });
        }
        if let Some(day) = self.overload.last_mut() {
            day.minutes += 1;
            day.highest_a = day.highest_a.max(round(amperes));
        }
    }

    fn close_half_hour(&mut self, end: DateTime<Utc>) {
        let [kwh, kvarh] = std::mem::take(&mut self.half_hour);
        if kwh * 2.0 > self.max_demand.0 {
            self.max_demand = (kwh * 2.0, end - TimeDelta::minutes(30));
        }
        let kva = (kwh * kwh + kvarh * kvarh).sqrt() * 2.0;
        self.max_demand_kva = self.max_demand_kva.max(kva);
    }

    pub(crate) fn into_truth(
        self,
        faults: &Faults,
        sub_meters: &SubMeters,
        calendar: &Calendar,
    ) -> Truth {
        let loads: Vec<LoadTruth> = self
            .names
            .iter()
            .enumerate()
            .map(|(n, &(name, listed))| LoadTruth {
                name,
                listed,
                metered: sub_meters.measure(name),
                energy_kwh: round(self.load_kwh[n]),
                running_h: round(self.running_h[n]),
            })
            .collect();
        let load_kwh: f64 = self.load_kwh.iter().sum();
        let energy_kwh: f64 = self.kwh.iter().sum();
        let unlisted: f64 = loads
            .iter()
            .filter(|load| !load.listed)
            .map(|load| load.energy_kwh)
            .sum();
        Truth {
            from: instant(calendar.start),
            to: instant(calendar.end),
            energy_kwh: round(energy_kwh),
            energy_kwh_by_phase: self.kwh.map(round),
            reactive_energy_kvarh: round(self.kvarh),
            energy_in_gap_kwh: round(self.gap_kwh),
            max_demand_kw: round(self.max_demand.0),
            max_demand_at: instant(self.max_demand.1),
            max_demand_kva: round(self.max_demand_kva),
            neutral_rms_a: round((self.neutral_squares / f64::from(self.minutes.max(1))).sqrt()),
            neutral_max_a: round(self.neutral_max_a),
            phase_max_a: self.phase_max_a.map(round),
            feeder_loss_kwh: round(energy_kwh - load_kwh),
            unlisted_kwh: round(unlisted),
            loads,
            boards: self
                .boards
                .iter()
                .zip(BOARDS)
                .map(|(board, (id, _))| BoardTruth {
                    id,
                    energy_kwh: round(board.energy_kwh),
                    phase_max_a: board.phase_max_a.map(round),
                    minutes_above_limit: board.minutes_above_limit,
                })
                .collect(),
            overload_days: self.overload,
            source: SourceTruth {
                phase_mohm: SUPPLY_PHASE_OHM.re * 1000.0,
                phase_reactance_mohm: SUPPLY_PHASE_OHM.im * 1000.0,
                neutral_mohm: SUPPLY_NEUTRAL_OHM.re * 1000.0,
                level_v: LEVEL_V,
                wander_v: WANDER_V,
            },
            faults: faults.present.then(|| FaultTruth {
                joint_phase: ["L1", "L2", "L3"][JOINT_PHASE],
                joint_start_mohm: round(faults.joint_after(0.0) * 1000.0),
                joint_end_mohm: round(faults.joint_after(hours(calendar)) * 1000.0),
                joint_trend_mohm_per_week: round(Faults::joint_trend_ohm_per_h() * 168.0 * 1000.0),
                joint_max_w: round(self.joint_max_w),
                reversed_meter_of: REVERSED,
                rolling_register_of: ROLLING,
                rolled_over_at: sub_meters.rolled_over.map(instant),
                gap_first_lost: Faults::gap().0.to_string(),
                gap_last_lost: Faults::gap().1.to_string(),
                gap_rows: self.gap_rows,
                repeated_rows: self.repeated_rows,
            }),
        }
    }
}

fn hours(calendar: &Calendar) -> f64 {
    (calendar.end - calendar.start).num_seconds() as f64 / 3600.0
}

fn energy(node: &Node) -> f64 {
    node.power().iter().map(|s| s.re).sum::<f64>() * STEP_H / 1000.0
}
