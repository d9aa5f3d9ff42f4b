//! Unbalance of currents and voltages, interval by interval.

use analysis::Course;
use electrical::{current_unbalance, negative_sequence_ratio};
use metering::IntervalTable;
use site::{Measured, Node, Quantity, Site};
use statistics::quantile;
use units::{Amperes, Volts};

/// Below this share of the phase limit the unbalance says little: a single lamp makes it 200 %.
const LEAST_SHARE_OF_LIMIT: f64 = 0.05;
/// Voltage unbalance is defined over intervals of ten minutes (EN 50160, from memory). (s)
const LONGEST_VOLTAGE_INTERVAL_S: u32 = 600;

/// Mean and 95th percentile. (%)
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Unbalance {
    pub(crate) mean_pct: f64,
    pub(crate) p95_pct: f64,
}

/// Current unbalance over the intervals whose mean current exceeds 5 % of the limit.
pub(crate) fn currents(phases: &[Course<'_>; 3], phase_limit_a: f64) -> Option<Unbalance> {
    let [l1, l2, l3] = phases.each_ref().map(|course| &course.means);
    let shares: Vec<f64> = l1
        .iter()
        .zip(l2.iter())
        .zip(l3.iter())
        .filter_map(|((l1, l2), l3)| {
            let amps = [l1?, l2?, l3?];
            let mean = amps.iter().sum::<f64>() / 3.0;
            if mean <= LEAST_SHARE_OF_LIMIT * phase_limit_a {
                return None;
            }
            current_unbalance(amps.map(Amperes)).ok().flatten()
        })
        .collect();
    Some(Unbalance {
        mean_pct: shares.iter().sum::<f64>() / shares.len() as f64,
        p95_pct: quantile(&shares, 0.95)?,
    })
}

/// 95th percentile of the negative-sequence ratio of the line voltages, where they are logged at
/// least every ten minutes. (%)
pub(crate) fn voltages_p95(table: &IntervalTable) -> Option<f64> {
    if table.interval_s() > LONGEST_VOLTAGE_INTERVAL_S {
        return None;
    }
    let [l1_l2, l2_l3, l3_l1] =
        electrical::PhasePair::ALL.map(|pair| table.values(Quantity::LineVoltage(pair)));
    let (l1_l2, l2_l3, l3_l1) = (l1_l2?, l2_l3?, l3_l1?);
    let ratios: Vec<f64> = l1_l2
        .iter()
        .zip(l2_l3.iter())
        .zip(l3_l1.iter())
        // Voltages that close no triangle, as while the supply is off, have no ratio.
        .filter_map(|((a, b), c)| negative_sequence_ratio([Volts(a?), Volts(b?), Volts(c?)]).ok())
        .collect();
    quantile(&ratios, 0.95)
}

/// Phase limit that a meter's currents are seen against: of what it measures, else of the nearest
/// node above with a limit, the supply in the end. (A)
pub(crate) fn limit_of(site: &Site, measured: Measured) -> f64 {
    let (own, node) = match measured {
        Measured::Node(node) => (None, node),
        Measured::Machine(index) => {
            let machine = &site.machines[index];
            let device = machine.protective_device.map(|device| device.rated_a);
            (device, machine.tapped_off)
        }
    };
    own.or_else(|| {
        std::iter::successors(Some(node), |&at: &Node| site.parent(at))
            .find_map(|at| site.phase_limit_a(at))
    })
    .unwrap_or(site.supply.phase_limit_a)
}

#[cfg(test)]
mod tests {
    use super::*;
    use analysis::Values;

    fn table(columns: [(&str, Vec<f64>); 3]) -> IntervalTable {
        let rows = columns[0].1.len() as i64;
        let columns =
            columns.map(|(name, values)| (name.to_owned(), values.into_iter().map(Some).collect()));
        IntervalTable::of_columns((0..rows).map(|row| row * 60).collect(), 60, columns.into())
    }

    /// 12, 10 and 5 A: mean 9, largest deviation 4, 44.4 %. 10, 10, 10 A: 0 %. 2, 1, 0 A: mean
    /// 1 A, not above 5 % of 20 A. Mean of the two 22.2 %, 95 % point 0.95 of the way: 42.2 %.
    #[test]
    fn small_currents_do_not_count() {
        let course = |amps: [f64; 3]| Course {
            means: Values::Computed(amps.map(Some).to_vec()),
            squares: None,
        };
        let phases = [
            course([12.0, 10.0, 2.0]),
            course([10.0, 10.0, 1.0]),
            course([5.0, 10.0, 0.0]),
        ];
        let found = currents(&phases, 20.0).expect("two intervals");
        assert!((found.mean_pct - 200.0 / 9.0).abs() < 1e-9);
        assert!((found.p95_pct - 0.95 * 400.0 / 9.0).abs() < 1e-9);
        assert_eq!(currents(&phases, 1000.0), None);
    }

    /// 410, 400 and 390 V have the ratio 2.8880 % (computed with the sequence components of the
    /// closed triangle).
    #[test]
    fn voltage_unbalance_needs_short_intervals() {
        let lines = || {
            [
                ("voltage_l1_l2_v", vec![410.0, 0.0]),
                ("voltage_l2_l3_v", vec![400.0, 0.0]),
                ("voltage_l3_l1_v", vec![390.0, 0.0]),
            ]
        };
        let found = voltages_p95(&table(lines())).unwrap_or(f64::NAN);
        assert!((found - 2.8880).abs() < 1e-4);
        let columns =
            lines().map(|(name, values)| (name.to_owned(), values.into_iter().map(Some).collect()));
        let slow = IntervalTable::of_columns(vec![0, 900], 900, columns.into());
        assert_eq!(voltages_p95(&slow), None);
    }
}
