//! An invented workshop for the tests: four weeks of one-minute values from plain arithmetic.

use chrono::{DateTime, Datelike, TimeZone, Timelike, Utc, Weekday};
use chrono_tz::Europe::Berlin;
use chrono_tz::Tz;
use num_complex::Complex64;

use super::header::{BoardHeader, ConductorColours, MessageLevel, ReportMessage, SiteHeader};
use crate::balance::{
    BalanceResult, BalanceTrace, Basis, MachineShare, Move, MovesPoint, NodeFigures, NodeResult,
    Objective, PhasorMoment, Proof,
};
use crate::demand::{
    DayEnergy, DemandTrace, EnergyResult, MachineEnergy, MeterEnergy, QualityEntry, Reconciliation,
};
use crate::electrical::Phase;
use crate::site::Connection;

/// Everything that a page is made of.
pub(super) struct Workshop {
    pub(super) header: SiteHeader,
    pub(super) balance: BalanceResult,
    pub(super) energy: EnergyResult,
    pub(super) machines: Vec<MachineEnergy>,
    pub(super) messages: Vec<ReportMessage>,
}

/// Name, amperes, angle (degrees, lagging negative), phase before, phase after, duty.
type Machine = (&'static str, f64, f64, usize, usize, f64);

const MACHINES: [Machine; 26] = [
    ("Panel saw extraction", 13.0, -28.0, 0, 0, 0.55),
    ("Edge bander heater", 21.0, 0.0, 0, 2, 0.70),
    ("Spray booth fan", 11.5, -32.0, 0, 1, 0.50),
    ("Compressor 1 (single-phase)", 14.0, -35.0, 0, 2, 0.60),
    ("Glue kettle", 8.7, 0.0, 0, 0, 0.45),
    ("Drying oven, left", 16.0, 0.0, 0, 1, 0.65),
    ("Drying oven, right", 16.0, 0.0, 0, 0, 0.65),
    ("Router table", 9.6, -30.0, 0, 0, 0.30),
    ("Lighting, bench hall", 10.4, -8.0, 0, 0, 0.95),
    ("Lighting, yard", 7.3, -8.0, 1, 1, 0.90),
    ("Office heating", 13.0, 0.0, 1, 1, 0.60),
    ("Kitchen water heater", 9.1, 0.0, 1, 1, 0.35),
    ("Battery charger, forklift", 15.5, -20.0, 1, 1, 0.55),
    ("Belt sander", 10.0, -31.0, 1, 2, 0.40),
    ("Drill press 1", 4.8, -33.0, 1, 1, 0.25),
    ("Drill press 2", 4.8, -33.0, 1, 1, 0.25),
    ("Server and network", 6.2, -5.0, 1, 1, 1.00),
    ("Mortiser", 7.4, -34.0, 2, 2, 0.25),
    ("Band saw", 12.9, -30.0, 2, 2, 0.35),
    ("Dust monitor", 0.6, 0.0, 2, 2, 1.00),
    ("Veneer press pump", 6.2, -36.0, 2, 2, 0.40),
    ("Label printer", 1.1, -10.0, 2, 2, 0.30),
    ("Vacuum lifter", 5.7, -33.0, 2, 2, 0.30),
    ("Air dryer", 7.1, -25.0, 2, 2, 0.80),
    ("Laser engraver", 6.9, -12.0, 2, 2, 0.30),
    ("Grinding wheel", 5.2, -35.0, 2, 2, 0.20),
];

/// A number from 0 to 1 that looks random and never changes.
fn noise(seed: u64) -> f64 {
    let mut x = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15);
    x ^= x >> 29;
    x = x.wrapping_mul(0xBF58_476D_1CE4_E5B9);
    x ^= x >> 32;
    (x % 100_000) as f64 / 100_000.0
}

fn at_work(time: DateTime<Tz>) -> f64 {
    let hour = f64::from(time.num_seconds_from_midnight()) / 3600.0;
    match time.weekday() {
        Weekday::Sun => 0.0,
        Weekday::Sat => if (8.0..12.5).contains(&hour) { 0.45 } else { 0.0 },
        _ if (12.0..12.6).contains(&hour) => 0.35,
        _ if (7.0..16.5).contains(&hour) => 1.0,
        _ => 0.0,
    }
}

/// Current of a machine in a minute.
fn current(number: usize, start_s: i64, work: f64) -> f64 {
    let (_, amps, _, _, _, duty) = MACHINES[number];
    let always = duty >= 0.95;
    let slow = noise(number as u64 * 7_907 + (start_s / 1_200) as u64);
    let fast = noise(number as u64 * 104_729 + (start_s / 60) as u64);
    let on = if always { work.max(0.25) } else { f64::from(slow < duty * work) };
    let standby = if always { 0.0 } else { amps * 0.012 };
    (amps * on * (0.72 + 0.28 * fast)).max(standby)
}

