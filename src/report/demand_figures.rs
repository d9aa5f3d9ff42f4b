//! The charts of what sets the maximum demand and what the week looks like.

use super::format::number;
use super::header::SiteHeader;
use baseline::Baseline;
use chart::{
    ChartError, Figure, cost_by_day, cusum, demand_by_day, drawn_variables, energy_by_variable,
    load_duration, peak_day, week_of_hours,
};
use demand::{EnergyResult, MeterEnergy};
use export::since_sentence;

/// Heat map, peak day, load duration and demand against the limit of one meter.
pub(super) fn demand_figures(
    header: &SiteHeader,
    energy: &EnergyResult,
    meter: &MeterEnergy,
) -> Result<Vec<Figure>, ChartError> {
    let mut out = Vec::new();
    let study = &energy.study;
    if let Some(week) = study.week.iter().find(|week| week.meter == meter.id) {
        out.push(week_of_hours(week)?.with_caption(format!(
            "Meter {}. Means over the complete quarter-hours of each hour of the local clock; the stronger the shade, the more; the \
             frame marks the highest.",
            meter.id
        )));
    }
    let own = study.demand.iter().find(|study| study.meter == meter.id);
    if let Some((study, day)) = own.and_then(|study| Some((study, study.peak_day.as_ref()?))) {
        let figure = peak_day(day, header.timezone, study.demand_window_min)?;
        out.push(figure.with_caption(peak_day_words(meter, day.parts.is_empty())));
    }
    if !meter.trace.block_kw.is_empty() {
        out.push(load_duration(&meter.trace.block_kw)?.with_caption(duration_words(meter)));
        let limit_kva = 3.0_f64.sqrt() * header.line_voltage_v * header.phase_limit_a / 1000.0;
        let figure = demand_by_day(&meter.trace, header.timezone, limit_kva)?;
        out.push(figure.with_caption(format!(
            "Meter {}, complete blocks of {} min on the local clock. The limit is √3 · {} V · {} A: what the supply \
             carries when its phases share evenly. A phase that carries more than its share reaches its own limit \
             before.",
            meter.id,
            meter.demand_window_min,
            number(header.line_voltage_v, 0),
            number(header.phase_limit_a, 0)
        )));
    }
    Ok(out)
}

/// What the bill comes to through the days, where there is a tariff.
pub(super) fn cost_figure(
    header: &SiteHeader,
    energy: &EnergyResult,
) -> Result<Option<Figure>, ChartError> {
    let Some(bill) = energy
        .cost
        .as_ref()
        .filter(|_| energy.cost_by_day.len() > 1)
    else {
        return Ok(None);
    };
    let currency = bill.currency.as_deref().unwrap_or_default();
    let figure = cost_by_day(&energy.cost_by_day, header.timezone, currency)?;
    Ok(Some(figure.with_caption(
        "The bill as it would stand, had the log ended with each day. A step is a new highest demand; a month \
         begins at each upright line, and its demand is charged anew."
            .to_owned(),
    )))
}

/// What has changed since the baseline, where there is one.
pub(super) fn baseline_figure(
    header: &SiteHeader,
    energy: &EnergyResult,
) -> Result<Option<Figure>, ChartError> {
    let Some(baseline) = &energy.change.baseline else {
        return Ok(None);
    };
    let caption = format!(
        "Meter {}, by the {}: what was measured less what the baseline expects, added up. A level line is as before; where \
         it turns, something has changed. The bar at the right is the 95 % interval of the last sum. {}",
        baseline.meter,
        baseline.by.name(),
        since_sentence(baseline)
    );
    Ok(Some(
        cusum(baseline, header.timezone)?.with_caption(caption),
    ))
}

/// What the energy goes by, where the baseline has variables.
pub(super) fn variable_figure(energy: &EnergyResult) -> Result<Option<Figure>, ChartError> {
    let with_variables = |baseline: &&Baseline| !baseline.variables.is_empty();
    let Some(baseline) = energy.change.baseline.as_ref().filter(with_variables) else {
        return Ok(None);
    };
    let drawn = drawn_variables(baseline);
    let slopes: Vec<String> = drawn
        .iter()
        .map(|variable| {
            format!(
                "{} kWh per {}, {} (95 %: {} to {})",
                number(variable.slope, 2),
                variable.unit,
                variable.name,
                number(variable.slope_95.0, 2),
                number(variable.slope_95.1, 2)
            )
        })
        .collect();
    let left_out = match baseline.variables.len() - drawn.len() {
        0 => String::new(),
        count => format!(" Of {count} more variables, which change it less, there is no drawing."),
    };
    let caption = format!(
        "Meter {}, each {} as energy per day with all else that the baseline goes by (kind of day, the other variables) held \
         at its mean. The line is the baseline's: {}; thin where the baseline has not seen the variable. Crosses beside the \
         line are periods since the baseline that took more or less than it expects; dots that bend away from it say that \
         a straight line is too simple.{left_out}",
        baseline.meter,
        baseline.by.name(),
        slopes.join(", ")
    );
    Ok(Some(energy_by_variable(baseline)?.with_caption(caption)))
}

fn peak_day_words(meter: &MeterEnergy, alone: bool) -> String {
    let window_min = meter.demand_window_min;
    if alone {
        return format!(
            "Meter {}, blocks of {window_min} min on the local clock.",
            meter.id
        );
    }
    format!(
        "Meter {}, blocks of {window_min} min on the local clock. The bands are the nearest meters below it, the one \
         with most energy at the bottom; where one of them has no reading, its share is in the gap.",
        meter.id
    )
}

fn duration_words(meter: &MeterEnergy) -> String {
    let factor = meter.load_factor.map_or_else(String::new, |factor| {
        format!(
            " The load factor, mean over maximum, is {}.",
            number(factor, 2)
        )
    });
    format!(
        "Meter {}. All complete blocks of {} min in falling order.{factor} A steep left end is a peak of few hours: \
         what is shifted there lowers the maximum.",
        meter.id, meter.demand_window_min
    )
}
