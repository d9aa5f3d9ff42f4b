//! Diversity of sub-meters.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::Serialize;

use super::super::clock;
use super::super::metered::Metered;
use super::demand_study::demand_at;
use crate::above::reconcile::submeters;
use electrical::{coincidence_factor, demand_factor, diversity_factor};
use site::{Measured, Site};
use units::{Watts, rank};

/// The group of the nearest meters below a meter, over the demand periods that all of them have.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct Diversity {
    /// The meter above.
    pub main: String,
    /// Blocks that all meters of the group have in full.
    pub blocks: usize,
    /// The meters of the group, in the order of the site file.
    pub parts: Vec<DiversityPart>,
    /// Sum of their maxima, each whenever it occurred. (kW)
    pub sum_of_maxima_kw: f64,
    /// Largest block of all of them together. (kW)
    pub group_max_kw: f64,
    /// Start of that block, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub group_max_at: Option<DateTime<FixedOffset>>,
    /// Sum of maxima / largest block together.
    pub diversity_factor: Option<f64>,
    /// Its inverse.
    pub coincidence_factor: Option<f64>,
    /// Ratings of all machines below the meter above. (kW)
    pub connected_kw: Option<f64>,
    /// Maximum demand of the meter above / connected load.
    pub demand_factor: Option<f64>,
}

/// A meter of the group.
#[derive(Clone, Debug, PartialEq, JsonSchema, Serialize)]
pub struct DiversityPart {
    /// The meter's id.
    pub meter: String,
    /// Its largest block. (kW)
    pub max_kw: f64,
    /// Start of that block, local time.
    #[serde(serialize_with = "units::serial::local_option")]
    pub max_at: Option<DateTime<FixedOffset>>,
    /// What it drew in the largest block of the group. (kW)
    pub at_group_max_kw: f64,
    /// Ratings of the machines it sees. (kW)
    pub connected_kw: Option<f64>,
    /// Its largest block / connected load.
    pub demand_factor: Option<f64>,
}

/// `None` with fewer than two meters below, or no block in common.
pub(super) fn of(site: &Site, metered: &[Metered], main: &Metered) -> Option<Diversity> {
    let mut group = submeters(site, metered, main);
    group.retain(|sub| !sub.blocks.is_empty());
    let first = group.first().filter(|_| group.len() > 1)?;
    let common: Vec<(i64, Vec<f64>)> = first
        .blocks
        .iter()
        .filter_map(|block| {
            let each: Option<Vec<f64>> = group
                .iter()
                .map(|sub| demand_at(sub, block.start_s))
                .collect();
            Some((block.start_s, each?))
        })
        .collect();
    let stamp = |at_s: i64| clock::stamp(site.timezone, at_s);
    let together = |each: &[f64]| each.iter().sum::<f64>();
    let (peak_s, at_peak) = earliest_largest(&common, |each| together(each))?;
    let parts: Vec<DiversityPart> = group
        .iter()
        .enumerate()
        .filter_map(|(index, sub)| {
            let (at_s, each) = earliest_largest(&common, |each| each[index])?;
            let connected_kw = connected(site, site.meters[sub.meter].measures);
            Some(DiversityPart {
                meter: site.meters[sub.meter].id.clone(),
                max_kw: each[index],
                max_at: stamp(at_s),
                at_group_max_kw: at_peak[index],
                demand_factor: share_of(each[index], connected_kw),
                connected_kw,
            })
        })
        .collect();
    let maxima: Vec<Watts> = parts
        .iter()
        .map(|part| Watts::from_kilo(part.max_kw))
        .collect();
    let group_max_kw = together(at_peak);
    let peak = Watts::from_kilo(group_max_kw);
    let connected_kw = connected(site, site.meters[main.meter].measures);
    let own = main.blocks.iter().map(|block| block.kw);
    let own_max = own.reduce(f64::max);
    Some(Diversity {
        main: site.meters[main.meter].id.clone(),
        blocks: common.len(),
        sum_of_maxima_kw: parts.iter().map(|part| part.max_kw).sum(),
        group_max_kw,
        group_max_at: stamp(peak_s),
        diversity_factor: diversity_factor(&maxima, peak).ok().flatten(),
        coincidence_factor: coincidence_factor(&maxima, peak).ok().flatten(),
        demand_factor: own_max.and_then(|kw| share_of(kw, connected_kw)),
        connected_kw,
        parts,
    })
}

fn earliest_largest(
    common: &[(i64, Vec<f64>)],
    value: impl Fn(&[f64]) -> f64,
) -> Option<(i64, &[f64])> {
    let mut best: Option<(i64, &[f64])> = None;
    for (at_s, each) in common {
        if best.is_none_or(|(_, known)| rank(value(each)) > rank(value(known))) {
            best = Some((*at_s, each));
        }
    }
    best
}

/// Ratings of all machines a meter sees; `None` without any. (kW)
fn connected(site: &Site, measured: Measured) -> Option<f64> {
    let volts = site.supply.phase_voltage_v();
    let machines = site.machines.iter().enumerate();
    machines
        .filter(|&(index, machine)| match measured {
            Measured::Machine(own) => own == index,
            Measured::Node(node) => site.is_within(machine.tapped_off, node),
        })
        .filter(|(_, machine)| !machine.generates())
        .map(|(_, machine)| machine.rated_power(volts).re)
        .reduce(|sum, kw| sum + kw)
}

fn share_of(kw: f64, connected_kw: Option<f64>) -> Option<f64> {
    demand_factor(Watts::from_kilo(kw), Watts::from_kilo(connected_kw?))
        .ok()
        .flatten()
}

#[cfg(test)]
mod tests {
    use crate::analyse::analyse;
    use crate::samples::{logs_of, meter, power_table, site};
    use site::{Measured, Node};

    /// T. Gönen, Electric Power Distribution System Engineering, 1st ed., McGraw-Hill, 1986, example
    /// 2.5: two loads of 2000 kW that reach 3000 kW together have a diversity factor of 1.333, a
    /// load diversity of 1000 kW and a coincidence factor of 0.75. Here as two logs of three hours.
    #[test]
    fn two_loads_that_do_not_peak_together() {
        let mut site = site(&["A", "B"]);
        for (index, id) in ["a", "b"].into_iter().enumerate() {
            let measures = Measured::Node(Node::Board(index));
            site.meters.push(meter(id, measures));
        }
        let hours = |values: [f64; 3]| power_table(0, 3600, &values.map(Some));
        let tables = [
            hours([2500.0, 3000.0, 2400.0]),
            hours([2000.0, 1500.0, 400.0]),
            hours([500.0, 1500.0, 2000.0]),
        ];
        let logs = logs_of(tables);
        let result = analyse(&site, &logs, None);
        let [group] = &result.study.diversity[..] else {
            panic!("one group");
        };
        assert_eq!((group.main.as_str(), group.blocks), ("main", 3));
        let factor = group.diversity_factor.expect("the group draws");
        assert!((factor - 1.333).abs() < 5e-4);
        assert!((group.sum_of_maxima_kw - group.group_max_kw - 1000.0).abs() < 1e-9);
        assert_eq!(group.coincidence_factor, Some(0.75));
        assert!((group.parts[0].at_group_max_kw - 1500.0).abs() < 1e-9);
        assert_eq!(group.connected_kw, None);
        let at = group.group_max_at.map(|at| at.to_rfc3339());
        assert_eq!(at.as_deref(), Some("1970-01-01T01:00:00+00:00"));
    }
}