pub(super) fn workshop() -> Workshop {
    let from = Berlin.with_ymd_and_hms(2026, 3, 2, 0, 0, 0).single().expect("a time").to_utc();
    let to = Berlin.with_ymd_and_hms(2026, 3, 30, 0, 0, 0).single().expect("a time").to_utc();
    let start_s: Vec<i64> = (from.timestamp()..to.timestamp()).step_by(60).collect();
    let mut load = Load::new(start_s.len());
    for (position, &start) in start_s.iter().enumerate() {
        let time = DateTime::from_timestamp(start, 0).expect("a time").with_timezone(&Berlin);
        load.add(position, start, at_work(time));
    }
    let header = header();
    let balance = load.balance(&header, start_s.clone(), from, to);
    let machines = balance
        .machines
        .iter()
        .map(|share| MachineEnergy {
            machine: share.machine.clone(),
            energy_kwh: share.energy_kwh,
            basis: share.basis,
        })
        .collect();
    let energy = energy(&load, &start_s, from, to);
    let message = |level, text: &str| ReportMessage { level, text: text.to_owned() };
    let messages = vec![
        message(MessageLevel::Note, "meter `main`: 14 intervals without readings on 12 Mar 2026"),
        message(MessageLevel::Warning, "machines.csv, line 9: `Router table` has no power factor; 1 is taken"),
    ];
    Workshop { header, balance, energy, machines, messages }
}

fn header() -> SiteHeader {
    let board = |id: &str, fed_from: &str, amps| BoardHeader {
        id: id.to_owned(),
        fed_from: fed_from.to_owned(),
        phase_limit_a: Some(amps),
        neutral_limit_a: Some(amps),
    };
    SiteHeader {
        name: "Lindenhof Joinery".to_owned(),
        timezone: Berlin,
        line_voltage_v: 400.0,
        phase_limit_a: 100.0,
        neutral_limit_a: 100.0,
        boards: vec![board("DB1", "supply", 80.0), board("DB2", "DB1", 63.0)],
        conductor_colours: ConductorColours {
            phases: ["brown", "black", "grey"].map(|word| Some(word.to_owned())),
            neutral: Some("blue".to_owned()),
        },
        currency: Some("EUR".to_owned()),
    }
}

struct Load {
    before: [Vec<Complex64>; 3],
    after: [Vec<Complex64>; 3],
    watts: Vec<f64>,
    vars: Vec<f64>,
    machine: Vec<(f64, f64, f64)>,
}

impl Load {
    fn new(count: usize) -> Load {
        let zeros = || [0; 3].map(|_| vec![Complex64::ZERO; count]);
        Load {
            before: zeros(),
            after: zeros(),
            watts: vec![0.0; count],
            vars: vec![0.0; count],
            machine: vec![(0.0, 0.0, 0.0); MACHINES.len()],
        }
    }

    fn add(&mut self, position: usize, start_s: i64, work: f64) {
        for (number, &(_, _, angle, before, after, _)) in MACHINES.iter().enumerate() {
            let amps = current(number, start_s, work);
            let own = Complex64::from_polar(amps, f64::to_radians(angle));
            self.before[before][position] += own * Phase::ALL[before].direction();
            self.after[after][position] += own * Phase::ALL[after].direction();
            self.watts[position] += 230.9 * own.re;
            self.vars[position] -= 230.9 * own.im;
            let (squares, most, kwh) = &mut self.machine[number];
            *squares += amps * amps;
            *most = most.max(amps);
            *kwh += 230.9 * own.re / 60_000.0;
        }
    }

