//! The charts, in the order of the page, with captions and reduced tables.

use chrono::Timelike;
use chrono_tz::Tz;

use super::answer::{MARKS, supply_meter};
use super::format::{amps, duration, kwh, moment, number};
use super::header::SiteHeader;
use crate::balance::{BalanceResult, BalanceTrace};
use crate::chart::style::{Ink, Width};
use crate::chart::{
    ChartError, DemandMark, EnergyBar, Figure, Panel, Period, daily_energy, demand_profile,
    energy_bars, few_moves, neutral_duration, phasor_diagram, timeline,
};
use crate::demand::{EnergyResult, MachineEnergy, MeterEnergy};
use crate::electrical::Phase;

/// Bars beyond this number are drawn as one.
const MOST_BARS: usize = 30;
/// Days beyond this number are tabled as months.
const MOST_DAYS: usize = 62;

pub(super) fn figures(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    energy: &EnergyResult,
    machines: &[MachineEnergy],
) -> Result<Vec<Figure>, ChartError> {
    let mut out = balance.map_or_else(|| Ok(Vec::new()), |b| current_figures(header, b))?;
    out.extend(energy_figures(energy, machines)?);
    Ok(out)
}

/// Phase and neutral currents, duration, phasors and few moves.
pub(super) fn current_figures(
    header: &SiteHeader,
    balance: &BalanceResult,
) -> Result<Vec<Figure>, ChartError> {
    let trace = &balance.trace;
    let mut out = Vec::new();
    if let Some(before) = &trace.phase_before_a {
        out.push(phases(header, trace, "phase-currents-now", "now", before)?);
    }
    let after = &trace.phase_after_a;
    out.push(phases(header, trace, "phase-currents-after", "after the moves", after)?);
    out.push(neutral(header, trace)?);
    out.push(duration_figure(header, balance)?);
    out.push(phasors(header, trace)?);
    if balance.moves_curve.len() > 1 {
        out.push(few_moves(&balance.moves_curve)?.with_caption(
            "Smallest neutral (root mean square over the period) that so many moves can reach. Full \
             dots are proven, open dots are the best found. The moves for few are not always \
             the first of those for many: make the whole list, or ask for a shorter one."
                .to_owned(),
        ));
    }
    Ok(out)
}

/// Demand by the clock, by day and by machine.
pub(super) fn energy_figures(
    energy: &EnergyResult,
    machines: &[MachineEnergy],
) -> Result<Vec<Figure>, ChartError> {
    let mut out = Vec::new();
    let known = |meter: &&MeterEnergy| !meter.trace.weekday_profile_kw.is_empty();
    let meter = supply_meter(energy).filter(known).or_else(|| energy.meters.iter().find(known));
    if let Some(meter) = meter {
        out.push(profile(meter)?);
        if !meter.trace.days.is_empty() {
            out.push(daily_energy(&meter.trace.days)?.with_caption(format!(
                "Meter {}. Saturdays and Sundays are lighter; an outline is a day (or month) with \
                 missing readings, whose true energy is larger.",
                meter.id
            )));
        }
    }
    if !machines.is_empty() {
        out.push(by_machine(machines)?);
    }
    Ok(out)
}

fn phases(
    header: &SiteHeader,
    trace: &BalanceTrace,
    name: &'static str,
    when: &str,
    values: &[Vec<f64>; 3],
) -> Result<Figure, ChartError> {
    let panels: Vec<Panel> = Phase::ALL
        .into_iter()
        .map(|phase| Panel {
            name: format!("{} {phase} {when}", MARKS[phase.index()]),
            ink: Ink::PHASES[phase.index()],
            values: &values[phase.index()],
            limit: Some(header.phase_limit_a),
        })
        .collect();
    let largest: Vec<String> = Phase::ALL
        .into_iter()
        .map(|phase| format!("{phase} {}", amps(largest(&values[phase.index()]))))
        .collect();
    let description = format!("Largest: {}. Limit {:.0} A.", largest.join(", "), header.phase_limit_a);
    let title = format!("Phase currents over the period, {when} [A]");
    let series: Vec<&[f64]> = values.iter().map(Vec::as_slice).collect();
    Ok(timeline(name, &title, &description, period(header, trace), &panels)?
        .with_caption(reduction(trace))
        .with_table(
            &["Day", "L1, largest", "L2, largest", "L3, largest", "Time with a phase over its limit"],
            day_rows(trace, header.timezone, &series, Some(header.phase_limit_a)),
        ))
}

