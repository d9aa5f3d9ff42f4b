//! Charts of the maximum demand, of the week, of the bill and of the baseline.

use super::format::number;
use super::header::SiteHeader;
use super::site_energy::SiteEnergy;
use baseline::Baseline;
use chart::{
    ChartError, Figure, cost_by_day, cusum, demand_by_day, drawn_variables, energy_by_variable,
    load_duration, peak_day, week_of_hours,
};
use demand::{DemandStudy, EnergyResult};
use export::since_sentence;

/// Heat map, peak day, load duration and demand against the limit of one meter.
pub(super) fn demand_figures(
    header: &SiteHeader,
    energy: &EnergyResult,
    site: &SiteEnergy<'_>,
) -> Result<Vec<Figure>, ChartError> {
    let mut out = Vec::new();
    if let Some(week) = site.week {
        out.push(week_of_hours(week)?.with_caption(format!(
            "{}. Mean power of each hour over its complete quarter-hours, local time. Darker means higher; the frame \
             marks the maximum.",
            site.of
        )));
    }
    let is_own = |study: &&DemandStudy| site.meter.is_some_and(|meter| meter.id == study.meter);
    let own = energy.study.demand.iter().find(is_own);
    if let Some((study, day)) = own.and_then(|study| Some((study, study.peak_day.as_ref()?))) {
        let figure = peak_day(day, header.timezone, study.demand_window_min)?;
        out.push(figure.with_caption(peak_day_words(site, day.parts.is_empty())));
    }
    let block_kw: Vec<f64> = site.trace.blocks.iter().map(|block| block.kw).collect();
    if !block_kw.is_empty() {
        out.push(load_duration(&block_kw)?.with_caption(duration_words(site)));
        let limit_kva = 3.0_f64.sqrt() * header.line_voltage_v * header.phase_limit_a / 1000.0;
        let figure = demand_by_day(site.trace, header.timezone, limit_kva)?;
        out.push(figure.with_caption(format!(
            "{}, complete demand periods of {} min by the local clock. Limit: √3 · {} V · {} A, what the supply \
             carries with its phases equally loaded. With unequal loading, the most heavily loaded phase reaches its own \
             limit earlier.",
            site.of,
            site.demand_window_min,
            number(header.line_voltage_v, 0),
            number(header.phase_limit_a, 0)
        )));
    }
    Ok(out)
}

/// Bill to date by day, where there is a tariff.
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
        "Bill to date at the end of each day. A step is a new maximum demand. A vertical line marks a new month, \
         when the demand charge starts again."
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
        "Meter {}, by {}: measured energy minus the energy expected from the baseline, added up. A level line means no \
         change; a bend marks a change. The bar on the right is the 95 % interval of the final sum. {}",
        baseline.meter,
        baseline.by.name(),
        since_sentence(baseline)
    );
    Ok(Some(
        cusum(baseline, header.timezone)?.with_caption(caption),
    ))
}

/// Energy against the variables of the baseline, where it has any.
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
                "{} kWh per {} of {} (95 % interval {} to {})",
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
        1 => " One more variable with a smaller effect is not drawn.".to_owned(),
        count => format!(" {count} more variables with a smaller effect are not drawn."),
    };
    let caption = format!(
        "Meter {}, each {} as energy per day, with the day type and the other variables held at their means. Line: the fit of \
         the baseline, {}; it is thin outside the range of the baseline. Crosses off the line are periods since the \
         baseline that used more or less than expected. Dots that curve away from the line show that a straight line is too \
         simple.{left_out}",
        baseline.meter,
        baseline.by.name(),
        slopes.join(", ")
    );
    Ok(Some(energy_by_variable(baseline)?.with_caption(caption)))
}

fn peak_day_words(site: &SiteEnergy<'_>, alone: bool) -> String {
    let window_min = site.demand_window_min;
    if alone {
        return format!(
            "{}, demand periods of {window_min} min by the local clock.",
            site.of
        );
    }
    format!(
        "{}, demand periods of {window_min} min by the local clock. The bands are the meters directly below it, the \
         one with the most energy at the bottom. Where one has no reading, its share is in the unmetered gap.",
        site.of
    )
}

fn duration_words(site: &SiteEnergy<'_>) -> String {
    let factor = site.load_factor.map_or_else(String::new, |factor| {
        format!(
            " The load factor (mean ÷ maximum) is {}.",
            number(factor, 2)
        )
    });
    format!(
        "{}. All complete demand periods of {} min in descending order.{factor} A steep left end is a peak of \
         few hours: shifting load away from it lowers the maximum demand.",
        site.of, site.demand_window_min
    )
}
