//! Load that the meters see and the list lacks, and load that the list has and the meters do not see.

use super::hours_of_week::HoursOfWeek;
use super::machine_power::{declared_kw, machine_power};
use super::outcome::{Diagnosis, Report};
use super::page::Page;
use super::view::{Series, View};
use electrical::Phase;
use finding::{Evidence, Kind, Severity};
use metering::{IntervalTable, Logged, Logs};
use site::{Connection, Quantity, Site};
use units::percent_of;

const KIND: Kind = Kind::ListMismatch;
const SOURCE: &str =
    "energy balance; utilisation factors come from the list and are not measured (common practice)";
const CAUTION: &str = "The difference includes the error of the estimates for machines without a meter. Do not search for an unlisted load inside live boards.";
/// By how much utilisation factors of a list are off without being wrong. Common practice. (1)
const FACTOR_OFF: f64 = 0.3;
/// By how much the power of a machine differs from its rating. Common practice. (1)
const RATING_OFF: f64 = 0.2;

pub(super) const PAGE: Page = Page {
    meaning: "The main meter and the machine list disagree. It shows more energy than the listed machines explain: a machine is missing from the list, runs longer than its schedule, or draws more than the list gives. Or it shows less: a listed machine is gone, seldom runs, or draws less than the list gives. The finding gives days, hours and energy.",
    formula: "\
Power of the main meter, less that of machines with a meter, less rating × utilisation factor of the others during
their schedules: the mean in each of the 168 hours of the local week. Hours above zero add up to the load that is missing
from the list, hours below zero to the listed load that the meters do not show. Utilisation factors 30 % and ratings 20 %
off explain, in each hour, up to 1.3·1.2 − 1 = 56 % of the estimates above zero and 1 − 0.7·0.8 = 44 % below. Either sum
is a finding where what they do not explain comes to 10 % of the main meter's energy (`unexplained_share_pct`). Its times
are the hours with at least half the power of the largest hour.",
    source: SOURCE,
    imitators: "Utilisation factors too low or too high in the list; schedules wrong by an hour; losses in cables (a few per cent).",
    action: "Walk round at these hours with the machine list and a clamp meter. For load missing from the list, look at offices, kitchens, standby and heating. For listed load that the meters do not show, check that the machine is still there and that its schedule is right.",
    caution: CAUTION,
};

/// Power of a machine at the start of each interval of another table. (kW)
fn at_starts(table: &IntervalTable, starts: &[i64]) -> Option<Series> {
    let power = machine_power(table)?;
    let own = table.starts();
    let length = i64::from(table.interval_s());
    let series = starts.iter().map(|&start| {
        let row = own
            .partition_point(|&begin| begin <= start)
            .checked_sub(1)?;
        power.get(row).filter(|_| start < own[row] + length)
    });
    Some(series.collect())
}

/// The listed machines, and the main meter less all of them.
struct ListBalance {
    left: Series,
    left_on: [Series; 3],
    measured_kwh: f64,
    declared_kwh: f64,
    /// Estimates for machines without a meter. (kW)
    declared_kw: Series,
    /// Declared energy of each machine without a meter, largest first. (kWh)
    declared: Vec<(f64, usize)>,
}

impl ListBalance {
    fn of(view: &View<'_>, logs: &Logs, power: Logged<'_>) -> ListBalance {
        let site = view.site;
        let starts = view.table().starts();
        let (step, hours) = (view.interval_s(), view.interval_s() as f64 / 3600.0);
        let none: Series = vec![None; power.len()];
        let on = |phase| view.table().values(Quantity::ActivePower(Some(phase)));
        let mut balance = ListBalance {
            left: power.to_vec(),
            left_on: Phase::ALL.map(|phase| on(phase).map_or_else(|| none.clone(), Logged::to_vec)),
            measured_kwh: 0.0,
            declared_kwh: 0.0,
            declared_kw: vec![Some(0.0); power.len()],
            declared: Vec::new(),
        };
        for index in 0..site.machines.len() {
            let machine = &site.machines[index];
            let log = site.machine_meter(index).and_then(|meter| logs.of(meter));
            let measured = log.and_then(|log| at_starts(&log.table, starts));
            let mut sums = (0.0, 0.0);
            for (row, &start) in starts.iter().enumerate() {
                if power.get(row).is_none() {
                    continue;
                }
                let read = measured.as_ref().and_then(|series| series[row]);
                let kw = read.unwrap_or_else(|| declared_kw(site, machine, (start, start + step)));
                let sum = if read.is_some() {
                    &mut sums.0
                } else {
                    &mut sums.1
                };
                *sum += kw * hours;
                if let (None, Some(declared)) = (read, &mut balance.declared_kw[row]) {
                    *declared += kw;
                }
                balance.take(site, index, row, kw);
            }
            balance.measured_kwh += sums.0;
            balance.declared_kwh += sums.1;
            if sums.1 > sums.0 {
                balance.declared.push((sums.1, index));
            }
        }
        balance
            .declared
            .sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        balance
    }

