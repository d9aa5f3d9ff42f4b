//! The meters that make up the supply of a site.

use std::collections::BTreeMap;

use demand::{MeterEnergy, counted_meters};

/// The supply's meters whose energy counts, in the order of the site file.
pub(crate) fn counted(meters: &[MeterEnergy]) -> Vec<&MeterEnergy> {
    let of_supply = meters.iter().filter(|meter| meter.measures == "supply");
    let of_supply: Vec<&MeterEnergy> = of_supply.collect();
    let counted = counted_meters(&of_supply);
    counted.into_iter().map(|at| of_supply[at]).collect()
}

/// Their names.
pub(crate) fn counted_ids(meters: &[MeterEnergy]) -> Vec<&str> {
    let counted = counted(meters).into_iter();
    counted.map(|meter| meter.id.as_str()).collect()
}

/// A sum that is known only where all its parts are.
pub(crate) fn sum<'m>(
    meters: &[&'m MeterEnergy],
    figure: impl Fn(&'m MeterEnergy) -> Option<f64>,
) -> Option<f64> {
    let parts: Option<Vec<f64>> = meters.iter().map(|meter| figure(meter)).collect();
    parts
        .filter(|parts| !parts.is_empty())
        .map(|parts| parts.iter().sum())
}

/// The largest demand of the meters at one time, over the periods that all of them have. (kW)
pub(crate) fn highest_together(meters: &[&MeterEnergy]) -> Option<f64> {
    let mut sums: BTreeMap<i64, (usize, f64)> = BTreeMap::new();
    for meter in meters {
        for block in meter.trace.blocks.iter() {
            let sum = sums.entry(block.start_s).or_default();
            *sum = (sum.0 + 1, sum.1 + block.kw);
        }
    }
    let whole = sums
        .into_values()
        .filter(|(count, _)| *count == meters.len());
    whole.map(|(_, kw)| kw).reduce(f64::max)
}
