//! A meter against the one above it: exchanged phases, a clock that differs, and meters that together show more than
//! the one above.

use super::page::{CAUTION, KIND, SOURCE};
use super::power::{FEWEST, Power, of_phase, total};
use super::ratio::SlopeOf;
use super::twins;
use crate::outcome::{Diagnosis, Report};
use crate::view::View;
use demand::{Blocks, clock_offset};
use electrical::Phase;
use finding::{Evidence, Severity};
use site::{Measured, Node, Site};

const CLOCK_CAUTION: &str = "Until the clock is right, the times of this meter's findings and demand periods, and its comparison with other meters, are wrong.";
const SWAP_CAUTION: &str = "Competent person only: trace conductors with the circuit isolated, locked off and proved dead. Two swapped phases reverse three-phase motors.";

/// The meters of which one may show too much.
pub(super) const METERS_BELOW: &str = "meters_below";

/// Judges the meters that have the same meter above them. Of several meters of one place the first counts, and the
/// others are compared with it.
pub(crate) fn check(views: &[View<'_>], diagnosis: &mut Diagnosis) {
    let views = &twins::first_of_each(views, diagnosis);
    for above in views {
        let Some(node) = above.node() else { continue };
        let below: Vec<&View<'_>> = views
            .iter()
            .filter(|view| nearest_above(view, views) == Some(node))
            .collect();
        if below.is_empty() {
            continue;
        }
        let block_s = below
            .iter()
            .map(|view| view.interval_s())
            .fold(above.interval_s(), i64::max);
        if below
            .iter()
            .chain([&above])
            .any(|view| block_s % view.interval_s() != 0)
        {
            continue;
        }
        together(above, &below, block_s, diagnosis);
        let own = total(above, block_s);
        let others: Vec<Option<Power>> = below.iter().map(|view| total(view, block_s)).collect();
        for (index, view) in below.iter().enumerate() {
            exchanged(view, above, block_s, diagnosis);
            let (Some(own), Some(lower)) = (&own, &others[index]) else {
                continue;
            };
            if !clock(view, above, own, lower, block_s, diagnosis) {
                let slope = SlopeOf {
                    view,
                    above,
                    index,
                    block_s,
                };
                slope.judge(own, &others, diagnosis);
            }
        }
    }
}

/// The node of the nearest meter above what a meter measures.
fn nearest_above(view: &View<'_>, views: &[View<'_>]) -> Option<Node> {
    let site: &Site = view.site;
    let first = match view.meter.measures {
        Measured::Node(node) => site.parent(node),
        Measured::Machine(index) => Some(site.machines[index].tapped_off),
    };
    std::iter::successors(first, |&node| site.parent(node))
        .find(|&node| views.iter().any(|other| other.node() == Some(node)))
}

/// Changes of two powers over the same blocks.
fn changes(a: &Power, b: &Power, block_s: i64) -> Vec<(f64, f64)> {
    a.iter()
        .filter_map(|(&start, &value)| {
            let before = a.get(&(start - block_s))?;
            let other = b.get(&start)? - b.get(&(start - block_s))?;
            Some((value - before, other))
        })
        .collect()
}

/// Correlation of changes, which have no mean to speak of.
fn correlation(pairs: &[(f64, f64)]) -> Option<f64> {
    if pairs.len() < FEWEST {
        return None;
    }
    let sum = |of: &dyn Fn(&(f64, f64)) -> f64| -> f64 { pairs.iter().map(of).sum() };
    let size = sum(&|p| p.0 * p.0) * sum(&|p| p.1 * p.1);
    (size > 0.0).then(|| sum(&|p| p.0 * p.1) / size.sqrt())
}