    fn take(&mut self, site: &Site, index: usize, row: usize, kw: f64) {
        let machine = &site.machines[index];
        let loaded: Vec<Phase> = Phase::ALL
            .into_iter()
            .filter(|&phase| machine.loads(phase))
            .collect();
        if let Some(left) = &mut self.left[row] {
            *left -= kw;
        }
        if matches!(
            machine.connection,
            Connection::Any | Connection::AnyPair | Connection::Unknown
        ) {
            return;
        }
        for phase in &loaded {
            if let Some(left) = &mut self.left_on[phase.index()][row] {
                *left -= kw / loaded.len() as f64;
            }
        }
    }
}

pub(super) fn check(view: &View<'_>, logs: &Logs, diagnosis: &mut Diagnosis) {
    if !view.is_supply() {
        return;
    }
    let Some(power) = view.table().values(Quantity::ActivePower(None)) else {
        return diagnosis.needs(view, KIND, None, "active power at the supply");
    };
    if view.site.machines.is_empty() {
        return diagnosis.needs(view, KIND, None, "a machine list");
    }
    let whole = power.iter().flatten().sum::<f64>() * view.interval_s() as f64 / 3600.0;
    if whole <= 0.0 {
        return diagnosis.needs(view, KIND, None, "a load");
    }
    let balance = ListBalance::of(view, logs, power);
    let week = HoursOfWeek::of(view, &balance.left);
    let estimates = HoursOfWeek::of(view, &balance.declared_kw);
    let threshold = view.site.thresholds.unexplained_share_pct / 100.0;
    let mut found = false;
    for sign in [1.0, -1.0] {
        let share_off = sign * ((1.0 + sign * FACTOR_OFF) * (1.0 + sign * RATING_OFF) - 1.0);
        let beyond = week.energy_beyond(sign, share_off, &estimates);
        if beyond >= threshold * whole
            && let Some(most) = week.most(sign)
        {
            let energy = (week.energy(sign), beyond, whole);
            let report = report(view, sign, energy, &balance, &week, most);
            diagnosis.found(view, KIND, None, report);
            found = true;
        }
    }
    if !found {
        diagnosis.nothing(view, KIND, None);
    }
}

