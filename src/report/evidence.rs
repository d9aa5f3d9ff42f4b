//! The charts, in the order of the page, with captions and reduced tables.

use chrono::Timelike;

use super::by_day::day_rows;
use super::conductor::{MARKS, supply_meter};
use super::demand_figures::{baseline_figure, cost_figure, demand_figures, variable_figure};
use super::format::{amps, duration, moment, number};
use super::header::SiteHeader;
use super::machine_bars::machine_bars;
use balance::{BalanceResult, BalanceTrace};
use chart::style::{Ink, Width};
use chart::{
    ChartError, CoverageRow, DemandMark, Figure, Panel, Period, coverage, daily_energy,
    demand_profile, few_moves, neutral_duration, phasor_diagram, timeline,
};
use demand::{EnergyResult, MachineEnergy, MeterEnergy};
use electrical::Phase;
use export::curve_table;
use tables::{Column, number as quantity, words};
use units::Quantity;

pub(super) fn figures(
    header: &SiteHeader,
    balance: Option<&BalanceResult>,
    energy: &EnergyResult,
    machines: &[MachineEnergy],
) -> Result<Vec<Figure>, ChartError> {
    let mut out = balance.map_or_else(|| Ok(Vec::new()), |b| current_figures(header, b))?;
    out.extend(energy_figures(header, energy, machines)?);
    out.extend(cost_figure(header, energy)?);
    out.extend(data_figures(header, energy)?);
    Ok(out)
}

/// More rows than this would be a wall of bars.
const MOST_COVERAGE_ROWS: usize = 40;

/// What the logs cover; the least covered ones where there are many meters.
pub(super) fn data_figures(
    header: &SiteHeader,
    energy: &EnergyResult,
) -> Result<Vec<Figure>, ChartError> {
    let mut meters: Vec<&MeterEnergy> = energy
        .meters
        .iter()
        .filter(|meter| !meter.trace.covered_s.is_empty())
        .collect();
    if meters.is_empty() {
        return Ok(Vec::new());
    }
    let all = meters.len();
    let mut caption = "A bar where a meter has readings, broken where it has none; nothing is filled in. Short \
                       gaps are drawn wider than they are, so that they can be seen. Local time; on the right \
                       the share of the time that is covered."
        .to_owned();
    if all > MOST_COVERAGE_ROWS {
        meters.sort_by(|a, b| a.coverage_pct.total_cmp(&b.coverage_pct));
        meters.truncate(MOST_COVERAGE_ROWS);
        let words = format!(" The {MOST_COVERAGE_ROWS} of {all} meters that are covered least.");
        caption.push_str(&words);
    }
    let rows: Vec<CoverageRow> = meters
        .into_iter()
        .map(|meter| CoverageRow {
            name: &meter.id,
            covered_s: &meter.trace.covered_s,
            coverage_pct: meter.coverage_pct,
        })
        .collect();
    Ok(vec![
        coverage(&rows, header.timezone)?.with_caption(caption),
    ])
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
    out.push(phases(
        header,
        trace,
        "phase-currents-after",
        "after the moves",
        after,
    )?);
    out.push(neutral(header, trace)?);
    out.push(duration_figure(header, balance)?);
    out.push(phasors(header, trace)?);
    if balance.moves_curve.len() > 1 {
        let figure = few_moves(&balance.moves_curve)?.with_numbers(curve_table(balance));
        out.push(figure.with_caption(
            "Smallest neutral (root mean square over the period) that so many moves can reach. Full \
             dots are proven, open dots are the best found. The moves for few are not always \
             the first of those for many: make the whole list, or ask for a shorter one."
                .to_owned(),
        ));
    }
    Ok(out)
}