fn exchanged(view: &View<'_>, above: &View<'_>, block_s: i64, diagnosis: &mut Diagnosis) {
    let of = |view: &View<'_>| -> Option<Vec<Power>> {
        Phase::ALL
            .into_iter()
            .map(|phase| of_phase(view, phase, block_s))
            .collect()
    };
    let (Some(own), Some(theirs)) = (of(view), of(above)) else {
        return;
    };
    let mut table = [[0.0; 3]; 3];
    for (row, a) in own.iter().enumerate() {
        for (column, b) in theirs.iter().enumerate() {
            let Some(r) = correlation(&changes(a, b, block_s)) else {
                return;
            };
            table[row][column] = r;
        }
    }
    let sum = |order: [usize; 3]| -> f64 { (0..3).map(|k| table[k][order[k]]).sum() };
    let best = Phase::ORDERS
        .into_iter()
        .max_by(|a, b| sum(*a).total_cmp(&sum(*b)))
        .unwrap_or(Phase::ORDERS[0]);
    // Each exchanged phase must fit its new place better by far than its own.
    let clear = (0..3).all(|k| best[k] == k || table[k][best[k]] - table[k][k] > 0.3);
    if best == Phase::ORDERS[0] || !clear {
        return;
    }
    let words: Vec<String> = (0..3)
        .filter(|&k| best[k] != k)
        .map(|k| {
            let names = [k, best[k]].map(|index| Phase::ALL[index].name());
            format!("{} of the first is {} of the second", names[0], names[1])
        })
        .collect();
    let report = Report {
        severity: Severity::Warning,
        summary: format!(
            "the meters `{}` and `{}` name the phases differently: {}",
            view.meter.id,
            above.meter.id,
            words.join("; ")
        ),
        evidence: Evidence::default()
            .with("correlation_as_named", sum(Phase::ORDERS[0]) / 3.0)
            .with("correlation_as_corrected", sum(best) / 3.0),
        action: "trace the conductors between the two meters: the feeder or the inputs of one meter are swapped. Until this is settled, the phases below may not be those of the list; check the phase rotation of three-phase motors".to_owned(),
        caution: SWAP_CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, KIND, None, report);
}

/// True if the clocks differ.
fn clock(
    view: &View<'_>,
    above: &View<'_>,
    upper: &Power,
    lower: &Power,
    block_s: i64,
    diagnosis: &mut Diagnosis,
) -> bool {
    let pairs = |power: &Power| -> Vec<(i64, f64)> {
        power.iter().map(|(&start, &kw)| (start, kw)).collect()
    };
    let (upper, lower) = (pairs(upper), pairs(lower));
    let blocks = |kw| Blocks {
        kw,
        length_s: block_s,
    };
    let Some(offset) = clock_offset(blocks(&upper), blocks(&lower)) else {
        return false;
    };
    // A change that this meter stamps later than the one above: its clock is ahead.
    let minutes = offset.ahead_s as f64 / 60.0;
    let direction = if minutes > 0.0 { "ahead of" } else { "behind" };
    let size_min = minutes.abs();
    let report = Report {
        severity: Severity::Warning,
        summary: format!(
            "the clock of the meter `{}` is {size_min:.0} min {direction} that of `{}`",
            view.meter.id, above.meter.id
        ),
        evidence: Evidence::default()
            .with("clock_difference_min", minutes)
            .with("correlation_as_stamped", offset.as_stamped)
            .with("correlation_when_shifted", offset.when_shifted),
        action: "set the clock, or correct `zone` or `stamp` of the meter in site.toml; a difference of one hour points to summer time, one interval to `stamp` (start or end)".to_owned(),
        caution: CLOCK_CAUTION,
        source: SOURCE,
    };
    diagnosis.found(view, KIND, None, report);
    true
}

/// More energy below than above.
fn together(above: &View<'_>, below: &[&View<'_>], block_s: i64, diagnosis: &mut Diagnosis) {
    let Some(own) = total(above, block_s) else {
        return;
    };
    let theirs: Vec<Power> = below
        .iter()
        .filter_map(|view| total(view, block_s))
        .collect();
    let (mut up, mut down, mut count) = (0.0, 0.0, 0_usize);
    for (start, power) in &own {
        let sum: Option<f64> = theirs.iter().map(|one| one.get(start).copied()).sum();
        if let Some(sum) = sum {
            up += power;
            down += sum;
            count += 1;
        }
    }
    let hours = block_s as f64 / 3600.0;
    let class = above.meter.class_pct.unwrap_or(1.0) / 100.0;
    // Both sides may be wrong by the class.
    if count < FEWEST || theirs.is_empty() || up <= 0.0 || down <= up * (1.0 + 2.0 * class) {
        return;
    }
    let report = Report {
        severity: Severity::Warning,
        summary: format!(
            "the sub-meters show {:.0} kWh, the meter `{}` above them only {:.0} kWh",
            down * hours,
            above.meter.id,
            up * hours
        ),
        evidence: Evidence::default()
            .with("above_kwh", up * hours)
            .with("below_kwh", down * hours)
            .with(
                METERS_BELOW,
                below.iter().map(|view| view.meter.id.clone()).collect::<Vec<_>>(),
            )
            .with("excess_pct", 100.0 * (down / up - 1.0)),
        action: "look for a reversed or missing current transformer or a wrong ratio at the upper meter, and for a lower meter whose load is fed from elsewhere".to_owned(),
        caution: CAUTION,
        source: SOURCE,
    };
    diagnosis.found(above, KIND, None, report);
}
