//! The charts in the order of the page, with captions and tables of values.

use chrono::Timelike;

use super::by_day::day_rows;
use super::conductor::MARKS;
use super::demand_figures::{baseline_figure, cost_figure, demand_figures, variable_figure};
use super::format::{amps, duration, moment, number};
use super::header::SiteHeader;
use super::machine_bars::machine_bars;
use super::site_energy::SiteEnergy;
use balance::{BalanceResult, BalanceTrace};
use chart::style::{Ink, Width};
use chart::{
    ChartError, CoverageRow, DayCurves, DemandMark, Figure, Panel, TimeAxis, coverage,
    daily_energy, demand_profile, few_moves, neutral_duration, phasor_diagram, timeline,
};
use demand::{EnergyResult, MachineEnergy, MeterEnergy};
use electrical::Phase;
use export::curve_table;
use tables::{Column, number as quantity, words};
use units::FigureKind;

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

/// More rows than this are not drawn.
const MOST_COVERAGE_ROWS: usize = 40;

/// Data coverage; of many meters those with the lowest coverage.
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
    let mut caption = "A bar where a meter has readings, a break where it has none; gaps are not filled in. Short \
                       gaps are drawn wider so that they can be seen. Local time; the share of time covered is on \
                       the right."
        .to_owned();
    if all > MOST_COVERAGE_ROWS {
        meters.sort_by(|a, b| a.coverage_pct.total_cmp(&b.coverage_pct));
        meters.truncate(MOST_COVERAGE_ROWS);
        let words =
            format!(" Shown: the {MOST_COVERAGE_ROWS} of {all} meters with the lowest coverage.");
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

/// Chart of the phase currents as they are.
const NOW: &str = "phase-currents-now";

/// Phase and neutral currents, duration curve, phasors and number of moves.
pub(super) fn current_figures(
    header: &SiteHeader,
    balance: &BalanceResult,
) -> Result<Vec<Figure>, ChartError> {
    let trace = &balance.trace;
    let mut out = Vec::new();
    if let Some(before) = &trace.phase_before_a {
        out.push(phases(header, trace, NOW, "now", before)?);
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
            "Lowest neutral current (rms over the period) for each number of moves. Filled dots are proven, \
             open dots are the best found. A shorter plan is not always the start of a longer one: make \
             all the moves of a plan, or ask for a plan with fewer."
                .to_owned(),
        ));
    }
    Ok(out)
}

/// Demand over the day, by day and by machine, and the maximum demand.
pub(super) fn energy_figures(
    header: &SiteHeader,
    energy: &EnergyResult,
    machines: &[MachineEnergy],
) -> Result<Vec<Figure>, ChartError> {
    let mut out = Vec::new();
    if let Some(site) = SiteEnergy::drawn(energy) {
        out.push(profile(&site)?);
        if !site.trace.days.is_empty() {
            out.push(daily_energy(&site.trace.days)?.with_caption(format!(
                "{}. Saturdays and Sundays are lighter. An outline is a day (or month) with missing \
                 readings; its true energy is higher.",
                site.of
            )));
        }
        out.extend(demand_figures(header, energy, &site)?);
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
        "Maximum: {}. Limit {:.0} A.",
        largest.join(", "),
        header.phase_limit_a
    );
    let title = format!("Phase currents, {when} [A]");
    let series: Vec<&[f64]> = values.iter().map(Vec::as_slice).collect();
    let axis = time_axis(header, trace);
    let figure = timeline(name, &title, &description, axis, &panels)?;
    // The present state, unless the log is too coarse for what a day shows.
    let figure = if name == NOW && axis.interval_s <= 900 {
        figure.with_days(DayCurves::of(axis, &panels))
    } else {
        figure
    };
    Ok(figure.with_caption(reduction(trace)).with_table(
        vec![
            words("Day"),
            current("L1, max."),
            current("L2, max."),
            current("L3, max."),
            words("Time with a phase over the limit"),
        ],
        day_rows(trace, header.timezone, &series, Some(header.phase_limit_a)),
    ))
}

/// A column of currents.
fn current(head: &'static str) -> Column {
    quantity(head, FigureKind::Current)
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
        columns.push(current("Now, max."));
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
    columns.push(current("After the moves, max."));
    let largest: Vec<String> = panels
        .iter()
        .map(|panel| format!("{} {}", panel.name, amps(largest(panel.values))))
        .collect();
    let description = format!(
        "Maximum: {}. Limit {:.0} A.",
        largest.join(", "),
        header.neutral_limit_a
    );
    let title = "Neutral current [A]";
    let figure = timeline(
        "neutral-over-time",
        title,
        &description,
        time_axis(header, trace),
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
            "For 5 % of the time the neutral current is above {} now and above {} after the moves.",
            amps(now.neutral_p95_a),
            amps(balance.after.neutral_p95_a)
        ),
        None => format!(
            "For 5 % of the time the neutral current is above {}.",
            amps(balance.after.neutral_p95_a)
        ),
    };
    Ok(figure.with_caption(format!("{p95} All intervals in descending order.")))
}

fn phasors(header: &SiteHeader, trace: &BalanceTrace) -> Result<Figure, ChartError> {
    let figure = phasor_diagram(trace.worst_before.as_ref(), &trace.worst_after)?;
    let moments = trace.worst_before.iter().chain([&trace.worst_after]);
    let beyond = moments
        .map(|moment| moment.neutral_beyond_phasors_a)
        .fold(0.0, f64::max);
    let mut caption = format!(
        "{}, local time. 0° (up) is the voltage of L1; angles increase anticlockwise. The faint spokes are the \
         phase voltages. N is the phasor sum of the three currents.",
        moment(trace.worst_after.at, header.timezone)
    );
    if beyond >= 0.05 {
        let words = format!(
            " Up to {} of the neutral current is not explained by the phasors: harmonics, or switching \
             within the interval.",
            amps(beyond)
        );
        caption.push_str(&words);
    }
    Ok(figure.with_caption(caption))
}

fn profile(meter: &SiteEnergy<'_>) -> Result<Figure, ChartError> {
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
                at.format("%a %-d %b %Y %H:%M")
            ),
        });
    Ok(demand_profile(meter.trace, mark.as_ref())?.with_caption(format!(
        "{}. Mean power of each quarter-hour, local time. The maximum demand is the mean over a \
         demand period of {} min by the local clock, so a single quarter-hour can be higher.",
        meter.of, meter.demand_window_min
    )))
}

fn time_axis<'a>(header: &SiteHeader, trace: &'a BalanceTrace) -> TimeAxis<'a> {
    TimeAxis {
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

/// How many readings the drawing combines.
fn reduction(trace: &BalanceTrace) -> String {
    let count = trace.start_s.len();
    let columns = Width::Wide.px() as usize;
    let length = duration(u64::from(trace.interval_s));
    if count <= columns {
        return format!("Means over {length}, local time.");
    }
    let per_column = (count as f64 / columns as f64).ceil();
    format!(
        "{} means over {length}, local time. About {per_column:.0} of them share a column of the chart: the \
         shading runs from the minimum to the maximum, the line is the mean, so no peak is lost.",
        number(count as f64, 0)
    )
}