/// Demand by the clock, by day and by machine, and what sets its maximum.
pub(super) fn energy_figures(
    header: &SiteHeader,
    energy: &EnergyResult,
    machines: &[MachineEnergy],
) -> Result<Vec<Figure>, ChartError> {
    let mut out = Vec::new();
    let known = |meter: &&MeterEnergy| !meter.trace.weekday_profile_kw.is_empty();
    let meter = supply_meter(energy)
        .filter(known)
        .or_else(|| energy.meters.iter().find(known));
    if let Some(meter) = meter {
        out.push(profile(meter)?);
        if !meter.trace.days.is_empty() {
            out.push(daily_energy(&meter.trace.days)?.with_caption(format!(
                "Meter {}. Saturdays and Sundays are lighter; an outline is a day (or month) with \
                 missing readings, whose true energy is larger.",
                meter.id
            )));
        }
        out.extend(demand_figures(header, energy, meter)?);
    }
    out.extend(baseline_figure(header, energy)?);
    out.extend(variable_figure(energy)?);
    if !machines.is_empty() {
        out.push(machine_bars(machines)?);
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
    let description = format!(
        "Largest: {}. Limit {:.0} A.",
        largest.join(", "),
        header.phase_limit_a
    );
    let title = format!("Phase currents over the period, {when} [A]");
    let series: Vec<&[f64]> = values.iter().map(Vec::as_slice).collect();
    Ok(
        timeline(name, &title, &description, period(header, trace), &panels)?
            .with_caption(reduction(trace))
            .with_table(
                vec![
                    words("Day"),
                    current("L1, largest"),
                    current("L2, largest"),
                    current("L3, largest"),
                    words("Time with a phase over its limit"),
                ],
                day_rows(trace, header.timezone, &series, Some(header.phase_limit_a)),
            ),
    )
}

/// A column of currents.
fn current(head: &'static str) -> Column {
    quantity(head, Quantity::Current)
}

fn neutral(header: &SiteHeader, trace: &BalanceTrace) -> Result<Figure, ChartError> {
    let mut panels = Vec::new();
    let mut series: Vec<&[f64]> = Vec::new();
    let mut columns = vec![words("Day")];
    let limit = Some(header.neutral_limit_a);
    if let Some(before) = &trace.neutral_before_a {
        panels.push(Panel {
            name: "◆ N now".to_owned(),
            ink: Ink::Now,
            values: before,
            limit,
        });
        series.push(before);
        columns.push(current("Now, largest"));
    }
    let after = &trace.neutral_after_a;
    let name = "◆ N after the moves".to_owned();
    panels.push(Panel {
        name,
        ink: Ink::Strong,
        values: after,
        limit,
    });
    series.push(after);
    columns.push(current("After the moves, largest"));
    let largest: Vec<String> = panels
        .iter()
        .map(|panel| format!("{} {}", panel.name, amps(largest(panel.values))))
        .collect();
    let description = format!(
        "Largest: {}. Limit {:.0} A.",
        largest.join(", "),
        header.neutral_limit_a
    );
    let title = "Neutral current over the period [A]";
    let figure = timeline(
        "neutral-over-time",
        title,
        &description,
        period(header, trace),
        &panels,
    )?;
    Ok(figure
        .with_caption(reduction(trace))
        .with_table(columns, day_rows(trace, header.timezone, &series, None)))
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
    let beyond = moments
        .map(|moment| moment.neutral_beyond_phasors_a)
        .fold(0.0, f64::max);
    let mut caption = format!(
        "{}, local time. 0° (up) is the direction of L1's voltage; angles grow against the clock; \
         the faint spokes are the phase voltages. N is the sum of the three arrows.",
        moment(trace.worst_after.at, header.timezone)
    );
    if beyond >= 0.05 {
        let words = format!(
            " The neutral carries up to {} that the arrows cannot explain: harmonics, or switching \
             within the interval.",
            amps(beyond)
        );
        caption.push_str(&words);
    }
    Ok(figure.with_caption(caption))
}

fn profile(meter: &MeterEnergy) -> Result<Figure, ChartError> {
    let mark = meter
        .max_demand_kw
        .zip(meter.max_demand_at)
        .map(|(kw, at)| DemandMark {
            hour: f64::from(at.num_seconds_from_midnight()) / 3600.0,
            length_h: f64::from(meter.demand_window_min) / 60.0,
            kw,
            words: format!(
                "maximum demand {} kW, {}",
                number(kw, 1),
                at.format("%a %-d %b %H:%M")
            ),
        });
    Ok(demand_profile(&meter.trace, mark.as_ref())?.with_caption(format!(
        "Meter {}. Means over quarter-hours of the local day. The maximum demand is the mean over a \
         block of {} min aligned to the local clock, so single quarter-hours can be higher.",
        meter.id, meter.demand_window_min
    )))
}

fn period<'a>(header: &SiteHeader, trace: &'a BalanceTrace) -> Period<'a> {
    Period {
        start_s: &trace.start_s,
        interval_s: trace.interval_s,
        zone: header.timezone,
    }
}

fn largest(values: &[f64]) -> f64 {
    values
        .iter()
        .copied()
        .filter(|value| value.is_finite())
        .fold(0.0, f64::max)
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