fn report(
    view: &View<'_>,
    sign: f64,
    (energy, beyond, whole): (f64, f64, f64),
    balance: &ListBalance,
    week: &HoursOfWeek,
    (time, mean_kw): (String, f64),
) -> Report {
    let share = percent_of(energy, whole);
    let of_meter = share.map_or_else(String::new, |share| {
        format!(" ({share:.0} % of the main meter's energy)")
    });
    let lacking = sign > 0.0;
    let summary = if lacking {
        format!(
            "{energy:.0} kWh{of_meter} are not on the machine list, mostly {time}: {mean_kw:.1} kW on average"
        )
    } else {
        format!(
            "{energy:.0} kWh of listed machines{of_meter} do not show in the meters, mostly {time}: {mean_kw:.1} kW on average"
        )
    };
    let of_phase = |phase: Phase| -> Option<f64> {
        let left = &balance.left_on[phase.index()];
        left.iter()
            .any(Option::is_some)
            .then(|| HoursOfWeek::of(view, left).energy(sign))
    };
    let least = week
        .mean_kw
        .iter()
        .flatten()
        .map(|kw| sign * kw)
        .fold(f64::INFINITY, f64::min);
    let machines: Vec<String> = balance
        .declared
        .iter()
        .take(5)
        .map(|(kwh, index)| {
            format!(
                "{}: {kwh:.0} kWh estimated",
                view.site.machines[*index].name
            )
        })
        .collect();
    let mut evidence = Evidence::default()
        .with("main_meter_kwh", whole)
        .with("measured_machines_kwh", balance.measured_kwh)
        .with("estimated_machines_kwh", balance.declared_kwh)
        .with(
            if lacking {
                "unexplained_kwh"
            } else {
                "not_seen_kwh"
            },
            energy,
        )
        .maybe(
            if lacking {
                "unexplained_pct"
            } else {
                "not_seen_pct"
            },
            share,
        )
        .with("beyond_errors_of_estimates_kwh", beyond)
        .with("most_of_it", time)
        .with("mean_then_kw", mean_kw)
        .with("at_all_hours_kw", least.max(0.0));
    for (phase, name) in Phase::ALL.into_iter().zip(["l1_kwh", "l2_kwh", "l3_kwh"]) {
        evidence = evidence.maybe(name, of_phase(phase));
    }
    Report {
        severity: Severity::Notice,
        summary,
        evidence: evidence.maybe(
            "largest_machines_without_a_meter",
            (!machines.is_empty()).then_some(machines),
        ),
        action: if lacking {
            "walk round at that time with the machine list; check the schedules and utilisation factors of the largest machines without a meter".to_owned()
        } else {
            "check which of the machines without a meter run at that time; correct their schedules or utilisation factors, or take them off the list".to_owned()
        },
        caution: CAUTION,
        source: SOURCE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::{clear, constant, judge_site, only, site};

    const HOUR: usize = 60;
    const WEEK: usize = 7 * 24 * HOUR;

    /// A week from Monday: 1 kW always, and 3 kW more on workdays from 8 to 16.
    fn week(extra_kw: f64) -> Vec<(Quantity, Vec<f64>)> {
        let mut column = constant(Quantity::ActivePower(None), 1.0, WEEK);
        for day in 0..5 {
            let from = (24 * day + 8) * HOUR;
            for kw in &mut column.1[from..from + 8 * HOUR] {
                *kw += extra_kw;
            }
        }
        vec![column]
    }

    const SHIFT: &str =
        "[[schedule]]\nname = \"day\"\ndays = \"Mon-Fri\"\nfrom = \"08:00\"\nto = \"16:00\"\n";

    #[test]
    fn load_that_the_list_lacks_is_told_with_its_days_and_hours() {
        let site = site(&["Fridge,DB1,L1,1"], "");
        let finding = judge_site(&site, 60, week(3.0));
        let finding = only(&finding, Kind::ListMismatch);
        // 3 kW for 8 hours on five days.
        assert!(
            (finding
                .evidence
                .number("unexplained_kwh")
                .expect("a figure")
                - 120.0)
                .abs()
                < 1e-6
        );
        assert!((finding.evidence.number("mean_then_kw").expect("a figure") - 3.0).abs() < 1e-9);
        assert!(
            finding.summary.contains("Mon–Fri 08:00–16:00"),
            "{}",
            finding.summary
        );
        assert!(clear(&judge_site(&site, 60, week(0.0)), KIND));
    }

    #[test]
    fn a_listed_machine_that_no_meter_sees_is_told_with_its_hours() {
        let head = "machine,circuit,connection,power_kw,schedule\n";
        let own = |more: &str| {
            let folder = tempfile::tempdir().expect("a folder");
            let text = format!(
                "[site]\nname = \"t\"\n[supply]\nline_voltage_v = 400\nphase_limit_a = 100\n[[meter]]\nid = \"main\"\nmeasures = \"supply\"\nfiles = \"main.csv\"\n{SHIFT}"
            );
            std::fs::write(folder.path().join("site.toml"), text).expect("written");
            std::fs::write(folder.path().join("machines.csv"), format!("{head}{more}"))
                .expect("written");
            site::read_site(folder.path()).expect("a site").0
        };
        let gone = own("Fridge,supply,L1,1,\nPlaner,supply,L2,3,day\n");
        let diagnosis = judge_site(&gone, 60, week(0.0));
        let finding = only(&diagnosis, KIND);
        assert!((finding.evidence.number("not_seen_kwh").expect("a figure") - 120.0).abs() < 1e-6);
        assert!(
            finding.summary.contains("Mon–Fri 08:00–16:00"),
            "{}",
            finding.summary
        );
        assert!(clear(&judge_site(&gone, 60, week(3.0)), KIND));
    }
}
