//! Voltages of sub-meters, against those of the phases at the nearest meter above: other loads pull each phase down at other
//! times.
//!
//! In: the voltage that a machine's meter logs, and the three above. Out: the logarithm of the likelihood of each of the
//! machine's connections. A. Hoogsteyn et al., Low Voltage Customer Phase Identification Methods Based on Smart Meter Data
//! (arXiv 2204.06372, 2022), compare such methods on public data, and find voltages generally better than powers of meters
//! of the same class.

use std::collections::BTreeMap;

use super::blocks::{Count, Counted, runs};
use super::nodes::common_length;
use crate::options::LoadOptions;
use electrical::{Phase, PhasePair};
use metering::{IntervalTable, Logs, Origin};
use site::{Connection, Measured, Quantity, Site};

/// Fewer intervals say nothing. (1)
const FEWEST_ROWS: usize = 60;
/// Intervals that enter, the latest.
const MOST_ROWS: usize = 20_000;
/// Longer intervals average out what distinguishes the phases. (s)
const LONGEST_S: i64 = 3600;
/// Clocks are looked for within this. (s)
const FARTHEST_S: i64 = 300;
/// A voltage follows that of its phase by this factor, within so much. (1)
const FOLLOWS: f64 = 0.35;
/// Share of the evidence that counts: changes that follow each other are not independent. (1)
const COUNTS: f64 = 0.3;
/// Degrees of freedom of what does not follow.
const TAILS: f64 = 4.0;
/// Rounds of weighting.
const ROUNDS: usize = 8;
/// Finest step of a voltmeter. (V)
const FINEST_V: f64 = 0.05;

/// What a voltage says of a machine.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct VoltageVerdict {
    /// Logarithm of the likelihood of each option.
    pub(crate) log_likelihood: Vec<f64>,
    /// Meter above that it is compared with, and intervals that entered.
    pub(crate) meter: usize,
    pub(crate) rows: usize,
}

/// Compares the voltages of the machines' meters with those above them.
pub(crate) fn judge(
    site: &Site,
    logs: &Logs,
    options: &[Option<LoadOptions>],
) -> BTreeMap<usize, VoltageVerdict> {
    let judged = options.iter().enumerate().filter_map(|(machine, options)| {
        Some((machine, of_machine(site, logs, machine, options.as_ref()?)?))
    });
    judged.collect()
}

fn of_machine(
    site: &Site,
    logs: &Logs,
    machine: usize,
    options: &LoadOptions,
) -> Option<VoltageVerdict> {
    let own = &logs.of(site.machine_meter(machine)?)?.table;
    let mut nodes = std::iter::successors(Some(site.machines[machine].tapped_off), |&at| {
        site.parent(at)
    });
    let (meter, above) = nodes.find_map(|node| {
        let meter = site.meter_of(Measured::Node(node))?;
        let table = &logs.of(meter)?.table;
        table.by_phase(Quantity::Voltage).map(|_| (meter, table))
    })?;
    let length_s = common_length(own, above);
    if length_s > LONGEST_S {
        return None;
    }
    let since = site
        .works
        .last()
        .map_or(i64::MIN, |work| work.done.timestamp());
    let to_s = own.starts().last()?.min(above.starts().last()?) + length_s;
    let from_s = own.starts().first()?.max(above.starts().first()?);
    let from_s = (*from_s).max(since).max(to_s - MOST_ROWS as i64 * length_s);
    let from_s = from_s.div_euclid(length_s) * length_s;
    let count = Count {
        from_s,
        length_s,
        len: usize::try_from((to_s - from_s) / length_s).ok()?,
    };
    let volts = own_voltage(own, count)?;
    let phases = above
        .by_phase(Quantity::Voltage)?
        .map(|phase| count.means(above.starts(), i64::from(above.interval_s()), phase.iter()));
    let fits: Vec<Option<Follow>> = options
        .connections
        .iter()
        .map(|&connection| {
            let reference = reference(&phases, connection)?;
            let farthest = FARTHEST_S / length_s;
            let lags = (-farthest..=farthest).filter_map(|lag| follow(&volts, &reference, lag));
            lags.max_by(|a, b| a.log_likelihood.total_cmp(&b.log_likelihood))
        })
        .collect();
    let best = fits
        .iter()
        .flatten()
        .max_by(|a, b| a.log_likelihood.total_cmp(&b.log_likelihood))?;
    // A voltage that follows none of them says nothing.
    if (best.factor - 1.0).abs() > FOLLOWS {
        return None;
    }
    let rows = best.rows;
    Some(VoltageVerdict {
        log_likelihood: fits
            .iter()
            .map(|fit| match fit {
                Some(fit) => COUNTS * fit.log_likelihood,
                None => COUNTS * best.log_likelihood,
            })
            .collect(),
        meter,
        rows,
    })
}

