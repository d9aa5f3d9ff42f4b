//! Main meters against the meters below them.

use super::reconciliation::Reconciliation;
use crate::meter::quarter_hours::QuarterHours;
use crate::meter::quarters::{QUARTER_S, Quarter};
use crate::metered::Metered;
use site::{Measured, Node, Site};
use units::{format_kwh, percent_of};

/// One entry per meter with meters below it, in the order of the site file. Only the nearest ones
/// count: what they measure includes what is below them.
pub(crate) fn reconcile(
    site: &Site,
    metered: &[Metered],
    notes: &mut Vec<String>,
) -> Vec<Reconciliation> {
    metered
        .iter()
        .filter(|main| site.meter_of(site.meters[main.meter].measures) == Some(main.meter))
        .filter_map(|main| {
            let Measured::Node(node) = site.meters[main.meter].measures else {
                return None;
            };
            let below = Below::of(site, metered, Some(main.meter), node);
            compare(site, main, &below.meters, notes)
        })
        .collect()
}

/// The nearest meters below a main meter that may be set against it: none that shows export from a load.
pub(crate) fn submeters<'m>(
    site: &'m Site,
    metered: &'m [Metered],
    main: &Metered,
) -> Vec<&'m Metered> {
    let Measured::Node(node) = site.meters[main.meter].measures else {
        return Vec::new();
    };
    let mut below = Below::of(site, metered, Some(main.meter), node).meters;
    below.retain(|sub| is_plausible(sub));
    below
}

/// The nearest meters below a node, where it has none of its own.
pub(crate) fn nearest_below<'m>(
    site: &'m Site,
    metered: &'m [Metered],
    node: Node,
) -> Vec<&'m Metered> {
    let mut below = Below::of(site, metered, None, node).meters;
    below.retain(|sub| is_plausible(sub));
    below
}

/// A load whose meter shows export is connected or configured wrongly.
fn is_plausible(sub: &Metered) -> bool {
    sub.energy_kwh.is_some_and(|energy| energy >= 0.0) || sub.may_return
}

/// The nearest meters below a node, in the order of the site file.
#[derive(Debug)]
struct Below<'a> {
    site: &'a Site,
    metered: &'a [Metered],
    main: Option<usize>,
    meters: Vec<&'a Metered>,
}

impl<'a> Below<'a> {
    fn of(site: &'a Site, metered: &'a [Metered], main: Option<usize>, node: Node) -> Below<'a> {
        let mut below = Below {
            site,
            metered,
            main,
            meters: Vec::new(),
        };
        below.descend(node);
        below.meters.sort_by_key(|sub| sub.meter);
        below.meters.dedup_by_key(|sub| sub.meter);
        below
    }

    fn descend(&mut self, node: Node) {
        let site = self.site;
        let children = site.nodes().into_iter();
        for child in children.filter(|&child| site.parent(child) == Some(node)) {
            let meter = site.meter_of(Measured::Node(child));
            if !self.take(meter) {
                self.descend(child);
            }
        }
        for (index, machine) in site.machines.iter().enumerate() {
            if machine.tapped_off == node {
                self.take(site.machine_meter(index));
            }
        }
    }

    /// Takes a meter, if it has a log with energy.
    fn take(&mut self, meter: Option<usize>) -> bool {
        let found = self
            .metered
            .iter()
            .find(|sub| Some(sub.meter) == meter && meter != self.main);
        match found {
            Some(sub) if sub.energy_kwh.is_some() => {
                self.meters.push(sub);
                true
            }
            _ => false,
        }
    }
}

fn compare(
    site: &Site,
    main: &Metered,
    below: &[&Metered],
    notes: &mut Vec<String>,
) -> Option<Reconciliation> {
    let name = |sub: &Metered| site.meters[sub.meter].id.clone();
    let total = main.energy_kwh?;
    let (subs, reversed): (Vec<&Metered>, Vec<&Metered>) =
        below.iter().partition(|sub| is_plausible(sub));
    for sub in reversed {
        notes.push(format!(
            "meter `{}` shows export from a load: it is excluded from the comparison with `{}`, and its load counts as unmetered",
            name(sub),
            name(main)
        ));
    }
    if subs.is_empty() {
        return None;
    }
    let meters: Vec<&Metered> = std::iter::once(main).chain(subs.iter().copied()).collect();
    let (main_kwh, subs_kwh) = if let Some(common) = common_energy(&meters) {
        if (common[0] - total).abs() > 0.001 * total.abs() {
            notes.push(format!(
                "`{}` is compared with the meters below it over the intervals that all of them have: {} of its {}",
                name(main),
                format_kwh(common[0]),
                format_kwh(total)
            ));
        }
        (common[0], common[1..].iter().sum::<f64>())
    } else {
        notes.push(format!(
            "`{}` and the meters below it have no interval in common: their totals are compared although they cover different times",
            name(main)
        ));
        (total, subs.iter().filter_map(|sub| sub.energy_kwh).sum())
    };
    let unmetered_kwh = main_kwh - subs_kwh;
    Some(Reconciliation {
        main: name(main),
        submeters: subs.into_iter().map(name).collect(),
        unmetered_kwh,
        unmetered_pct: percent_of(unmetered_kwh, main_kwh),
    })
}