    fn balance(
        &self,
        header: &SiteHeader,
        start_s: Vec<i64>,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
    ) -> BalanceResult {
        let count = start_s.len();
        let (before, after) = (figures(&self.before, header), figures(&self.after, header));
        let moves: Vec<Move> = MACHINES
            .iter()
            .filter(|machine| machine.3 != machine.4)
            .map(|machine| Move { machine: machine.0.to_owned(), from: on(machine.3), to: on(machine.4) })
            .collect();
        let machines = MACHINES.iter().zip(&self.machine).enumerate();
        let machines: Vec<MachineShare> = machines
            .map(|(number, (machine, &(squares, most, kwh)))| MachineShare {
                machine: machine.0.to_owned(),
                from: on(machine.3),
                to: on(machine.4),
                movable: number % 9 != 8,
                basis: [Basis::Estimated, Basis::Measured, Basis::Declared][number * number % 3],
                energy_kwh: kwh,
                current_rms_a: (squares / count as f64).sqrt(),
                current_max_a: most,
            })
            .collect();
        let neutral = |phases: &[Vec<Complex64>; 3]| -> Vec<f64> {
            (0..count).map(|n| (phases[0][n] + phases[1][n] + phases[2][n]).norm()).collect()
        };
        let (neutral_before, neutral_after) = (neutral(&self.before), neutral(&self.after));
        let worst = (0..count).max_by(|&a, &b| neutral_before[a].total_cmp(&neutral_before[b]));
        let worst = worst.expect("there are intervals");
        let moment = |phases: &[Vec<Complex64>; 3], beyond| PhasorMoment {
            at: DateTime::from_timestamp(start_s[worst], 0).expect("a time"),
            phases: [0, 1, 2].map(|phase| phases[phase][worst]),
            neutral: phases[0][worst] + phases[1][worst] + phases[2][worst],
            neutral_beyond_phasors_a: beyond,
        };
        let steps = moves.len();
        let curve = (0..=steps).map(|n| MovesPoint {
            moves: n,
            neutral_rms_a: after.neutral_rms_a
                + (before.neutral_rms_a - after.neutral_rms_a)
                    * ((steps - n) as f64 / steps as f64).powi(2),
            proof: if n < 4 { Proof::Optimal } else { Proof::Gap },
        });
        let node = |id: &str, share: f64| NodeResult {
            id: id.to_owned(),
            before: Some(scaled(&before, share)),
            after: scaled(&after, share),
        };
        BalanceResult {
            objective: Objective::NeutralRms,
            intervals: count,
            interval_s: 60,
            from,
            to,
            lower_bound_neutral_rms_a: Some(after.neutral_rms_a * 0.96),
            gap_pct: Some(4.0),
            proof: Proof::Gap,
            assignment: MACHINES.iter().map(|m| (m.0.to_owned(), on(m.4))).collect(),
            moves,
            moves_curve: curve.collect(),
            nodes: vec![node("supply", 1.0), node("DB1", 0.8), node("DB2", 0.3)],
            machines,
            notes: vec!["8 machines have no meter; their profile is estimated from the schedule.".to_owned()],
            trace: BalanceTrace {
                interval_s: 60,
                phase_before_a: Some(magnitudes(&self.before)),
                phase_after_a: magnitudes(&self.after),
                worst_before: Some(moment(&self.before, 2.3)),
                worst_after: moment(&self.after, 2.3),
                neutral_before_a: Some(neutral_before),
                neutral_after_a: neutral_after,
                start_s,
            },
            before: Some(before),
            after,
        }
    }
}

fn on(phase: usize) -> Connection {
    Connection::ToNeutral(Phase::ALL[phase])
}

fn magnitudes(phases: &[Vec<Complex64>; 3]) -> [Vec<f64>; 3] {
    [0, 1, 2].map(|phase| phases[phase].iter().map(|phasor| phasor.norm()).collect())
}

fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|value| value * value).sum::<f64>() / values.len() as f64).sqrt()
}

fn figures(phases: &[Vec<Complex64>; 3], header: &SiteHeader) -> NodeFigures {
    let amps = magnitudes(phases);
    let mut neutral: Vec<f64> = (0..phases[0].len())
        .map(|n| (phases[0][n] + phases[1][n] + phases[2][n]).norm())
        .collect();
    let neutral_rms_a = rms(&neutral);
    neutral.sort_by(f64::total_cmp);
    NodeFigures {
        neutral_rms_a,
        neutral_p95_a: neutral[neutral.len() * 95 / 100],
        neutral_max_a: neutral[neutral.len() - 1],
        phase_max_a: [0, 1, 2].map(|phase| amps[phase].iter().copied().fold(0.0, f64::max)),
        phase_rms_a: [0, 1, 2].map(|phase| rms(&amps[phase])),
        current_unbalance_pct: Some(40.0),
        intervals_over_limit: [0, 1, 2]
            .map(|phase| amps[phase].iter().filter(|&&a| a > header.phase_limit_a).count()),
    }
}

fn scaled(figures: &NodeFigures, share: f64) -> NodeFigures {
    NodeFigures {
        neutral_rms_a: figures.neutral_rms_a * share,
        neutral_p95_a: figures.neutral_p95_a * share,
        neutral_max_a: figures.neutral_max_a * share,
        phase_max_a: figures.phase_max_a.map(|amps| amps * share),
        phase_rms_a: figures.phase_rms_a.map(|amps| amps * share),
        ..figures.clone()
    }
}