/// The only voltage that the machine's meter logs, whatever phase its column is named after.
fn own_voltage(own: &IntervalTable, count: Count) -> Option<Counted> {
    let to_neutral = Phase::ALL.map(Quantity::Voltage);
    let between = PhasePair::ALL.map(Quantity::LineVoltage);
    let logged: Vec<Quantity> = to_neutral
        .into_iter()
        .chain(between)
        .filter(|&quantity| own.origin(quantity) == Some(Origin::Measured))
        .collect();
    let [only] = logged.as_slice() else {
        return None;
    };
    let values = own.values(*only)?;
    Some(count.means(own.starts(), i64::from(own.interval_s()), values.iter()))
}

/// The voltage above that a load of a connection would follow. Between two phases at 120° the voltage changes by √3/2 of the
/// sum of their changes.
fn reference(phases: &[Counted; 3], connection: Connection) -> Option<Counted> {
    match connection {
        Connection::ToNeutral(phase) => Some(phases[phase.index()].clone()),
        Connection::Between(pair) => {
            let (one, other) = pair.phases();
            let (one, other) = (&phases[one.index()], &phases[other.index()]);
            let factor = 0.75_f32.sqrt();
            let sum = one.values.iter().zip(&other.values);
            Some(Counted {
                values: sum.map(|(a, b)| factor * (a + b)).collect(),
                known: one
                    .known
                    .iter()
                    .zip(&other.known)
                    .map(|(a, b)| *a && *b)
                    .collect(),
            })
        }
        _ => None,
    }
}

/// How a voltage follows another.
#[derive(Clone, Copy, Debug)]
struct Follow {
    log_likelihood: f64,
    factor: f64,
    rows: usize,
}

/// Changes of one voltage regressed on those of another, so many intervals later, with long tails (Student's t).
fn follow(own: &Counted, above: &Counted, lag: i64) -> Option<Follow> {
    let at = |row: usize| usize::try_from(row as i64 - lag).ok();
    let known = |row: usize| {
        own.known[row] && at(row).is_some_and(|above_row| above.known.get(above_row) == Some(&true))
    };
    let rows: Vec<usize> = (0..own.known.len()).filter(|&row| known(row)).collect();
    let pairs: Vec<(f64, f64)> = runs(&rows)
        .into_iter()
        .flat_map(|run| rows[run.start + 1..run.end].to_vec())
        .filter_map(|row| {
            let above_row = at(row)?;
            let change = |series: &Counted, row: usize| {
                f64::from(series.values[row]) - f64::from(series.values[row - 1])
            };
            Some((change(above, above_row), change(own, row)))
        })
        .collect();
    if pairs.len() < FEWEST_ROWS {
        return None;
    }
    let mut weights = vec![1.0; pairs.len()];
    let (mut factor, mut variance) = (0.0, 1.0);
    for _ in 0..ROUNDS {
        let sum = |of: &dyn Fn(f64, f64) -> f64| -> f64 {
            pairs
                .iter()
                .zip(&weights)
                .map(|(&(x, y), weight)| weight * of(x, y))
                .sum()
        };
        let squares = sum(&|x, _| x * x);
        factor = if squares > 0.0 {
            sum(&|x, y| x * y) / squares
        } else {
            0.0
        };
        let left = sum(&|x, y| (y - factor * x).powi(2)) / pairs.len() as f64;
        variance = left.max(FINEST_V * FINEST_V);
        for (weight, (x, y)) in weights.iter_mut().zip(&pairs) {
            let distance = (y - factor * x).powi(2) / variance;
            *weight = (TAILS + 1.0) / (TAILS + distance);
        }
    }
    let log_likelihood = pairs
        .iter()
        .map(|(x, y)| {
            let distance = (y - factor * x).powi(2) / variance;
            -0.5 * variance.ln() - 0.5 * (TAILS + 1.0) * (distance / TAILS).ln_1p()
        })
        .sum();
    Some(Follow {
        log_likelihood,
        factor,
        rows: pairs.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counted(values: Vec<f32>) -> Counted {
        Counted {
            known: vec![true; values.len()],
            values,
        }
    }

    /// Three voltages with their own movement; a fourth is the second, two intervals later, 1.5 V lower. It follows by a
    /// factor of 1 with that shift, and neither of the others.
    #[test]
    fn a_voltage_follows_its_phase() {
        let wave = |step: f64| -> Vec<f32> {
            (0..400)
                .map(|row| (230.0 + 3.0 * (f64::from(row) * step).sin()) as f32)
                .collect()
        };
        let phases = [wave(0.9), wave(1.3), wave(1.7)];
        let own: Vec<f32> = (0..400_usize)
            .map(|row| phases[1][row.saturating_sub(2)] - 1.5)
            .collect();
        let own = counted(own);
        let best = |phase: usize| {
            let above = counted(phases[phase].clone());
            (-5..=5)
                .filter_map(|lag| Some((follow(&own, &above, lag)?, lag)))
                .max_by(|a, b| a.0.log_likelihood.total_cmp(&b.0.log_likelihood))
                .expect("enough")
        };
        let (right, lag) = best(1);
        assert_eq!(lag, 2);
        assert!((right.factor - 1.0).abs() < 1e-6, "{right:?}");
        for other in [0, 2] {
            let (wrong, _) = best(other);
            assert!(wrong.factor.abs() < 0.3, "{wrong:?}");
            assert!(right.log_likelihood > wrong.log_likelihood + 100.0);
        }
    }
}
