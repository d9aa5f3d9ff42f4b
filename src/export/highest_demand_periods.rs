//! What sets the maximum demand: highest blocks, load duration, diversity.

use demand::{DemandStudy, Diversity, DiversityPart, DurationPoint, EnergyResult, HighestBlock};
use tables::{Table, columns, exact, number, words};
use units::{Quantity as Q, format_number};

/// The highest demand blocks of each meter and what ran in them.
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
        at: words("At") => block.at;
        kw: number("Demand", Q::ActivePower) => block.kw;
        kva: number("Demand", Q::ApparentPower) => block.kva;
        parts_kw: words("Meters below [kW]") => running(block);
        unmetered_kw: number("Not seen by them", Q::ActivePower) => block.unmetered_kw;
        scheduled: words("No meter, scheduled then") => block.scheduled.join(", ");
    }
    .table(
        "highest-blocks",
        "Highest demand blocks and what ran in them",
        rows,
    )
    .with_method(window.map_or_else(String::new, |min| {
        format!("blocks of {min} min on the local clock; a question mark: not all its readings")
    }))
}

/// `boat shed 12.31, kiln 3.20, saw ?`; what draws next to nothing is left out.
fn running(block: &HighestBlock) -> String {
    let said = block.parts.iter().filter_map(|part| match part.kw {
        Some(kw) if kw.abs() < 0.005 => None,
        Some(kw) => Some(format!("{} {}", part.meter, format_number(kw, 2))),
        None => Some(format!("{} ?", part.meter)),
    });
    said.collect::<Vec<_>>().join(", ")
}

/// Demand reached or exceeded during shares of the blocks.
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
        share_pct: exact("Share of the blocks", "%") => point.share_pct;
        kw: number("Demand", Q::ActivePower) => point.kw;
    }
    .table(
        "load-duration",
        "Demand reached or exceeded during a share of the demand blocks",
        rows,
    )
}

/// How the meters below one meter peak together; the last row of a group is of all of them.
pub(super) fn diversity(result: &EnergyResult) -> Table {
    type Row<'r> = (&'r Diversity, Option<&'r DiversityPart>);
    let rows = result.study.diversity.iter().flat_map(|group| {
        let parts = group.parts.iter().map(Some).chain([None]);
        parts.map(move |part| (group, part))
    });
    let whole =
        |part: Option<&DiversityPart>, factor: Option<f64>| factor.filter(|_| part.is_none());
    columns! { (group, part) in Row<'_>;
        main: words("Above") => &group.main;
        meter: words("Meter") => part.map_or("all below it together", |part| &part.meter);
        max_kw: number("Own maximum", Q::ActivePower) => part.map_or(group.group_max_kw, |part| part.max_kw);
        max_at: words("At") => part.map_or(group.group_max_at, |part| part.max_at);
        at_group_max_kw: number("In the group's highest block", Q::ActivePower)
            => part.map_or(group.group_max_kw, |part| part.at_group_max_kw);
        connected_kw: number("Connected", Q::ActivePower)
            => part.map_or(group.connected_kw, |part| part.connected_kw);
        demand_factor: number("Demand factor", Q::Factor)
            => part.map_or(group.demand_factor, |part| part.demand_factor);
        diversity_factor: number("Diversity factor", Q::Factor) => whole(part, group.diversity_factor);
        coincidence_factor: number("Coincidence factor", Q::Factor) => whole(part, group.coincidence_factor);
    }
    .table("diversity", "How the meters below one meter peak together", rows)
    .with_method("the last line's demand factor is of the meter above")
}
