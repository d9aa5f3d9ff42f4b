//! Loads that sit on few phases, and load that nothing explains.

use super::outcome::{Diagnosis, Report};
use super::overload;
use super::page::Page;
use super::view::View;
use crate::electrical::Phase;
use crate::finding::{Evidence, Kind, Severity};
use crate::metering::{Logs, phase_phasors};
use crate::site::Quantity;

const BALANCE_SOURCE: &str =
    "shares of the energy and rms currents by definition; thresholds are common practice";
const BALANCE_CAUTION: &str = "Moving a conductor can kill: competent person, isolate, lock off, prove dead; move a circuit's neutral with its line; keep the sequence of three-phase machines; retest and update the board's chart.";
const UNKNOWN_SOURCE: &str =
    "energy balance; utilisation factors are declared, not measured (common practice)";
const UNKNOWN_CAUTION: &str = "The estimates of machines without a meter are part of the difference. Do not search for a hidden load inside live boards.";

pub(super) const BALANCE_PAGE: Page = Page {
    meaning: "One phase carries far more than its share, and the neutral carries the difference. Losses, voltage drop and the risk of an overload grow on that phase.",
    formula: "Energy of each phase over the energy of all (a third would be even), and the neutral's rms current over the mean rms current of the phases.",
    source: BALANCE_SOURCE,
    imitators: "A current transformer with a wrong ratio on one phase; one large single-phase machine that cannot be split.",
    action: "`tapoff balance` proposes which loads to move and proves how good that is.",
    caution: BALANCE_CAUTION,
};

pub(super) const UNKNOWN_PAGE: Page = Page {
    meaning: "The main meter sees more energy than the listed machines and their meters explain: a machine is missing from the list, runs longer than its schedule, or draws more than declared.",
    formula: "Energy of the main meter, less that of machines with a meter, less rating × utilisation factor × scheduled hours of the others; told from 10 % of the main meter's energy.",
    source: UNKNOWN_SOURCE,
    imitators: "Utilisation factors that are declared too low; losses in cables (a few per cent); a reversed current transformer (its magnitude is used here).",
    action: "Compare the remainder at night and at the weekend with what should be off; add offices, kitchens and standby loads to the machine list.",
    caution: UNKNOWN_CAUTION,
};

pub(super) fn check_balance(view: &View<'_>, diagnosis: &mut Diagnosis) {
    let kind = Kind::UnbalancedLoad;
    if view.node().is_none() {
        return;
    }
    let table = view.table();
    let Some(phasors) = phase_phasors(table, view.nominal_v()) else {
        return diagnosis.needs(view, kind, None, "the current of each phase");
    };
    let rms = |values: &mut dyn Iterator<Item = f64>| -> f64 {
        let (sum, count) = values.fold((0.0, 0.0_f64), |(sum, count), value| {
            (sum + value * value, count + 1.0)
        });
        (sum / count.max(1.0)).sqrt()
    };
    let phase_rms =
        [0, 1, 2].map(|k| rms(&mut phasors.series[k].iter().flatten().map(|i| i.norm())));
    let neutral = match table.values(Quantity::NeutralCurrent) {
        Some(series) => rms(&mut series.into_iter().flatten()),
        None => rms(&mut (0..table.len()).filter_map(|row| {
            let sum: Option<num_complex::Complex64> = Phase::ALL
                .iter()
                .map(|phase| Some(phase.direction() * phasors.series[phase.index()][row]?))
                .sum();
            sum.map(num_complex::Complex::norm)
        })),
    };
    // Active current stands for energy: the voltages are alike.
    let energy = [0, 1, 2].map(|k| {
        phasors.series[k]
            .iter()
            .flatten()
            .map(|i| i.re.max(0.0))
            .sum::<f64>()
    });
    let whole: f64 = energy.iter().sum();
    let mean_rms = phase_rms.iter().sum::<f64>() / 3.0;
    if whole <= 0.0 || mean_rms <= 0.0 {
        return diagnosis.needs(view, kind, None, "a load");
    }
    let shares = energy.map(|energy| energy / whole);
    let worst = (0..3)
        .max_by(|&a, &b| shares[a].total_cmp(&shares[b]))
        .unwrap_or(0);
    let ratio = neutral / mean_rms;
    if shares[worst] < view.site.thresholds.largest_share_pct / 100.0
        || ratio < view.site.thresholds.neutral_share_pct / 100.0
    {
        return diagnosis.nothing(view, kind, None);
    }
    let phase = Phase::ALL[worst];
    let report = Report {
        severity: Severity::Notice,
        summary: format!(
            "{phase} carries {:.0} % of the energy; the neutral's rms current is {:.0} % of the mean phase current",
            100.0 * shares[worst],
            100.0 * ratio
        ),
        evidence: Evidence::default()
            .with("energy_share_l1_pct", 100.0 * shares[0])
            .with("energy_share_l2_pct", 100.0 * shares[1])
            .with("energy_share_l3_pct", 100.0 * shares[2])
            .with("neutral_rms_a", neutral)
            .with("phase_rms_l1_a", phase_rms[0])
            .with("phase_rms_l2_a", phase_rms[1])
            .with("phase_rms_l3_a", phase_rms[2]),
        action: "run `tapoff balance` for the moves that help most".to_owned(),
        caution: BALANCE_CAUTION,
        source: BALANCE_SOURCE,
    };
    diagnosis.found(view, kind, Some(phase), report);
}

pub(super) fn check_unknown(view: &View<'_>, logs: &Logs, diagnosis: &mut Diagnosis) {
    let kind = Kind::UnexplainedLoad;
    if !view.is_supply() {
        return;
    }
    let table = view.table();
    let Some(power) = table.values(Quantity::ActivePower(None)) else {
        return diagnosis.needs(view, kind, None, "active power at the supply");
    };
    if view.site.machines.is_empty() {
        return diagnosis.needs(view, kind, None, "a machine list");
    }
    let hours = view.interval_s() as f64 / 3600.0;
    let covered: Vec<(i64, i64)> = table
        .starts()
        .iter()
        .zip(&power)
        .filter(|(_, power)| power.is_some())
        .map(|(&start, _)| (start, start + view.interval_s()))
        .collect();
    let whole: f64 = power.iter().flatten().sum::<f64>() * hours;
    let mut measured = 0.0;
    let mut declared = 0.0;
    for index in 0..view.site.machines.len() {
        let (kwh, is_measured) = overload::energy_kwh(view.site, logs, index, &covered);
        if is_measured {
            measured += kwh;
        } else {
            declared += kwh;
        }
    }
    let unknown = whole - measured - declared;
    if whole <= 0.0 {
        return diagnosis.needs(view, kind, None, "a load");
    }
    let share = unknown / whole;
    if share < view.site.thresholds.unexplained_share_pct / 100.0 {
        return diagnosis.nothing(view, kind, None);
    }
    let report = Report {
        severity: Severity::Notice,
        summary: format!(
            "{unknown:.0} kWh, {:.0} % of the main meter's energy, are explained by no meter and no estimate",
            100.0 * share
        ),
        evidence: Evidence::default()
            .with("main_meter_kwh", whole)
            .with("measured_machines_kwh", measured)
            .with("estimated_machines_kwh", declared)
            .with("unexplained_kwh", unknown)
            .with("unexplained_pct", 100.0 * share),
        action: "look for what runs at night and is not on the machine list; check utilisation factors of the largest machines without a meter".to_owned(),
        caution: UNKNOWN_CAUTION,
        source: UNKNOWN_SOURCE,
    };
    diagnosis.found(view, kind, None, report);
}
