//! Compares a report with the one before it.

use super::entry::{Direction, Since, SinceEntry, Subject};
use super::findings::findings;
use super::percent::percent;
use super::snapshot::{MachineThen, MeterThen, Snapshot};
use finding::Value;
use units::fixed;

/// A figure within this share of what it was is as before (common practice). (%)
const AS_BEFORE_PCT: f64 = 1.0;
/// A meter below the supply is reported where its energy changes by this share (common practice). (%)
const TOLD_PCT: f64 = 5.0;

/// What has changed from the last report to this one.
#[must_use]
pub fn compare(file: &str, last: &Snapshot, now: &Snapshot) -> Since {
    let mut notes = Vec::new();
    if let (Some(was), Some(is)) = (&last.site, &now.site)
        && was != is
    {
        notes.push(format!(
            "the last report is for the site `{was}`, this one for `{is}`"
        ));
    }
    let mut changes = Vec::new();
    for meter in &now.meters {
        let Some(before) = last.meters.iter().find(|one| one.id == meter.id) else {
            notes.push(format!("meter `{}` is not in the last report", meter.id));
            continue;
        };
        figures(meter, before, &mut changes, &mut notes);
    }
    let gone = |one: &&MeterThen| now.meters.iter().all(|meter| meter.id != one.id);
    for meter in last.meters.iter().filter(gone) {
        notes.push(format!(
            "meter `{}` of the last report is no longer in the site",
            meter.id
        ));
    }
    match (&last.findings, &now.findings) {
        (Some(before), Some(now)) => findings(before, now, &mut changes),
        _ => notes.push("the last report has no findings: they are not compared".to_owned()),
    }
    match (&last.machines, &now.machines) {
        (Some(before), Some(now)) => machines(before, now, &mut changes),
        _ => notes.push("the last report has no machine list: it is not compared".to_owned()),
    }
    let main = supply(last).or(last.meters.first());
    let [from, to] = main.map_or_else(Default::default, |meter| meter.period.clone());
    Since {
        file: file.to_owned(),
        from,
        to,
        changes,
        notes,
    }
}

fn is_of_supply(meter: &MeterThen) -> bool {
    meter.measures.as_deref() == Some("supply")
}

fn supply(snapshot: &Snapshot) -> Option<&MeterThen> {
    snapshot.meters.iter().find(|meter| is_of_supply(meter))
}

/// Energy of every meter that changed; demand and currents of the supply's.
fn figures(
    now: &MeterThen,
    before: &MeterThen,
    changes: &mut Vec<SinceEntry>,
    notes: &mut Vec<String>,
) {
    let id = &now.id;
    let per_day = |meter: &MeterThen| {
        let hours = meter.covered_h.filter(|hours| *hours > 0.0)?;
        Some(meter.energy_kwh? / hours * 24.0)
    };
    let energy = figure(
        Subject::Energy,
        id,
        (per_day(before), per_day(now)),
        "kWh/d",
    );
    if let Some(energy) = energy {
        let told = is_of_supply(now) || changed_pct(&energy).is_none_or(|pct| pct >= TOLD_PCT);
        if told {
            changes.push(energy);
        }
    }
    if !is_of_supply(now) {
        return;
    }
    if now.demand_window_min == before.demand_window_min {
        let pair = (before.max_demand_kw, now.max_demand_kw);
        changes.extend(figure(Subject::MaximumDemand, id, pair, "kW"));
    } else {
        notes.push(format!(
            "the last report gives the maximum demand of `{id}` for another demand period: it is not compared"
        ));
    }
    for phase in 0..3 {
        let of = |meter: &MeterThen| meter.phase_max_a.map(|phases| phases[phase]);
        let name = format!("{id} L{}", phase + 1);
        changes.extend(figure(
            Subject::PhaseCurrent,
            &name,
            (of(before), of(now)),
            "A",
        ));
    }
}

fn changed_pct(entry: &SinceEntry) -> Option<f64> {
    match (&entry.before, &entry.now) {
        (Some(Value::Number(before)), Some(Value::Number(now))) => {
            percent(*before, *now).map(f64::abs)
        }
        _ => None,
    }
}

/// A figure of both; nothing where one does not know it.
fn figure(
    subject: Subject,
    name: &str,
    (before, now): (Option<f64>, Option<f64>),
    unit: &str,
) -> Option<SinceEntry> {
    let (before, now) = (before?, now?);
    let share = percent(before, now);
    let change = match share {
        Some(pct) if pct.abs() < AS_BEFORE_PCT => Direction::AsBefore,
        _ if now > before => Direction::More,
        _ if now < before => Direction::Less,
        _ => Direction::AsBefore,
    };
    let what = match subject {
        Subject::MaximumDemand => "maximum demand",
        Subject::PhaseCurrent => "peak current",
        _ => "energy per day of readings",
    };
    let share = share.map_or_else(String::new, |pct| format!(" ({pct:+.1} %)"));
    Some(SinceEntry {
        subject,
        change,
        name: name.to_owned(),
        before: Some(before.into()),
        now: Some(now.into()),
        unit: unit.to_owned(),
        text: format!(
            "{name}: {what} {} {unit}, before {} {unit}{share}",
            fixed(now, 1),
            fixed(before, 1)
        ),
    })
}

fn machines(before: &[MachineThen], now: &[MachineThen], changes: &mut Vec<SinceEntry>) {
    let entry = |change, name: &str, before: Option<String>, now: Option<String>, text: String| {
        SinceEntry {
            subject: Subject::Machine,
            change,
            name: name.to_owned(),
            before: before.map(Value::Text),
            now: now.map(Value::Text),
            unit: String::new(),
            text: format!("{name}: {text}"),
        }
    };
    let tap = |one: &MachineThen| format!("{} on {}", one.connection, one.circuit);
    let plate = |one: &MachineThen| match one.quantity {
        1 => one.rating.clone(),
        count => format!("{count} × {}", one.rating),
    };
    for machine in now {
        let name = &machine.machine;
        let Some(was) = before.iter().find(|one| one.machine == *name) else {
            let text = format!("added, {}", tap(machine));
            changes.push(entry(
                Direction::Added,
                name,
                None,
                Some(tap(machine)),
                text,
            ));
            continue;
        };
        if tap(was) != tap(machine) {
            let text = format!("moved to {} from {}", tap(machine), tap(was));
            let (was, is) = (Some(tap(was)), Some(tap(machine)));
            changes.push(entry(Direction::Moved, name, was, is, text));
        }
        if !was.rating.is_empty() && plate(was) != plate(machine) {
            let text = format!("{}, before {}", plate(machine), plate(was));
            let (was, is) = (Some(plate(was)), Some(plate(machine)));
            changes.push(entry(Direction::Altered, name, was, is, text));
        }
    }
    for machine in before {
        if now.iter().all(|one| one.machine != machine.machine) {
            let text = format!("no longer on the list; it was {}", tap(machine));
            changes.push(entry(
                Direction::Removed,
                &machine.machine,
                Some(tap(machine)),
                None,
                text,
            ));
        }
    }
}