fn neutral(header: &SiteHeader, trace: &BalanceTrace) -> Result<Figure, ChartError> {
    let mut panels = Vec::new();
    let mut series: Vec<&[f64]> = Vec::new();
    let mut head = vec!["Day"];
    let limit = Some(header.neutral_limit_a);
    if let Some(before) = &trace.neutral_before_a {
        panels.push(Panel { name: "◆ N now".to_owned(), ink: Ink::Now, values: before, limit });
        series.push(before);
        head.push("Now, largest [A]");
    }
    let after = &trace.neutral_after_a;
    let name = "◆ N after the moves".to_owned();
    panels.push(Panel { name, ink: Ink::Strong, values: after, limit });
    series.push(after);
    head.push("After the moves, largest [A]");
    let largest: Vec<String> =
        panels.iter().map(|panel| format!("{} {}", panel.name, amps(largest(panel.values)))).collect();
    let description = format!("Largest: {}. Limit {:.0} A.", largest.join(", "), header.neutral_limit_a);
    let title = "Neutral current over the period [A]";
    let figure =
        timeline("neutral-over-time", title, &description, period(header, trace), &panels)?;
    Ok(figure
        .with_caption(reduction(trace))
        .with_table(&head, day_rows(trace, header.timezone, &series, None)))
}

fn duration_figure(header: &SiteHeader, balance: &BalanceResult) -> Result<Figure, ChartError> {
    let trace = &balance.trace;
    let before = trace.neutral_before_a.as_deref();
    let figure = neutral_duration(before, &trace.neutral_after_a, header.neutral_limit_a)?;
    let p95 = match &balance.before {
        Some(now) => format!(
            "During 5 % of the time the neutral carries more than {} now and {} after the moves.",
            amps(now.neutral_p95_a),
            amps(balance.after.neutral_p95_a)
        ),
        None => format!(
            "During 5 % of the time the neutral carries more than {}.",
            amps(balance.after.neutral_p95_a)
        ),
    };
    Ok(figure.with_caption(format!("{p95} All intervals in falling order.")))
}

fn phasors(header: &SiteHeader, trace: &BalanceTrace) -> Result<Figure, ChartError> {
    let figure = phasor_diagram(trace.worst_before.as_ref(), &trace.worst_after)?;
    let moments = trace.worst_before.iter().chain([&trace.worst_after]);
    let beyond = moments.map(|moment| moment.neutral_beyond_phasors_a).fold(0.0, f64::max);
    let mut caption = format!(
        "{}, local time. 0° (up) is the direction of L1's voltage; angles grow against the clock; \
         the faint spokes are the phase voltages. N is the sum of the three arrows.",
        moment(trace.worst_after.at, header.timezone)
    );
    if beyond >= 0.05 {
        caption.push_str(&format!(
            " The neutral carries up to {} that the arrows cannot explain: harmonics, or switching \
             within the interval.",
            amps(beyond)
        ));
    }
    Ok(figure.with_caption(caption))
}

fn profile(meter: &MeterEnergy) -> Result<Figure, ChartError> {
    let mark = meter.max_demand_kw.zip(meter.max_demand_at).map(|(kw, at)| DemandMark {
        hour: f64::from(at.num_seconds_from_midnight()) / 3600.0,
        length_h: f64::from(meter.demand_window_min) / 60.0,
        kw,
        words: format!("maximum demand {} kW, {}", number(kw, 1), at.format("%a %-d %b %H:%M")),
    });
    Ok(demand_profile(&meter.trace, mark.as_ref())?.with_caption(format!(
        "Meter {}. Means over quarter-hours of the local day. The maximum demand is the mean over a \
         block of {} min aligned to the local clock, so single quarter-hours can be higher.",
        meter.id, meter.demand_window_min
    )))
}

