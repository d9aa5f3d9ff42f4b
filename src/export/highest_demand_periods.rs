//! What sets the maximum demand: highest demand periods, load duration, diversity.

use demand::{DemandStudy, Diversity, DiversityPart, DurationPoint, EnergyResult, HighestBlock};
use tables::{Table, columns, exact, number, words};
use units::{FigureKind as Q, format_number};

/// The highest demand periods of each meter, and what was running.
pub(super) fn highest_demand_periods(result: &EnergyResult) -> Table {
    let studies = result.study.demand.iter();
    let window = studies.clone().next().map(|study| study.demand_window_min);
    let rows = studies.flat_map(|study| {
        let ranked = (1_usize..).zip(&study.highest_demand_periods);
        ranked.map(|(rank, block)| (study.meter.as_str(), rank, block))
    });
    columns! { (meter, rank, block) in (&str, usize, &HighestBlock);
        meter: words("Meter") => meter;
        rank: exact("Rank", "") => rank;
        at: words("Start") => block.at;
        kw: number("Demand", Q::ActivePower) => block.kw;
        kva: number("Demand", Q::ApparentPower) => block.kva;
        parts_kw: words("Sub-meters [kW]") => running(block);
        unmetered_kw: number("Unmetered", Q::ActivePower) => block.unmetered_kw;
        scheduled: words("Scheduled machines without a meter") => block.scheduled.join(", ");
    }
    .table(
        "highest-demand-periods",
        "Highest demand periods and what was running",
        rows,
    )
    .with_method(window.map_or_else(String::new, |min| {
        format!("demand periods of {min} min, aligned to the local clock; a question mark means missing readings")
    }))
}

/// `boat shed 12.31, kiln 3.20, saw ?`; a meter below 0.005 kW is left out.
fn running(block: &HighestBlock) -> String {
    let said = block.parts.iter().filter_map(|part| match part.kw {
        Some(kw) if kw.abs() < 0.005 => None,
        Some(kw) => Some(format!("{} {}", part.meter, format_number(kw, 2))),
        None => Some(format!("{} ?", part.meter)),
    });
    said.collect::<Vec<_>>().join(", ")
}

/// Demand reached or exceeded for a share of the demand periods.
pub(super) fn load_duration(result: &EnergyResult) -> Table {
    let points = |study: &'_ DemandStudy| study.load_duration.clone();
    let rows: Vec<(&str, DurationPoint)> = result
        .study
        .demand
        .iter()
        .flat_map(|study| {
            points(study)
                .into_iter()
                .map(|point| (study.meter.as_str(), point))
        })
        .collect();
    columns! { (meter, point) in (&str, DurationPoint);
        meter: words("Meter") => meter;
        share_pct: exact("Share of the demand periods", "%") => point.share_pct;
        kw: number("Demand", Q::ActivePower) => point.kw;
    }
    .table(
        "load-duration",
        "Load duration curve: demand reached or exceeded for a share of the demand periods",
        rows,
    )
}

/// Diversity of the sub-meters of a meter; the last row of a group is their total.
pub(super) fn diversity(result: &EnergyResult) -> Table {
    type DiversityRow<'r> = (&'r Diversity, Option<&'r DiversityPart>);
    let rows = result.study.diversity.iter().flat_map(|group| {
        let parts = group.parts.iter().map(Some).chain([None]);
        parts.map(move |part| (group, part))
    });
    let whole =
        |part: Option<&DiversityPart>, factor: Option<f64>| factor.filter(|_| part.is_none());
    columns! { (group, part) in DiversityRow<'_>;
        main: words("Main meter") => &group.main;
        meter: words("Meter") => part.map_or("all sub-meters", |part| &part.meter);
        max_kw: number("Maximum demand", Q::ActivePower) => part.map_or(group.group_max_kw, |part| part.max_kw);
        max_at: words("Start of its demand period") => part.map_or(group.group_max_at, |part| part.max_at);
        at_group_max_kw: number("Demand at the group maximum", Q::ActivePower)
            => part.map_or(group.group_max_kw, |part| part.at_group_max_kw);
        connected_kw: number("Connected load", Q::ActivePower)
            => part.map_or(group.connected_kw, |part| part.connected_kw);
        demand_factor: number("Demand factor", Q::Factor)
            => part.map_or(group.demand_factor, |part| part.demand_factor);
        diversity_factor: number("Diversity factor", Q::Factor) => whole(part, group.diversity_factor);
        coincidence_factor: number("Coincidence factor", Q::Factor) => whole(part, group.coincidence_factor);
    }
    .table("diversity", "Diversity of sub-meters", rows)
    .with_method("the demand factor in the last line is that of the main meter")
}