/// Energy of each meter over the bins in which all have complete data; bins are a quarter-hour, or
/// the coarsest interval where that is longer. `None` without any.
fn common_energy(meters: &[&Metered]) -> Option<Vec<f64>> {
    let coarsest = meters.iter().max_by_key(|meter| meter.interval_s)?;
    let length_s = i64::from(coarsest.interval_s).max(QUARTER_S);
    let anchor_s = coarsest.quarters.iter().next()?.start_s;
    let mut series: Vec<_> = meters
        .iter()
        .map(|meter| complete_bins(&meter.quarters, anchor_s, length_s).peekable())
        .collect();
    let mut sums = vec![0.0; meters.len()];
    let mut any = false;
    // All series ascend: the latest of their next bins is the first that all can have.
    'bins: loop {
        let mut latest = i64::MIN;
        for bins in &mut series {
            let Some(&(bin, _)) = bins.peek() else {
                break 'bins;
            };
            latest = latest.max(bin);
        }
        let mut together = true;
        for bins in &mut series {
            while bins.next_if(|&(bin, _)| bin < latest).is_some() {}
            together &= bins.peek().is_some_and(|&(bin, _)| bin == latest);
        }
        if together {
            any = true;
            for (bins, sum) in series.iter_mut().zip(&mut sums) {
                *sum += bins.next().map_or(0.0, |(_, energy)| energy);
            }
        }
    }
    any.then_some(sums)
}

/// Complete bins of a meter's quarter-hours, ascending: number and energy. (kWh)
fn complete_bins(
    quarters: &QuarterHours,
    anchor_s: i64,
    length_s: i64,
) -> impl Iterator<Item = (i64, f64)> + '_ {
    let number = move |quarter: &Quarter| (quarter.start_s - anchor_s).div_euclid(length_s);
    let mut rest = quarters.iter().peekable();
    std::iter::from_fn(move || {
        loop {
            let bin = number(rest.peek()?);
            let (mut covered_s, mut energy_kwh) = (0.0, 0.0);
            while let Some(own) = rest.next_if(|quarter| number(quarter) == bin) {
                covered_s += own.covered_s;
                energy_kwh += own.energy_kwh;
            }
            if (covered_s - length_s as f64).abs() < 0.5 {
                return Some((bin, energy_kwh));
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analyse::analyse;
    use crate::result::EnergyResult;
    use crate::samples::{logs_of, meter, power_table, site};
    use metering::IntervalTable;

    /// A supply with the boards A and B, B moved below A, each with a meter.
    fn chain() -> Site {
        let mut site = site(&["A", "B"]);
        site.boards[1].fed_from = Node::Board(0);
        for board in 0..2 {
            let measures = Measured::Node(Node::Board(board));
            site.meters.push(meter(["a", "b"][board], measures));
        }
        site
    }

    fn result(site: &Site, tables: Vec<IntervalTable>) -> EnergyResult {
        let logs = logs_of(tables);
        analyse(site, &logs, None)
    }

    fn unmetered(result: &EnergyResult) -> Vec<(&str, Vec<&str>, f64)> {
        let plain = |entry: &'_ Reconciliation| entry.unmetered_kwh;
        result
            .reconciliation
            .iter()
            .map(|entry| {
                let subs = entry.submeters.iter().map(String::as_str).collect();
                (entry.main.as_str(), subs, plain(entry))
            })
            .collect()
    }

    #[test]
    fn only_the_nearest_meters_count() {
        let steady = |kw: f64| power_table(0, 3600, &[Some(kw); 2]);
        let result = result(&chain(), vec![steady(10.0), steady(6.0), steady(1.0)]);
        assert_eq!(
            unmetered(&result),
            [("main", vec!["a"], 8.0), ("a", vec!["b"], 10.0)]
        );
        assert_eq!(result.reconciliation[0].unmetered_pct, Some(40.0));
    }

    #[test]
    fn meters_are_set_against_each_other_over_the_time_that_all_have() {
        // Hours at 10 kW; below, quarter-hours at 4 kW of which one is missing in the second hour.
        let mut quarters = vec![Some(4.0); 12];
        quarters[5] = None;
        let tables = vec![
            power_table(0, 3600, &[Some(10.0); 3]),
            power_table(0, 900, &quarters),
        ];
        let result = result(&chain(), tables);
        assert_eq!(unmetered(&result), [("main", vec!["a"], 12.0)]);
        assert!(
            result
                .notes
                .iter()
                .any(|note| note.contains("20.0\u{a0}kWh of its 30.0\u{a0}kWh"))
        );
    }

    #[test]
    fn without_common_time_totals_are_compared_and_that_is_told() {
        let tables = vec![
            power_table(0, 3600, &[Some(10.0)]),
            power_table(7200, 3600, &[Some(4.0)]),
        ];
        let result = result(&chain(), tables);
        assert_eq!(unmetered(&result), [("main", vec!["a"], 6.0)]);
        assert!(
            result
                .notes
                .iter()
                .any(|note| note.contains("no interval in common"))
        );
    }

    #[test]
    fn a_reversed_meter_is_left_out_and_named() {
        let tables = vec![
            power_table(0, 3600, &[Some(10.0)]),
            power_table(0, 3600, &[Some(-4.0)]),
        ];
        let result = result(&chain(), tables);
        assert!(result.reconciliation.is_empty());
        assert!(result.notes.iter().any(|note| note.contains("meter `a`")));
        assert_eq!(result.meters[1].quality[0].kind, "negative-energy");
    }
}