fn by_machine(machines: &[MachineEnergy]) -> Result<Figure, ChartError> {
    let mut sorted: Vec<&MachineEnergy> = machines.iter().collect();
    sorted.sort_by(|a, b| b.energy_kwh.total_cmp(&a.energy_kwh));
    let total: f64 = machines.iter().map(|machine| machine.energy_kwh).sum();
    let mut bars: Vec<EnergyBar> = sorted
        .iter()
        .take(MOST_BARS)
        .map(|machine| EnergyBar {
            name: machine.machine.clone(),
            energy_kwh: machine.energy_kwh,
            words: kwh(machine.energy_kwh),
            basis: Some(machine.basis),
        })
        .collect();
    if sorted.len() > MOST_BARS {
        let rest: f64 = sorted[MOST_BARS..].iter().map(|machine| machine.energy_kwh).sum();
        let name = format!("{} others", sorted.len() - MOST_BARS);
        bars.push(EnergyBar { name, energy_kwh: rest, words: kwh(rest), basis: None });
    }
    let rows = sorted
        .iter()
        .map(|machine| {
            let share = if total > 0.0 { number(100.0 * machine.energy_kwh / total, 1) } else { "—".to_owned() };
            let origin = super::moves::origin(machine.basis).to_owned();
            vec![machine.machine.clone(), kwh(machine.energy_kwh), share, origin]
        })
        .collect();
    Ok(energy_bars(&bars)?
        .with_caption(
            "Full bars are measured, outlined bars declared, hatched bars estimated; the word \
             stands at each bar."
                .to_owned(),
        )
        .with_table(&["Machine", "Energy [kWh]", "Share of the listed machines [%]", "Origin"], rows))
}

fn period<'a>(header: &SiteHeader, trace: &'a BalanceTrace) -> Period<'a> {
    Period { start_s: &trace.start_s, interval_s: trace.interval_s, zone: header.timezone }
}

fn largest(values: &[f64]) -> f64 {
    values.iter().copied().filter(|value| value.is_finite()).fold(0.0, f64::max)
}

/// What was left out in drawing.
fn reduction(trace: &BalanceTrace) -> String {
    let count = trace.start_s.len();
    let columns = Width::Wide.px() as usize;
    let length = duration(u64::from(trace.interval_s));
    if count <= columns {
        return format!("Means over {length} each, local time.");
    }
    let per_column = (count as f64 / columns as f64).ceil();
    format!(
        "{} means over {length} each, local time. For drawing, about {per_column:.0} of them share a \
         column: the shade reaches from the smallest to the largest, the line is their mean, so no \
         extreme is lost.",
        number(count as f64, 0)
    )
}

/// Largest values by local day, or by month where there are many days.
fn day_rows(
    trace: &BalanceTrace,
    zone: Tz,
    series: &[&[f64]],
    limit_a: Option<f64>,
) -> Vec<Vec<String>> {
    let mut by_day = grouped(trace, zone, series, limit_a, "%a %-d %b %Y");
    if by_day.len() > MOST_DAYS {
        by_day = grouped(trace, zone, series, limit_a, "%b %Y");
    }
    by_day
        .into_iter()
        .map(|group| {
            let mut row = vec![group.name];
            row.extend(group.largest.iter().map(|value| value.map_or("—".to_owned(), |a| number(a, 1))));
            if limit_a.is_some() {
                let seconds = group.over * u64::from(trace.interval_s);
                row.push(if group.over == 0 { "none".to_owned() } else { duration(seconds) });
            }
            row
        })
        .collect()
}

struct Group {
    name: String,
    largest: Vec<Option<f64>>,
    over: u64,
}

fn grouped(
    trace: &BalanceTrace,
    zone: Tz,
    series: &[&[f64]],
    limit_a: Option<f64>,
    format: &str,
) -> Vec<Group> {
    let mut groups: Vec<(chrono::NaiveDate, Group)> = Vec::new();
    for (position, &start_s) in trace.start_s.iter().enumerate() {
        let Some(time) = chrono::DateTime::from_timestamp(start_s, 0) else { continue };
        let date = time.with_timezone(&zone).date_naive();
        if groups.last().is_none_or(|(last, _)| *last != date) {
            let name = date.format(format).to_string();
            match groups.last_mut() {
                Some((last, group)) if group.name == name => *last = date,
                _ => groups.push((date, Group { name, largest: vec![None; series.len()], over: 0 })),
            }
        }
        let Some((_, group)) = groups.last_mut() else { continue };
        let mut over = false;
        for (one, values) in series.iter().enumerate() {
            let Some(&value) = values.get(position).filter(|value| value.is_finite()) else { continue };
            group.largest[one] = Some(group.largest[one].map_or(value, |most| most.max(value)));
            over |= limit_a.is_some_and(|limit_a| value > limit_a);
        }
        group.over += u64::from(over);
    }
    groups.into_iter().map(|(_, group)| group).collect()
}
