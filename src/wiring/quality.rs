//! What was done about a meter's faults, among the problems of its data.

use std::ops::Range;

use metering::{Action, FaultKind, IntervalTable, MeterFault, MeterLog, QualityEntry, Treatment};
use site::Quantity;

/// Entries made from the readings alone, which a fault of the meter explains.
const EXPLAINED: [&str; 2] = ["reversed-phase", "negative-phase"];

/// Adds an entry for each fault. The log still has its table as logged.
pub(crate) fn note(
    log: &mut MeterLog,
    table: &IntervalTable,
    faults: &[MeterFault],
    is_billed: bool,
) {
    let starts = log.table.starts();
    let entries: Vec<QualityEntry> = faults
        .iter()
        .enumerate()
        .map(|(index, fault)| {
            let (kind, action) = match fault.remedy {
                Treatment::Corrected => ("meter-fault-corrected", Action::Corrected),
                Treatment::LeftOut => ("meter-fault-left-out", Action::LeftOut),
                Treatment::Reported => ("meter-fault", Action::Kept),
            };
            let alone = faults.iter().enumerate().all(|(other, one)| {
                other == index
                    || one.rows.end <= fault.rows.start
                    || fault.rows.end <= one.rows.start
            });
            let entry = QualityEntry::at_times(
                kind,
                &starts[fault.rows.clone()],
                sentence(fault, is_billed),
            );
            QualityEntry {
                action: Some(action),
                effect_kwh: effect_kwh(&log.table, table, &fault.rows).filter(|_| alone),
                ..entry
            }
        })
        .collect();
    // Only what concerns the direction of a current explains a negative power.
    let explains = |fault: &MeterFault| {
        matches!(
            fault.kind,
            FaultKind::Reversed | FaultKind::Generation | FaultKind::Paired { .. }
        )
    };
    if faults.iter().any(explains) {
        log.quality
            .retain(|entry| !EXPLAINED.contains(&entry.kind.as_str()));
    }
    log.quality.extend(entries);
}

/// Energy of these rows in the second table above that in the first.
fn effect_kwh(logged: &IntervalTable, table: &IntervalTable, rows: &Range<usize>) -> Option<f64> {
    let hours = f64::from(logged.interval_s()) / 3600.0;
    let sum = |table: &IntervalTable| -> Option<f64> {
        let power = table.values(Quantity::ActivePower(None))?;
        Some(rows.clone().filter_map(|row| power.get(row)).sum())
    };
    Some((sum(table)? - sum(logged)?) * hours)
}

fn sentence(fault: &MeterFault, is_billed: bool) -> String {
    let place = fault.phase.map_or("the meter", |phase| phase.name());
    let done = match fault.remedy {
        Treatment::Corrected => "corrected in all results",
        Treatment::LeftOut => "left out of all results",
        Treatment::Reported => "kept",
    };
    let bill = if is_billed && fault.remedy != Treatment::Reported {
        "; the bill uses the log as it is"
    } else {
        ""
    };
    let what = match fault.kind {
        FaultKind::VoltageLost => "the voltage reads zero while the current goes on",
        FaultKind::VoltageStuck => "the voltage repeats one value",
        FaultKind::CurrentStuck => "the current repeats one value",
        FaultKind::CurrentOpen => "no current is read at all",
        FaultKind::Reversed => "a current transformer is reversed",
        FaultKind::Generation => "energy flows back, and the voltages show that it is real",
        FaultKind::LoadsExchanged { phases: [a, b] } => {
            return format!(
                "the loads of {} and {} are exchanged; {done}",
                a.name(),
                b.name()
            );
        }
        FaultKind::OnGenerator => "a standby generator runs",
        FaultKind::LoggerChanged => "another logger, or another setting of it, begins",
        FaultKind::TwoLoggers => "rows of two loggers alternate",
        FaultKind::TimeZone { hours } => {
            let later = if hours > 0.0 { "late" } else { "early" };
            return format!("the times seem {:.0} h too {later}; {done}", hours.abs());
        }
        FaultKind::Paired { .. } => "currents are read with the voltages of other phases",
        FaultKind::Ratio { factor } => {
            return format!(
                "{place}: the true current is {factor:.3} times what is read; {done}{bill}"
            );
        }
    };
    format!("{place}: {what}; {done}{bill}")
}