fn energy(load: &Load, start_s: &[i64], from: DateTime<Utc>, to: DateTime<Utc>) -> EnergyResult {
    let block_kw: Vec<f64> =
        load.watts.chunks(30).map(|block| block.iter().sum::<f64>() / 30_000.0).collect();
    let most = (0..block_kw.len()).max_by(|&a, &b| block_kw[a].total_cmp(&block_kw[b]));
    let most = most.expect("there are blocks");
    let kwh = load.watts.iter().sum::<f64>() / 60_000.0;
    let kvarh = load.vars.iter().sum::<f64>() / 60_000.0;
    let hours = start_s.len() as f64 / 60.0;
    let at = DateTime::from_timestamp(start_s[most * 30], 0).expect("a time").with_timezone(&Berlin);
    let main = MeterEnergy {
        id: "main".to_owned(),
        measures: "supply".to_owned(),
        from,
        to,
        interval_s: 60,
        intervals: start_s.len() - 14,
        energy_kwh: Some(kwh),
        energy_kwh_by_phase: Some([kwh * 0.47, kwh * 0.31, kwh * 0.22]),
        register_energy_kwh: Some(kwh * 1.001),
        reactive_energy_import_kvarh: Some(kvarh),
        reactive_energy_export_kvarh: None,
        max_demand_kw: Some(block_kw[most]),
        max_demand_at: Some(at.fixed_offset()),
        max_demand_kva: Some(block_kw[most] * 1.05),
        demand_window_min: 30,
        load_factor: Some(kwh / hours / block_kw[most]),
        power_factor: Some(kwh / kwh.hypot(kvarh)),
        neutral_rms_a: Some(23.4),
        neutral_max_a: Some(74.5),
        neutral_computed_rms_a: Some(23.1),
        neutral_sample_max_a: None,
        phase_rms_a: Some([41.0, 25.0, 17.0]),
        phase_max_a: Some([104.0, 60.0, 47.0]),
        current_unbalance_mean_pct: Some(44.2),
        current_unbalance_p95_pct: Some(97.0),
        voltage_unbalance_p95_pct: None,
        coverage_pct: 99.97,
        quality: vec![QualityEntry {
            kind: "gap".to_owned(),
            count: 14,
            first: Some(from + chrono::TimeDelta::days(10)),
            last: Some(from + chrono::TimeDelta::minutes(14_414)),
            note: "Intervals without readings; they are left out of every mean.".to_owned(),
        }],
        trace: trace(load, start_s, block_kw),
    };
    let oven = MeterEnergy {
        id: "oven".to_owned(),
        measures: "Drying oven, left".to_owned(),
        energy_kwh: Some(kwh * 0.11),
        energy_kwh_by_phase: None,
        max_demand_kw: Some(3.6),
        neutral_rms_a: None,
        power_factor: Some(1.0),
        max_demand_kva: None,
        quality: Vec::new(),
        trace: DemandTrace::default(),
        ..main.clone()
    };
    EnergyResult {
        meters: vec![main, oven],
        reconciliation: vec![Reconciliation {
            main: "main".to_owned(),
            submeters: vec!["oven".to_owned()],
            unmetered_kwh: kwh * 0.89,
            unmetered_pct: Some(89.0),
        }],
        cost: None,
        notes: vec!["Reactive energy is taken as lagging: the meter logs no sign.".to_owned()],
    }
}

fn trace(load: &Load, start_s: &[i64], block_kw: Vec<f64>) -> DemandTrace {
    let mut sums = [[(0.0, 0.0); 96]; 2];
    let mut highest = [0.0_f64; 96];
    let mut days: Vec<DayEnergy> = Vec::new();
    for (position, watts) in load.watts.chunks(15).enumerate() {
        let kw = watts.iter().sum::<f64>() / watts.len() as f64 / 1000.0;
        let time = DateTime::from_timestamp(start_s[position * 15], 0).expect("a time");
        let time = time.with_timezone(&Berlin);
        let slot = (time.num_seconds_from_midnight() / 900) as usize;
        let weekend = usize::from(matches!(time.weekday(), Weekday::Sat | Weekday::Sun));
        sums[weekend][slot].0 += kw;
        sums[weekend][slot].1 += 1.0;
        highest[slot] = highest[slot].max(kw);
        let date = time.date_naive().to_string();
        match days.last_mut() {
            Some(day) if day.date == date => day.energy_kwh += kw / 4.0,
            _ => days.push(DayEnergy { complete: date != "2026-03-12", date, energy_kwh: kw / 4.0 }),
        }
    }
    let means = |sums: &[(f64, f64); 96]| sums.iter().map(|&(sum, n)| Some(sum / n)).collect();
    DemandTrace {
        block_start_s: start_s.iter().copied().step_by(30).collect(),
        block_kw,
        weekday_profile_kw: means(&sums[0]),
        weekend_profile_kw: means(&sums[1]),
        highest_profile_kw: highest.iter().map(|&kw| Some(kw)).collect(),
        days,
    }
}
